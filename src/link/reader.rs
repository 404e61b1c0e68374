//! The thread that reads: it stamps at read and waits for nobody.

use super::ring::Ring;
use super::{Event, Got, Item, Source, Why};
use crate::clock::Clock;
use crate::measure::{Moment, Span};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

/// Pauses between attempts to find a lost device grow from the first to the last.
const PAUSE_FIRST: Span = Span::millis(250);
const PAUSE_LAST: Span = Span::seconds(5);
/// Quiet for so long is told as silence. The slowest indicator in use sends about one frame a second.
const SILENCE: Span = Span::seconds(3);
/// The longest sleep between two looks at the stop flag.
const SLICE: Span = Span::millis(250);
/// How long a stop waits for the thread before it abandons it.
const STOP_WAIT: Duration = Duration::from_secs(2);

/// How a reader ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// Its thread is gone and the device is closed.
    Ended,
    /// Its thread hangs in a read that does not return. The device stays taken until the process ends.
    Abandoned,
}

/// Reads a source on a thread of its own. Dropping it tells the thread to end and does not wait.
pub struct Reader {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

struct Shared {
    queue: Mutex<Queue>,
    arrived: Condvar,
    notify: tokio::sync::Notify,
    stop: AtomicBool,
    turn: AtomicU64,
}

struct Queue {
    ring: Ring,
    ended: bool,
}

impl Reader {
    /// Starts a thread that opens and reads `source`, and opens it again whenever it is lost.
    pub fn spawn(source: impl Source + 'static, clock: Clock) -> std::io::Result<Reader> {
        Reader::with_ring(source, clock, Ring::new(Ring::ITEMS, Ring::BYTES))
    }

    /// The same with a ring of another size.
    pub fn with_ring(source: impl Source + 'static, clock: Clock, ring: Ring) -> std::io::Result<Reader> {
        let shared = Arc::new(Shared {
            queue: Mutex::new(Queue { ring, ended: false }),
            arrived: Condvar::new(),
            notify: tokio::sync::Notify::new(),
            stop: AtomicBool::new(false),
            turn: AtomicU64::new(clock.mono().0),
        });
        let own = Arc::clone(&shared);
        // Not on the runtime's pool: a blocked read there would hold up the process's end.
        let thread = std::thread::Builder::new().name("reader".into()).spawn(move || {
            let guard = Ending(own);
            Loop { source, clock, shared: &guard.0, heard: clock.mono(), silent: false }.run();
        })?;
        Ok(Reader { shared, thread: Some(thread) })
    }

    /// The next item, waiting for it; `None` once the reader has ended and everything is taken. For one taker.
    pub async fn recv(&mut self) -> Option<Item> {
        loop {
            {
                let mut queue = self.shared.lock();
                if let Some(item) = queue.ring.pop() {
                    return Some(item);
                }
                if queue.ended {
                    return None;
                }
            }
            self.shared.notify.notified().await;
        }
    }

    /// The next item if there is one now.
    pub fn try_recv(&mut self) -> Option<Item> {
        self.shared.lock().ring.pop()
    }

    /// The next item, waiting at most `patience` with the thread blocked.
    pub fn recv_within(&mut self, patience: Duration) -> Option<Item> {
        let queue = self.shared.lock();
        let waited = self.shared.arrived.wait_timeout_while(queue, patience, |queue| queue.ring.is_empty() && !queue.ended);
        waited.unwrap_or_else(PoisonError::into_inner).0.ring.pop()
    }

    /// Whether the thread has ended: after a stop, or at the end of a tape.
    pub fn ended(&self) -> bool {
        self.shared.lock().ended
    }

    /// When the thread last made a turn of its loop, frames or none. An old moment means that it hangs.
    pub fn heartbeat(&self) -> Moment {
        Moment(self.shared.turn.load(Ordering::Relaxed))
    }

    /// The same for a watchdog that outlives this handle.
    pub fn heartbeats(&self) -> Arc<dyn Fn() -> Moment + Send + Sync> {
        let shared = Arc::clone(&self.shared);
        Arc::new(move || Moment(shared.turn.load(Ordering::Relaxed)))
    }

    /// Ends the thread. It waits a bounded time, never for a read that does not return.
    pub fn stop(mut self) -> Stopped {
        self.ask_to_stop();
        let queue = self.shared.lock();
        let waited = self.shared.arrived.wait_timeout_while(queue, STOP_WAIT, |queue| !queue.ended);
        let ended = waited.unwrap_or_else(PoisonError::into_inner).0.ended;
        match self.thread.take() {
            Some(thread) if ended => {
                // It has nothing left to do but return; a panic in it has been told already.
                _ = thread.join();
                Stopped::Ended
            }
            _ => Stopped::Abandoned,
        }
    }

    fn ask_to_stop(&self) {
        self.shared.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = &self.thread {
            thread.thread().unpark();
        }
    }
}

impl Drop for Reader {
    fn drop(&mut self) {
        self.ask_to_stop();
    }
}

impl Shared {
    /// A panic elsewhere cannot leave the ring half-changed in a way that matters: reading goes on.
    fn lock(&self) -> MutexGuard<'_, Queue> {
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn push(&self, at: Moment, event: Event) {
        self.lock().ring.push(Item { at, event });
        self.wake();
    }

    fn wake(&self) {
        self.arrived.notify_all();
        self.notify.notify_one();
    }

    fn stopping(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Tells the taker that nothing more comes, however the thread ends.
struct Ending(Arc<Shared>);

impl Drop for Ending {
    fn drop(&mut self) {
        self.0.lock().ended = true;
        self.0.wake();
    }
}

struct Loop<'a, S> {
    source: S,
    clock: Clock,
    shared: &'a Shared,
    heard: Moment,
    silent: bool,
}

impl<S: Source> Loop<'_, S> {
    fn run(&mut self) {
        let mut pause = PAUSE_FIRST;
        let mut told = None;
        while !self.shared.stopping() {
            self.beat();
            let opened = self.source.open();
            let why = match opened {
                Ok(device) => {
                    let up = self.beat();
                    self.shared.push(up, Event::Up { device });
                    (self.heard, self.silent, told) = (up, false, None);
                    let (why, heard) = self.listen();
                    // A device that opens and goes at once, again and again, is not tried at full speed.
                    if heard {
                        pause = PAUSE_FIRST;
                    }
                    why
                }
                Err(why) => Some(why),
            };
            let Some(why) = why else { break };
            let over = why == Why::TapeEnded;
            if told.as_ref() != Some(&why) {
                let at = self.beat();
                self.shared.push(at, Event::Down { why: why.clone() });
                told = Some(why);
            }
            if over {
                break;
            }
            self.rest(pause);
            pause = PAUSE_LAST.min(Span(pause.0 * 2));
        }
        self.source.close();
    }

    /// Reads until the source is lost (why, and whether it had sent anything) or the reader is stopped.
    fn listen(&mut self) -> (Option<Why>, bool) {
        let mut buffer = [0; 4096];
        let mut heard = false;
        while !self.shared.stopping() {
            self.beat();
            if self.source.patient() && !self.shared.lock().ring.has_room() {
                std::thread::park_timeout(Duration::from_millis(1));
                continue;
            }
            match self.source.read(&mut buffer) {
                Ok(Got::Bytes { count, at }) => {
                    let now = self.beat();
                    (self.heard, self.silent, heard) = (now, false, true);
                    self.shared.push(at.unwrap_or(now), Event::Bytes(buffer[..count].to_vec()));
                }
                Ok(Got::Control { words, at }) => {
                    let now = self.beat();
                    self.shared.push(at.unwrap_or(now), Event::Control(words));
                }
                Ok(Got::Quiet) => {
                    let now = self.beat();
                    let since = now.since(self.heard);
                    if since >= SILENCE && !self.silent {
                        self.silent = true;
                        self.shared.push(now, Event::Silence { since });
                    }
                }
                Err(why) => {
                    self.source.close();
                    return (Some(why), heard);
                }
            }
        }
        (None, heard)
    }

    fn beat(&self) -> Moment {
        let now = self.clock.mono();
        self.shared.turn.store(now.0, Ordering::Relaxed);
        now
    }

    fn rest(&self, pause: Span) {
        let until = self.clock.mono().plus(pause);
        loop {
            let left = until.since(self.beat());
            if left == Span::ZERO || self.shared.stopping() {
                return;
            }
            std::thread::park_timeout(Duration::from_nanos(left.min(SLICE).0));
        }
    }
}

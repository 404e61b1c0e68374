//! The writer's thread: the only one that touches the store.

use super::counts::Counts;
use super::mail::{ToWrite, Work};
use super::pulse::Beat;
use crate::clock::Clock;
use crate::command::Published;
use crate::facts::Event;
use crate::store::{Health, Store};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;
use tokio::sync::{mpsc, watch};

/// How long a disk that refused is left alone before it is tried again.
const RETRY: Duration = Duration::from_secs(1);
const TURN: Duration = Duration::from_millis(500);
/// Events in one append: what came while the last one was written goes together, and no more than this.
const BATCH_MAX: usize = 512;

pub struct Writer {
    pub store: Store,
    pub clock: Clock,
    pub published: watch::Sender<Published>,
    pub health: watch::Sender<Health>,
    pub engine: mpsc::Sender<Work>,
    pub counts: Counts,
    pub beat: Beat,
}

impl Writer {
    /// Works until it is told to end or the core is gone. Events that the disk refuses are kept and tried again: their
    /// numbers are given away already.
    pub fn run(mut self, queue: Receiver<ToWrite>) {
        let mut batch: Vec<Event> = Vec::new();
        let mut failing = false;
        loop {
            self.beat.beat(self.clock.mono());
            let wait = if batch.is_empty() { TURN } else { RETRY };
            let mut ending = false;
            match queue.recv_timeout(wait) {
                Ok(ToWrite::Events(events)) => batch.extend(events),
                Ok(ToWrite::End) | Err(RecvTimeoutError::Disconnected) => ending = true,
                Err(RecvTimeoutError::Timeout) => {}
            }
            while !failing && batch.len() < BATCH_MAX && !ending {
                match queue.try_recv() {
                    Ok(ToWrite::Events(events)) => batch.extend(events),
                    Ok(ToWrite::End) => ending = true,
                    Err(_) => break,
                }
            }
            if !batch.is_empty() {
                let written = self.write(&batch);
                if written {
                    batch.clear();
                }
                if written == failing {
                    failing = !written;
                    // The core may be gone already while the last events are written.
                    _ = self.engine.blocking_send(Work::Writing(written));
                }
            }
            if ending {
                self.store.barrier();
                return;
            }
        }
    }

    fn write(&mut self, batch: &[Event]) -> bool {
        let start = self.clock.mono();
        let done = self.store.append(batch);
        let health = self.store.health().clone();
        self.health.send_if_modified(|shown| {
            let changed = *shown != health;
            *shown = health;
            changed
        });
        match done {
            Ok(()) => {
                self.counts.appended(self.clock.mono().since(start));
                self.counts.events.inc_by(batch.len() as u64);
                self.published.send_replace(Published { books: Arc::new(self.store.books().clone()) });
                _ = self.engine.blocking_send(Work::Durable(self.store.head()));
                true
            }
            Err(fault) => {
                self.counts.append_failures.inc();
                tracing::error!(%fault, events = batch.len(), "not recorded; it is kept and tried again");
                false
            }
        }
    }
}

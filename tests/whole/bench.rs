//! Scales for the bench: one that plays a script with noise and swing, and one that a test moves by hand.

use bismar::clock::Clock;
use bismar::dialect::{Dialect, Flags, Kind, Options, ReadUnit, Reading, Stability, encode};
use bismar::link::player::{Cue, Playing, play};
use bismar::link::pty::Pty;
use bismar::measure::{Displayed, Unit};
use bismar::sim::{Mode, Scale, Script, Setup, What};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

/// Plays a script in real time to its end; `told` hears the operator's commands at their moments.
pub fn play_script(pty: &mut Pty, setup: &Setup, script: &Script, seed: u64, mut told: impl FnMut(&str)) {
    let poll = (setup.mode == Mode::Polled).then(|| setup.dialect.facts().poll.unwrap().to_vec());
    let scale = Scale::new(setup.clone(), script.clone(), seed).unwrap();
    let cues = scale.map(|frame| {
        let cue = match frame.what {
            What::Sent { bytes, .. } => Cue::Send(bytes),
            What::Held { bytes, .. } => Cue::Hold(bytes),
            What::Control(words) => Cue::Note(words),
            What::Unplugged => Cue::Unplug,
            What::Plugged => Cue::Plug,
        };
        (frame.at, cue)
    });
    let playing = Playing { clock: Clock::system(), speed: 1.0, poll };
    let heard = |_, cue: &Cue| {
        if let Cue::Note(words) = cue {
            told(words);
        }
    };
    play(pty, cues, &playing, &AtomicBool::new(false), heard).unwrap();
}

/// An ideal scale that shows whole grams, says stable, and sends until it is dropped.
pub struct Hand {
    grams: Arc<AtomicI64>,
    talking: Arc<AtomicBool>,
    pty: Arc<Mutex<Pty>>,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Hand {
    pub fn new(link: &Path, rate: u32) -> Hand {
        let pty = Arc::new(Mutex::new(Pty::open(Some(link)).unwrap()));
        let (grams, talking, ended) = (Arc::new(AtomicI64::new(0)), Arc::new(AtomicBool::new(true)), Arc::default());
        let own = (Arc::clone(&grams), Arc::clone(&talking), Arc::clone(&pty), Arc::clone(&ended));
        let thread = std::thread::spawn(move || {
            let (grams, talking, pty, ended): (_, _, _, Arc<AtomicBool>) = own;
            while !ended.load(Ordering::Relaxed) {
                if talking.load(Ordering::Relaxed) {
                    pty.lock().unwrap().write(&frame(grams.load(Ordering::Relaxed))).unwrap();
                }
                std::thread::sleep(Duration::from_secs(1) / rate);
            }
        });
        Hand { grams, talking, pty, ended, thread: Some(thread) }
    }

    pub fn put(&self, grams: i64) {
        self.grams.fetch_add(grams, Ordering::Relaxed);
    }

    pub fn lift(&self) {
        self.grams.store(0, Ordering::Relaxed);
    }

    pub fn talk(&self, on: bool) {
        self.talking.store(on, Ordering::Relaxed);
    }

    pub fn unplug(&self) {
        self.pty.lock().unwrap().unplug();
    }

    pub fn plug(&self) {
        self.pty.lock().unwrap().plug().unwrap();
    }
}

impl Drop for Hand {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            _ = thread.join();
        }
    }
}

fn frame(grams: i64) -> Vec<u8> {
    let reading = Reading {
        value: Some(Displayed { count: grams, exponent: -3 }),
        unit: ReadUnit::Stated(Unit::Kilogram),
        kind: Kind::Gross,
        stability: Stability::Stable,
        flags: Flags::default(),
        ..Reading::without_weight(Flags::default())
    };
    let mut bytes = Vec::new();
    encode(Dialect::HeaderComma, &reading, &Options::default(), &mut bytes).unwrap();
    bytes
}

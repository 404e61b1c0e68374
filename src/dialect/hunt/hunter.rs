//! When to stay at a speed, when to try another one, and when it is enough.

use super::alphabet::Factor;
use super::line::{Char, Picture};
use super::scorer::{Judgement, Scorer};
use super::walk::Walk;
use crate::dialect::{LineSettings, Options, Parity};
use crate::measure::{Moment, Span};

/// What is known before the first byte.
#[derive(Debug, Clone, Copy, Default)]
pub struct Start {
    /// As the person says.
    pub configured: Option<u32>,
    /// At which this device was understood the last time.
    pub last: Option<u32>,
    /// The device ignores its speed, as a board on USB does: there is nothing to walk.
    pub speedless: bool,
    pub options: Options,
}

/// Why the line is set anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// The byte values show that the port is too fast by so much.
    TooFast(Factor),
    /// More than a fifth of the characters had no stop bit.
    FramingErrors,
    /// Bytes came, and no family understood them.
    NothingFits,
    /// Good letters, and the framing errors of a parity bit behind eight bits.
    ParityBit(Parity),
}

/// What is to be done now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    Listen,
    /// Set the line, throw away what waits in the port, and go on.
    Change(LineSettings, Moved),
    /// Enough is known.
    Settled(Judgement),
    /// No speed will help: what the line looks like tells why.
    Hopeless(Picture),
    /// Every speed was tried twice.
    Exhausted,
}

/// Bytes at one speed that are enough to know that nothing fits, and more where a frame was understood.
const BYTES: (u64, u64) = (256, 1024);
/// Time at one speed without a pause, and more where a frame was understood.
const DWELL: (Span, Span) = (Span::seconds(3), Span::seconds(20));
/// Characters for which a slow line may take longer.
const DWELL_CHARS: u64 = 64;
/// A scale that sends by itself pauses for less; a print key for more.
const PAUSE: Span = Span::millis(300);
/// Characters of rubbish between two pauses that are taken for a whole frame at a wrong speed.
const BURST: u64 = 8;
/// A family that proves nothing is offered when nothing better has come for so long.
const WEAK_AFTER: Span = Span::seconds(3);
/// A pause in which a frame has ended.
const FRAME_PAUSE: Span = Span::millis(200);
const FRAME_PAUSE_CHARS: u64 = 20;
const ROUNDS: u32 = 2;

/// The whole search on one device.
#[derive(Debug, Clone)]
pub struct Hunter {
    scorer: Scorer,
    walk: Walk,
    speedless: bool,
    parity_bit: Option<Parity>,
    first: Option<Moment>,
    last: Option<Moment>,
    /// The silence after the last byte was told to the framers.
    told: bool,
    burst: Burst,
    /// Moment at which the line was set, once it is known.
    set: Option<Moment>,
}

/// Bytes between two pauses.
#[derive(Debug, Clone, Copy, Default)]
struct Burst {
    /// Bytes that had come before it.
    from: u64,
    begun: Moment,
    /// Its beginning was heard: the line was quiet before.
    whole: bool,
}

impl Hunter {
    pub fn new(start: Start) -> Hunter {
        let first = start.configured.into_iter().chain(start.last);
        let options = Options { joined: true, ..start.options };
        Hunter {
            scorer: Scorer::new(options),
            walk: Walk::new(first),
            speedless: start.speedless,
            parity_bit: None,
            first: None,
            last: None,
            told: true,
            burst: Burst::default(),
            set: None,
        }
    }

    /// How the port has to be set now: always eight bits without parity, but where a parity bit behind eight was seen.
    pub fn line(&self) -> LineSettings {
        let parity = self.parity_bit.unwrap_or(Parity::Clear);
        LineSettings { speed: self.walk.speed(), data_bits: 8, parity, stop_bits: 1 }
    }

    /// The line as it is to be configured: with the parity that bit 7 has shown.
    pub fn found(&self) -> LineSettings {
        let line = self.line();
        if self.parity_bit.is_some() {
            return line;
        }
        match self.scorer.parity().0 {
            Parity::Clear => line,
            // A mark bit is the first of two stop bits.
            Parity::Mark => LineSettings { data_bits: 7, stop_bits: 2, ..line },
            parity => LineSettings { data_bits: 7, parity, ..line },
        }
    }

    pub const fn scorer(&self) -> &Scorer {
        &self.scorer
    }

    /// Takes what the port has handed over at `at`. Times must not run backwards.
    pub fn take(&mut self, chars: &[Char], at: Moment) {
        if chars.is_empty() {
            return;
        }
        self.pause(at);
        self.set.get_or_insert(at);
        if self.last.is_none_or(|last| at.since(last) >= PAUSE) {
            let quiet = self.last.or(self.set).is_some_and(|since| at.since(since) >= PAUSE);
            self.burst = Burst { from: self.scorer.taken(), begun: at, whole: quiet };
            if quiet && self.scorer.taken() == 0 {
                self.scorer.boundary();
            }
        }
        self.first.get_or_insert(at);
        self.last = Some(at);
        self.told = false;
        chars.iter().for_each(|&char| self.scorer.push(char));
    }

    /// What to do at `now`; to be asked after each [`Hunter::take`] and every 100 ms or so.
    pub fn tick(&mut self, now: Moment) -> Step {
        self.set.get_or_insert(now);
        self.pause(now);
        let (Some(first), Some(last)) = (self.first, self.last) else { return Step::Listen };
        match self.scorer.judge() {
            verdict @ (Judgement::Locked(_) | Judgement::Ambiguous(_)) => return Step::Settled(verdict),
            verdict @ Judgement::Confirm(_) if now.since(first) >= WEAK_AFTER => return Step::Settled(verdict),
            _ => {}
        }
        let picture = self.scorer.picture();
        match picture {
            // Rubbish at a wrong speed can look like it too: only when no other speed was right it is believed.
            Picture::Inverted if self.speedless || self.walk.rounds() > 0 => return Step::Hopeless(picture),
            Picture::Inverted => return self.move_on(now, Moved::NothingFits),
            Picture::Eight(parity) if self.parity_bit.is_none() => {
                self.parity_bit = Some(parity);
                return self.changed(now, Moved::ParityBit(parity));
            }
            Picture::TooFast(factor) => return self.move_on(now, Moved::TooFast(factor)),
            Picture::Wrong if !self.scorer.has_frames() => return self.move_on(now, Moved::FramingErrors),
            _ => {}
        }
        if self.scorer.is_right_speed() {
            return Step::Listen;
        }
        let hopeful = self.scorer.has_frames();
        let (bytes, dwell) = if hopeful { (BYTES.1, DWELL.1) } else { (BYTES.0, DWELL.0) };
        let slow = Span(DWELL_CHARS * self.char_time());
        let ended = now.since(last) >= PAUSE;
        let rubbish = self.scorer.taken() - self.burst.from;
        if ended {
            // Silence tells nothing: at most one step for each burst, and only if all of it was heard.
            let judged = !hopeful && self.burst.whole && rubbish >= BURST && !self.scorer.may_have_parity();
            return if judged { self.stuck(now, picture) } else { Step::Listen };
        }
        let enough = self.scorer.taken() >= bytes || last.since(self.burst.begun) >= dwell.max(slow);
        if enough { self.stuck(now, picture) } else { Step::Listen }
    }

    fn stuck(&mut self, now: Moment, picture: Picture) -> Step {
        if self.walk.rounds() + 1 >= ROUNDS && picture == Picture::Dead {
            return Step::Hopeless(picture);
        }
        self.move_on(now, Moved::NothingFits)
    }

    fn move_on(&mut self, now: Moment, why: Moved) -> Step {
        if self.speedless {
            return Step::Listen;
        }
        self.parity_bit = None;
        match why {
            Moved::TooFast(factor) => self.walk.jump(factor),
            _ => self.walk.next(),
        };
        if self.walk.rounds() >= ROUNDS {
            return Step::Exhausted;
        }
        self.changed(now, why)
    }

    fn changed(&mut self, now: Moment, why: Moved) -> Step {
        self.scorer.restart();
        (self.first, self.last, self.told, self.burst, self.set) = (None, None, true, Burst::default(), Some(now));
        Step::Change(self.line(), why)
    }

    /// Tells the framers of a pause once.
    fn pause(&mut self, now: Moment) {
        let pause = FRAME_PAUSE.max(Span(FRAME_PAUSE_CHARS * self.char_time()));
        if !self.told && self.last.is_some_and(|last| now.since(last) >= pause) {
            self.scorer.silence();
            self.told = true;
        }
    }

    /// Nanoseconds of one character of ten bits.
    fn char_time(&self) -> u64 {
        10_000_000_000 / u64::from(self.walk.speed())
    }
}

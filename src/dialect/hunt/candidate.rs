//! One family on trial: how its decoder gets on with the bytes.

use super::confusions::confusions;
use crate::dialect::{Dialect, Kind, Options, ReadUnit, Reading, Stream, Tally};
use crate::measure::Displayed;

/// Frames with a verified checksum that prove a family.
pub(super) const CHECKED_ENOUGH: u32 = 3;
/// What a verified checksum counts for beside the frame itself.
const CHECKED_WORTH: i64 = 6;
/// A run that has sunk so low begins anew.
const LOST: i64 = -32;
/// Weights that are kept to compare families by.
const KEPT: usize = 8;

/// Something to tell a person about a candidate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// So many frames in a row agree in decimals and unit, and nothing was refused between them.
    InRow(u32),
    /// So many of them had a checksum, and it was right.
    Checked(u32),
    /// So many more are needed.
    Needs(u32),
    /// So many bytes of the line are no frame of this family.
    Unexplained(u64),
    /// So many frames said why there is no weight: overload, an error, another mode.
    WithoutWeight(u64),
    /// Nothing in its frames proves the family: a known weight must.
    ProvesNothing,
}

/// A family that understood something, as told to a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    pub dialect: Dialect,
    /// Frames in a row, six more for each checksum, one less for each byte between them that nothing explains.
    pub score: i64,
    /// Frames with a weight in a row that agree.
    pub frames: u32,
    pub checked: u32,
    /// Bytes of the whole window that are no frame of this family.
    pub unexplained: u64,
    /// What the last weights agree in.
    pub decimals: Option<i8>,
    pub unit: ReadUnit,
    pub kind: Kind,
    /// The last reading with a weight.
    pub last: Option<Reading>,
    pub reasons: Vec<Reason>,
    /// Other families whose frames can look the same.
    pub confusions: Vec<Dialect>,
}

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Run {
    pub weights: u32,
    pub checked: u32,
    pub unexplained: u64,
    /// Where its first frame ended and its last one, in bytes since the line was set.
    pub first: u64,
    pub end: u64,
    shape: Option<(i8, ReadUnit)>,
}

impl Run {
    pub fn score(&self) -> i64 {
        i64::from(self.weights) + CHECKED_WORTH * i64::from(self.checked) - self.unexplained.min(1 << 32) as i64
    }

    fn overlaps(&self, other: &Run) -> bool {
        self.first <= other.end && other.first <= self.end
    }
}

#[derive(Debug, Clone)]
pub(super) struct Track {
    pub dialect: Dialect,
    stream: Stream,
    before: Tally,
    pub run: Run,
    pub best: Run,
    kept: [Option<(Displayed, ReadUnit, Kind)>; KEPT],
    next: usize,
    last: Option<Reading>,
    empty: u64,
}

impl Track {
    pub fn new(dialect: Dialect, options: Options) -> Track {
        Track {
            dialect,
            stream: Stream::new(dialect, options),
            before: Tally::default(),
            run: Run::default(),
            best: Run::default(),
            kept: [None; KEPT],
            next: 0,
            last: None,
            empty: 0,
        }
    }

    pub fn take(&mut self, byte: u8, at: u64) {
        self.step(Some(byte), at);
    }

    pub fn silence(&mut self, at: u64) {
        self.step(None, at);
    }

    /// A character came broken: whatever it was part of is no frame.
    pub fn spoil(&mut self) {
        self.run = Run::default();
    }

    fn step(&mut self, byte: Option<u8>, at: u64) {
        let (mut weight, mut empty) = (None, 0);
        let mut emit = |reading: Reading| match reading.value {
            // Of a frame that tells several weights the live one stands last, but for a tare.
            Some(_) if reading.kind == Kind::Tare && weight.is_some() => {}
            Some(_) => weight = Some(reading),
            None => empty += 1,
        };
        match byte {
            Some(byte) => self.stream.push(&[byte], &mut emit),
            None => self.stream.silence(&mut emit),
        }
        let now = self.stream.tally();
        let before = std::mem::replace(&mut self.before, now);
        if now.refused > before.refused {
            self.run = Run::default();
        } else if self.run.weights > 0 {
            self.run.unexplained += now.skipped - before.skipped;
            if self.run.score() < LOST {
                self.run = Run::default();
            }
        }
        self.empty += empty;
        let Some(reading) = weight else { return };
        let value = reading.value.expect("it has a weight");
        let shape = (value.exponent, reading.unit);
        if self.run.shape.is_some_and(|before| before != shape) {
            self.run = Run::default();
        }
        if self.run.weights == 0 {
            self.run.first = at;
        }
        self.run.shape = Some(shape);
        self.run.weights = self.run.weights.saturating_add(1);
        self.run.checked = self.run.checked.saturating_add((now.checked - before.checked) as u32);
        self.run.end = at;
        self.last = Some(reading);
        self.kept[self.next] = Some((value, reading.unit, reading.kind));
        self.next = (self.next + 1) % KEPT;
        if self.run.score() >= self.best.score() || self.run.weights > self.best.weights {
            self.best = self.run;
        }
    }

    fn needed(&self) -> Option<u32> {
        self.dialect.facts().lock_after
    }

    /// Its frames prove nothing by themselves.
    pub fn is_weak(&self) -> bool {
        self.needed().is_none()
    }

    /// Enough frames in a row agree.
    pub fn is_proved(&self) -> bool {
        self.needed().is_some_and(|needed| {
            let enough = self.best.weights >= needed || self.best.checked >= CHECKED_ENOUGH;
            enough && self.best.score() >= i64::from(needed.min(CHECKED_ENOUGH))
        })
    }

    /// It is still in the running beside `other`: its run goes on and may yet prove it.
    pub fn may_catch_up(&self, other: &Track) -> bool {
        let pace = (other.best.end - other.best.first) / u64::from(other.best.weights.max(2) - 1);
        !self.is_weak() && self.run.weights > 0 && self.run.end + 2 * pace.max(8) >= other.best.end
    }

    /// Whether this one is right if both fit: it proves more, it explains more, or it says the same and is the more
    /// specific, which stands before the other in the register.
    pub fn beats(&self, other: &Track) -> bool {
        if !self.best.overlaps(&other.best) {
            return false;
        }
        let proof = |track: &Track| track.best.checked >= CHECKED_ENOUGH;
        if proof(self) != proof(other) {
            return proof(self);
        }
        let explains = |track: &Track| track.best.unexplained * 4 < u64::from(track.best.weights.max(1));
        if explains(self) != explains(other) {
            return explains(self);
        }
        self.dialect < other.dialect && self.agrees(other)
    }

    /// The same weights, and at least as much beside them, but for one at either end that only one of them has seen.
    fn agrees(&self, other: &Track) -> bool {
        let says = |track: &Track, value: Displayed, rest: &dyn Fn(ReadUnit, Kind) -> bool| {
            track.kept.iter().flatten().any(|&(theirs, unit, kind)| theirs == value && rest(unit, kind))
        };
        let unsaid = other.kept.iter().flatten().filter(|&&(value, unit, kind)| {
            !says(self, value, &|mine, my_kind| {
                (mine == unit || unit == ReadUnit::Unstated) && (my_kind == kind || kind == Kind::Unknown)
            })
        });
        let unknown = self.kept.iter().flatten().filter(|&&(value, ..)| !says(other, value, &|_, _| true));
        unsaid.count() <= 1 && unknown.count() <= 1
    }

    pub fn told(&self) -> Option<Candidate> {
        if self.best.weights == 0 && self.empty == 0 {
            return None;
        }
        let run = if self.run.weights >= self.best.weights { self.run } else { self.best };
        let unexplained = self.before.skipped;
        let mut reasons = vec![Reason::InRow(run.weights)];
        reasons.extend((run.checked > 0).then_some(Reason::Checked(run.checked)));
        match self.needed() {
            None => reasons.push(Reason::ProvesNothing),
            Some(needed) if !self.is_proved() => reasons.push(Reason::Needs(needed.saturating_sub(run.weights))),
            Some(_) => {}
        }
        reasons.extend((unexplained > 0).then_some(Reason::Unexplained(unexplained)));
        reasons.extend((self.empty > 0).then_some(Reason::WithoutWeight(self.empty)));
        Some(Candidate {
            dialect: self.dialect,
            score: run.score(),
            frames: run.weights,
            checked: run.checked,
            unexplained,
            decimals: run.shape.map(|(exponent, _)| -exponent),
            unit: run.shape.map_or(ReadUnit::Absent, |(_, unit)| unit),
            kind: self.last.map_or(Kind::Unknown, |reading| reading.kind),
            last: self.last,
            reasons,
            confusions: confusions(self.dialect),
        })
    }
}

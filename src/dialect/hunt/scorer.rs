//! All families at once on the bytes of one line.

use super::candidate::{Candidate, Track};
use super::line::{Census, Char, Picture};
use crate::dialect::{Dialect, Options, Parity};

/// What can be said by now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Judgement {
    /// Not one byte came. It tells nothing about the speed.
    Silent,
    /// Bytes came, and nothing is decided.
    Open,
    /// One family, beyond doubt.
    Locked(Dialect),
    /// Each of these is proved by its own rule, and they do not say the same: a person must choose.
    Ambiguous(Vec<Dialect>),
    /// Frames that prove nothing by themselves: a known weight must tell.
    Confirm(Vec<Dialect>),
}

/// Bytes that are kept to be shown.
pub const RAW_KEPT: usize = 64;
/// What a decoder never takes for part of a frame.
const SPOILT: u8 = 0x80;
/// Frames in a row of a family that proves nothing before it is offered.
const WEAK_ENOUGH: u32 = 5;
/// Frames in a row that show that the speed is right.
const RIGHT_SPEED: u32 = 3;

/// Tries every family on the same bytes. Its memory is fixed when it is made.
#[derive(Debug, Clone)]
pub struct Scorer {
    options: Options,
    tracks: Vec<Track>,
    census: Census,
    taken: u64,
    raw: [u8; RAW_KEPT],
}

impl Scorer {
    /// `options` as for a [`crate::dialect::Stream`]: what a person has said about the scale already.
    pub fn new(options: Options) -> Scorer {
        let tracks = Dialect::ALL.iter().map(|&dialect| Track::new(dialect, options)).collect();
        Scorer { options, tracks, census: Census::default(), taken: 0, raw: [0; RAW_KEPT] }
    }

    pub fn push(&mut self, char: Char) {
        self.raw[(self.taken % RAW_KEPT as u64) as usize] = char.byte;
        self.taken += 1;
        self.census.take(char);
        let byte = if char.fault.is_some() { SPOILT } else { char.byte };
        for track in &mut self.tracks {
            track.take(byte, self.taken);
            if char.fault.is_some() {
                track.spoil();
            }
        }
    }

    /// No byte has come for longer than a frame may pause.
    pub fn silence(&mut self) {
        for track in &mut self.tracks {
            track.silence(self.taken);
        }
    }

    /// The line is set anew: nothing before counts.
    pub fn restart(&mut self) {
        self.renew(true);
        self.census = Census::default();
        self.taken = 0;
    }

    /// The line was quiet for long before its first byte, so that byte begins a frame.
    pub(super) fn boundary(&mut self) {
        self.renew(false);
    }

    fn renew(&mut self, joined: bool) {
        let options = Options { joined, ..self.options };
        for track in &mut self.tracks {
            *track = Track::new(track.dialect, options);
        }
    }

    /// Bytes since the line was set.
    pub const fn taken(&self) -> u64 {
        self.taken
    }

    /// The last bytes, at most [`RAW_KEPT`], as they came.
    pub fn raw(&self) -> Vec<u8> {
        let from = self.taken.saturating_sub(RAW_KEPT as u64);
        (from..self.taken).map(|at| self.raw[(at % RAW_KEPT as u64) as usize]).collect()
    }

    pub fn picture(&self) -> Picture {
        self.census.picture()
    }

    /// The rule that bit 7 follows, and whether that is sure.
    pub fn parity(&self) -> (Parity, bool) {
        self.census.parity()
    }

    /// Bytes wait for their parity to become known, and look as if they had one.
    pub(super) fn may_have_parity(&self) -> bool {
        self.census.may_have_parity()
    }

    /// Frames of one family, weak or not, that come again and again: the speed is right.
    pub fn is_right_speed(&self) -> bool {
        self.tracks.iter().any(|track| track.run.weights >= RIGHT_SPEED)
    }

    /// At least one frame was understood, and nothing was refused since.
    pub fn has_frames(&self) -> bool {
        self.tracks.iter().any(|track| track.run.weights > 0)
    }

    /// Every family that understood something, the likeliest first.
    pub fn candidates(&self) -> Vec<Candidate> {
        let mut all: Vec<Candidate> = self.tracks.iter().filter_map(Track::told).collect();
        // A stable sort: between equals the register's order stays, the more specific first.
        all.sort_by_key(|candidate| std::cmp::Reverse(candidate.score));
        all
    }

    /// What can be said now, while more bytes may come.
    pub fn judge(&self) -> Judgement {
        if self.taken == 0 {
            return Judgement::Silent;
        }
        let standing = self.standing();
        let waits = |track: &&Track| {
            let rivals = self.tracks.iter().filter(|rival| rival.dialect != track.dialect && !rival.is_proved());
            rivals.into_iter().any(|rival| rival.may_catch_up(track) && !track.beats(rival))
        };
        match standing.as_slice() {
            [] => self.weak(),
            all if all.iter().any(waits) => Judgement::Open,
            _ => self.decided(&standing),
        }
    }

    /// What can be said of everything that came, if nothing more will.
    pub fn conclude(&self) -> Judgement {
        let standing = self.standing();
        match standing.as_slice() {
            [] if self.taken == 0 => Judgement::Silent,
            [] => self.weak(),
            _ => self.decided(&standing),
        }
    }

    /// The proved families that no other proved one beats.
    fn standing(&self) -> Vec<&Track> {
        let proved: Vec<&Track> = self.tracks.iter().filter(|track| track.is_proved()).collect();
        let unbeaten = |track: &&&Track| proved.iter().all(|rival| rival.dialect == track.dialect || !rival.beats(track));
        proved.iter().filter(unbeaten).copied().collect()
    }

    fn decided(&self, standing: &[&Track]) -> Judgement {
        match standing {
            [one] => Judgement::Locked(one.dialect),
            all => Judgement::Ambiguous(all.iter().map(|track| track.dialect).collect()),
        }
    }

    fn weak(&self) -> Judgement {
        let strong = self.tracks.iter().any(|track| !track.is_weak() && track.run.weights >= RIGHT_SPEED);
        let fits = |track: &&Track| track.is_weak() && track.best.weights >= WEAK_ENOUGH;
        let weak: Vec<Dialect> = self.tracks.iter().filter(fits).map(|track| track.dialect).collect();
        if strong || weak.is_empty() { Judgement::Open } else { Judgement::Confirm(weak) }
    }
}

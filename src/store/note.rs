//! What opening a store has to tell, and how sound the store is.

use std::fmt;
use std::path::PathBuf;

/// Something that was found or done at open. Each is worth a line in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// A write that a crash cut short was set aside and cut off.
    TornTail { segment: String, bytes: u64, kept: PathBuf },
    /// It could not be copied, so it stays in its segment, which is not written to any more.
    TornTailLeft { segment: String, bytes: u64, why: String },
    /// The rest of a failed write in an older segment: not part of the history.
    Abandoned { segment: String, bytes: u64 },
    /// The index was behind the roll and has been caught up.
    CaughtUp { from: u64, to: u64 },
    /// The index was made anew.
    Rebuilt { why: String, aside: Option<PathBuf> },
    /// A leftover of sled that would have kept it from opening was moved away.
    LeftoverMoved { from: PathBuf, to: PathBuf },
    /// Lines that only the index had were written out.
    SurplusExported { from: u64, to: u64, kept: PathBuf },
    /// The roll ends in an unfinished write. Only looked at, not touched.
    TornTailSeen { segment: String, bytes: u64 },
    /// Something that makes the store degraded.
    Fault(Reason),
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Note::TornTail { segment, bytes, kept } => {
                write!(f, "{segment} ended in an unfinished write of {bytes} bytes; it was set aside as {}", kept.display())
            }
            Note::TornTailLeft { segment, bytes, why } => {
                write!(
                    f,
                    "{segment} ends in an unfinished write of {bytes} bytes, left there because it could not be copied ({why})"
                )
            }
            Note::Abandoned { segment, bytes } => {
                write!(f, "{segment} holds {bytes} bytes of a write that failed and was done again elsewhere")
            }
            Note::CaughtUp { from, to } => write!(f, "the index was behind: events {from} to {to} were added"),
            Note::Rebuilt { why, aside: None } => write!(f, "the index was built from the roll ({why})"),
            Note::Rebuilt { why, aside: Some(aside) } => {
                write!(f, "the index was built anew from the roll ({why}); the old one is {}", aside.display())
            }
            Note::LeftoverMoved { from, to } => write!(f, "{} was moved to {}", from.display(), to.display()),
            Note::TornTailSeen { segment, bytes } => write!(f, "{segment} ends in an unfinished write of {bytes} bytes"),
            Note::Fault(reason) => reason.fmt(f),
            Note::SurplusExported { from, to, kept } => {
                write!(f, "the index had events {from} to {to}, which the roll does not have; they are in {}", kept.display())
            }
        }
    }
}

/// How far the store can be relied on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Health {
    Sound,
    Degraded(Vec<Reason>),
}

impl Health {
    pub fn reasons(&self) -> &[Reason] {
        match self {
            Health::Sound => &[],
            Health::Degraded(reasons) => reasons,
        }
    }

    /// Whether events can be appended.
    pub fn takes_events(&self) -> bool {
        !self.reasons().iter().any(Reason::refuses_events)
    }

    pub(super) fn add(&mut self, reason: Reason) {
        match self {
            Health::Sound => *self = Health::Degraded(vec![reason]),
            Health::Degraded(reasons) => reasons.push(reason),
        }
    }
}

/// Why a store is degraded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// A line of the roll is damaged or missing, and events that were acknowledged came after it.
    ChainBroken { segment: String, at: u64, after: u64, why: String },
    /// The index knows events that the roll does not have: the roll has lost them.
    IndexAhead { roll: u64, index: u64 },
    /// Index and roll hold different events under the same number.
    Diverged { seq: u64 },
    /// The index belongs to another store.
    ForeignIndex,
    /// An event of the roll does not fit those before it.
    DoesNotFit { seq: u64, why: String },
    /// The index failed. The roll goes on alone; the index is made anew at the next open.
    IndexBroken { why: String },
}

impl Reason {
    /// Where acknowledged events are missing, an append would give their numbers away a second time, and a number is
    /// the identity of what it founded. So such a store is read only until it is mended. A broken index loses nothing.
    pub fn refuses_events(&self) -> bool {
        !matches!(self, Reason::IndexBroken { .. })
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::ChainBroken { segment, at, after, why } => {
                write!(f, "the roll is broken after event {after}, in {segment} at byte {at}: {why}")
            }
            Reason::IndexAhead { roll, index } => {
                write!(f, "the roll ends at event {roll}, but the index knows events up to {index}: the roll has lost some")
            }
            Reason::Diverged { seq } => write!(f, "roll and index hold different events under number {seq}"),
            Reason::ForeignIndex => write!(f, "the index belongs to another store"),
            Reason::DoesNotFit { seq, why } => write!(f, "event {seq} does not fit those before it: {why}"),
            Reason::IndexBroken { why } => write!(f, "the index failed and is not used until the next start: {why}"),
        }
    }
}

/// How far a long piece of work at open has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    pub work: Work,
    pub done: u64,
    pub total: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// In bytes.
    ReadingRoll,
    /// Folding the roll into books. In events.
    Folding,
    /// Comparing the index with the roll. In events.
    ReadingIndex,
    /// Writing the index. In events.
    Indexing,
}

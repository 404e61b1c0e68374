//! Moments of a boot's monotonic clock, and spans between them.

use serde::{Deserialize, Serialize};

/// Nanoseconds since some fixed beginning that never jumps: a boot, a tape's start.
/// Two moments are comparable only within one such beginning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub u64);

/// A length of time in nanoseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Span(pub u64);

impl Moment {
    /// Time from `earlier` to this; nothing when `earlier` is later.
    pub const fn since(self, earlier: Moment) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }

    pub const fn plus(self, span: Span) -> Moment {
        Moment(self.0.saturating_add(span.0))
    }
}

impl Span {
    pub const ZERO: Span = Span(0);

    pub const fn millis(count: u64) -> Span {
        Span(count * 1_000_000)
    }

    pub const fn seconds(count: u64) -> Span {
        Span::millis(count * 1000)
    }

    pub const fn as_millis(self) -> u64 {
        self.0 / 1_000_000
    }

    pub const fn as_seconds(self) -> u64 {
        self.0 / 1_000_000_000
    }

    pub const fn plus(self, other: Span) -> Span {
        Span(self.0.saturating_add(other.0))
    }
}

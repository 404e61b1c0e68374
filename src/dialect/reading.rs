//! What one frame of a scale says.

use crate::measure::{Displayed, Mass, Unit};
use serde::{Deserialize, Serialize};

/// One decoded frame. A well-formed frame that carries no usable weight has no `value`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// As sent, leading zeros dropped. In [`ReadUnit::PoundOunce`] it is the total in ounces.
    pub value: Option<Displayed>,
    pub unit: ReadUnit,
    pub kind: Kind,
    pub stability: Stability,
    pub flags: Flags,
    /// The scale's division where the frame transmits it, in the frame's unit.
    pub division: Option<Displayed>,
    /// Something that happened at the scale, told by a frame of its own.
    pub news: Option<News>,
}

/// The unit of a reading, and whether the frame stated it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum ReadUnit {
    Stated(Unit),
    /// Pounds and ounces in one reading; the value is the total in ounces.
    PoundOunce,
    /// The format does not send a unit: it must be configured.
    Unstated,
    /// A letter that two makers use for different units: which one must be configured.
    Ambiguous,
    /// There is no weight, so there is no unit.
    Absent,
}

/// What the value is of. Letter replies and bare numbers show the displayed value and do not say which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    Gross,
    Net,
    Tare,
    Unknown,
}

/// What the scale itself says about standing still. It may be early, late or silent about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stability {
    Stable,
    Motion,
    Unknown,
}

/// Marks beside the weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Flags {
    pub overload: bool,
    pub underload: bool,
    pub zero: bool,
    pub error: bool,
}

/// An event at the scale: each of these ends an epoch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum News {
    Zeroed,
    Tared,
    PoweredUp,
}

impl Flags {
    /// The names of the marks that are set, in one fixed order.
    pub fn names(self) -> Vec<&'static str> {
        [(self.overload, "overload"), (self.underload, "underload"), (self.zero, "zero"), (self.error, "error")]
            .into_iter()
            .filter_map(|(set, name)| set.then_some(name))
            .collect()
    }
}

impl ReadUnit {
    /// The frame does not settle the unit: without a configured one there is no mass.
    pub const fn is_open(self) -> bool {
        matches!(self, ReadUnit::Unstated | ReadUnit::Ambiguous)
    }
}

impl Reading {
    /// A well-formed frame without a usable weight.
    pub const fn without_weight(flags: Flags) -> Reading {
        Reading {
            value: None,
            unit: ReadUnit::Absent,
            kind: Kind::Unknown,
            stability: Stability::Unknown,
            flags,
            division: None,
            news: None,
        }
    }

    /// The unit of the value: the stated one, else the configured one. Never a guess.
    pub fn unit_or(&self, configured: Option<Unit>) -> Option<Unit> {
        match self.unit {
            ReadUnit::Stated(unit) => Some(unit),
            ReadUnit::PoundOunce => Some(Unit::Ounce),
            ReadUnit::Unstated | ReadUnit::Ambiguous => configured,
            ReadUnit::Absent => None,
        }
    }

    /// The mass shown, taking an unstated unit to be `configured`.
    pub fn mass(&self, configured: Option<Unit>) -> Option<Mass> {
        Mass::of(self.value?, self.unit_or(configured)?)
    }
}

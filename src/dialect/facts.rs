//! What is known of a family beside its bytes.

use super::{Flags, Kind, News, Parity, Stability};
use crate::measure::Unit;

/// How a serial line is usually set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineSettings {
    /// Bits a second.
    pub speed: u32,
    pub data_bits: u8,
    /// `Clear` stands for no parity bit.
    pub parity: Parity,
    pub stop_bits: u8,
}

/// What is known of a family beside its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Facts {
    pub usual: LineSettings,
    /// Line speeds met, the likeliest first.
    pub speeds: &'static [u32],
    /// Frames a second when the scale sends by itself, the least and the most met.
    pub rate: (u16, u16),
    /// A request that reads the weight and changes nothing at scales of this family. `None`: only listen.
    pub poll: Option<&'static [u8]>,
    /// What the encoder can say and the decoder gives back unchanged.
    pub says: Says,
    /// A frame begins with a byte that opens nothing else, so a stream may be joined anywhere.
    pub start_mark: bool,
    /// Frames in a row that prove the family; `None`: they never do, a person must confirm it.
    pub lock_after: Option<u32>,
}

/// What the frames of a family have words for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Says {
    /// Units that a frame can state. Empty: the unit must be configured.
    pub units: &'static [Unit],
    /// A weight can be sent without a unit.
    pub unstated: bool,
    /// Pounds and ounces in one reading.
    pub pound_ounce: bool,
    pub kinds: &'static [Kind],
    pub stability: &'static [Stability],
    /// Frames that say why there is no weight.
    pub marks: &'static [Flags],
    /// A mark for the centre of zero beside a weight.
    pub zero: bool,
    pub news: &'static [News],
    /// The scale's division, counting by 1, 2 or 5.
    pub division: bool,
    /// The greatest count of the last digit.
    pub most: i64,
    /// Fewest and most decimals; below nought are zeros behind the digits.
    pub decimals: (i8, i8),
}

pub(super) const OVER: Flags = Flags { overload: true, underload: false, zero: false, error: false };
pub(super) const UNDER: Flags = Flags { overload: false, underload: true, zero: false, error: false };
pub(super) const ERROR: Flags = Flags { overload: false, underload: false, zero: false, error: true };

/// Both answers to whether the load stands still.
pub(super) const STILL_OR_NOT: &[Stability] = &[Stability::Stable, Stability::Motion];

impl Facts {
    pub const fn sends_unit(&self) -> bool {
        !self.says.units.is_empty()
    }

    /// Whether a frame tells gross from net.
    pub fn sends_kind(&self) -> bool {
        [Kind::Gross, Kind::Net].iter().all(|kind| self.says.kinds.contains(kind))
    }

    pub fn sends_stability(&self) -> bool {
        self.says.stability.contains(&Stability::Motion) || self.says.stability.contains(&Stability::Stable)
    }
}

pub(super) const EIGHT_NONE: LineSettings = LineSettings { speed: 9600, data_bits: 8, parity: Parity::Clear, stop_bits: 1 };
pub(super) const SEVEN_EVEN: LineSettings = LineSettings { speed: 9600, data_bits: 7, parity: Parity::Even, stop_bits: 1 };

/// A family that sends a number and nothing else; each states what it has more.
pub(super) const PLAIN: Says = Says {
    units: &[],
    unstated: false,
    pound_ounce: false,
    kinds: &[Kind::Unknown],
    stability: &[Stability::Unknown],
    marks: &[],
    zero: false,
    news: &[],
    division: false,
    most: 999_999,
    decimals: (0, 5),
};

/// What most families of columns between STX and ETX share: no unit, gross and net, nothing about rest.
pub(super) const PLAIN_BLOCK: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 20),
    poll: None,
    says: Says { unstated: true, kinds: &[Kind::Gross, Kind::Net], ..PLAIN },
    start_mark: true,
    lock_after: Some(5),
};

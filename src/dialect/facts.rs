//! What is known of a family beside its bytes.

use super::Parity;

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
    pub sends_unit: bool,
    pub sends_kind: bool,
    pub sends_stability: bool,
    pub sends_division: bool,
    /// A frame begins with a byte that opens nothing else, so a stream may be joined anywhere.
    pub start_mark: bool,
    /// Frames in a row that prove the family; `None`: they never do, a person must confirm it.
    pub lock_after: Option<u32>,
}

pub(super) const EIGHT_NONE: LineSettings = LineSettings { speed: 9600, data_bits: 8, parity: Parity::Clear, stop_bits: 1 };
pub(super) const SEVEN_EVEN: LineSettings = LineSettings { speed: 9600, data_bits: 7, parity: Parity::Even, stop_bits: 1 };

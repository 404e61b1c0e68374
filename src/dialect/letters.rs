//! Words of one letter: for the kind, for rest, for the unit, and for why there is no weight.

use super::block_fit::{Place, any_of};
use super::facts::{ERROR, OVER, UNDER};
use super::unit_word::{UnitWord, ton};
use super::{Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

/// The kind behind a letter `G`, `N` or `T`.
pub(super) const fn kind_of(letter: u8) -> Option<Kind> {
    match letter {
        b'G' => Some(Kind::Gross),
        b'N' => Some(Kind::Net),
        b'T' => Some(Kind::Tare),
        _ => None,
    }
}

/// The kind behind a letter for gross or net, in either case.
pub(super) const fn gross_or_net(letter: u8) -> Option<Kind> {
    match kind_of(letter.to_ascii_uppercase()) {
        Some(Kind::Tare) => None,
        kind => kind,
    }
}

/// The letter for gross, net or tare.
pub(super) const fn kind_letter(kind: Kind) -> Result<u8, Unsayable> {
    match kind {
        Kind::Gross => Ok(b'G'),
        Kind::Net => Ok(b'N'),
        Kind::Tare => Ok(b'T'),
        Kind::Unknown => Err(Unsayable::Kind),
    }
}

/// The letter for gross or net; there is none for anything else.
pub(super) const fn live_letter(kind: Kind) -> Result<u8, Unsayable> {
    match kind {
        Kind::Tare => Err(Unsayable::Kind),
        kind => kind_letter(kind),
    }
}

/// The sign for still or for moving.
pub(super) const fn still_or_not(stability: Stability, still: u8, moving: u8) -> Result<u8, Unsayable> {
    match stability {
        Stability::Stable => Ok(still),
        Stability::Motion => Ok(moving),
        Stability::Unknown => Err(Unsayable::Stability),
    }
}

/// A unit of one letter. `T` is the tonne with one maker and the short ton with another: see [`ton`].
pub(super) const fn unit_letter(letter: u8, options: &Options) -> UnitWord {
    UnitWord::Mass(match letter.to_ascii_uppercase() {
        b'L' => ReadUnit::Stated(Unit::Pound),
        b'K' => ReadUnit::Stated(Unit::Kilogram),
        b'G' => ReadUnit::Stated(Unit::Gram),
        b'O' => ReadUnit::Stated(Unit::Ounce),
        b'T' => return ton(options),
        b' ' => ReadUnit::Unstated,
        _ => return UnitWord::Unknown,
    })
}

/// The one letter for a unit, and a blank for none.
pub(super) const fn letter_for_unit(unit: ReadUnit) -> Result<u8, Unsayable> {
    match unit {
        ReadUnit::Stated(Unit::Pound) => Ok(b'L'),
        ReadUnit::Stated(Unit::Kilogram) => Ok(b'K'),
        ReadUnit::Stated(Unit::Gram) => Ok(b'G'),
        ReadUnit::Stated(Unit::Ounce) => Ok(b'O'),
        ReadUnit::Unstated | ReadUnit::Absent => Ok(b' '),
        _ => Err(Unsayable::Unit),
    }
}

/// The one letter that says what the weight is of, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Letter {
    Of(Kind),
    Moving,
    None(Flags),
}

/// `G` gross, `N` net, `M` moving, `O` over, `U` under, `E` error, in either case.
pub(super) const STATUS: Place = any_of(b"GNMOUE");

pub(super) const fn letter(byte: u8) -> Option<Letter> {
    Some(match byte.to_ascii_uppercase() {
        b'G' => Letter::Of(Kind::Gross),
        b'N' => Letter::Of(Kind::Net),
        b'M' => Letter::Moving,
        b'O' => Letter::None(OVER),
        b'U' => Letter::None(UNDER),
        b'E' => Letter::None(ERROR),
        _ => return None,
    })
}

/// The letter for a reading that [`super::asked::sayable`] has let pass.
pub(super) const fn letter_for(reading: &Reading) -> Result<u8, Unsayable> {
    match (reading.flags, reading.kind) {
        (Flags { overload: true, .. }, _) => Ok(b'O'),
        (Flags { underload: true, .. }, _) => Ok(b'U'),
        (Flags { error: true, .. }, _) => Ok(b'E'),
        (_, kind) => live_letter(kind),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ton_of_one_letter_must_be_told() {
        let [nothing, tonne, kilogram] =
            [None, Some(Unit::Tonne), Some(Unit::Kilogram)].map(|unit| Options { unit, ..Options::default() });
        assert_eq!(unit_letter(b'T', &nothing), UnitWord::Mass(ReadUnit::Ambiguous));
        assert_eq!(unit_letter(b'T', &tonne), UnitWord::Mass(ReadUnit::Ambiguous));
        assert_eq!(unit_letter(b'T', &kilogram), UnitWord::Unknown);
        assert_eq!(unit_letter(b'k', &nothing), UnitWord::Mass(ReadUnit::Stated(Unit::Kilogram)));
        assert_eq!(unit_letter(b'0', &nothing), UnitWord::Unknown);
    }
}

//! The words that scales send for units.

use super::{Options, ReadUnit};
use crate::measure::Unit;

/// What a word in the unit column means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum UnitWord {
    Mass(ReadUnit),
    /// Pieces, per cent, newton: the number is no mass.
    NotMass,
    Unknown,
}

/// Reads a unit in any case, singular or plural.
///
/// A single `T` is the tonne with one maker and the short ton with another: see [`ton`]. `gr` may be grain or gram and is
/// refused.
pub(super) fn unit_word(word: &[u8], options: &Options) -> UnitWord {
    match word {
        b"" => return UnitWord::Mass(ReadUnit::Unstated),
        b"t" => return UnitWord::Mass(ReadUnit::Stated(Unit::Tonne)),
        b"T" => return ton(options),
        _ => {}
    }
    let mut small = [0; "kilograms".len()];
    let Some(small) = small.get_mut(..word.len()) else { return UnitWord::Unknown };
    small.copy_from_slice(word);
    small.make_ascii_lowercase();
    UnitWord::Mass(ReadUnit::Stated(match &*small {
        b"kg" | b"kgs" | b"kilogram" | b"kilograms" => Unit::Kilogram,
        b"g" | b"gm" | b"gms" | b"gram" | b"grams" => Unit::Gram,
        b"lb" | b"lbs" | b"pound" | b"pounds" => Unit::Pound,
        b"oz" | b"ozs" | b"ounce" | b"ounces" => Unit::Ounce,
        b"ozt" => Unit::TroyOunce,
        b"gn" | b"grain" | b"grains" => Unit::Grain,
        b"tonne" => Unit::Tonne,
        b"pc" | b"pcs" | b"pce" | b"%" | b"n" | b"ds" => return UnitWord::NotMass,
        _ => return UnitWord::Unknown,
    }))
}

/// A letter that is the tonne with one maker and something else with another. Where another unit is configured than the
/// tonne, the scale shows what the person did not mean, and it is no unit at all.
pub(super) const fn ton(options: &Options) -> UnitWord {
    match options.unit {
        None | Some(Unit::Tonne) => UnitWord::Mass(ReadUnit::Ambiguous),
        Some(_) => UnitWord::Unknown,
    }
}

/// The word that scales commonly send for a unit.
pub(super) const fn word_for(unit: Unit) -> &'static str {
    match unit {
        Unit::Grain => "GN",
        unit => unit.symbol(),
    }
}

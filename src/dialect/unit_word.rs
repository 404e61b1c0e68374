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
/// A single `T` is the tonne with one maker and the short ton with another: it is known only where the person
/// has said what it is. `gr` may be grain or gram and is refused.
pub(super) fn unit_word(word: &[u8], options: &Options) -> UnitWord {
    const WORDS: [(&str, Unit); 22] = [
        ("kg", Unit::Kilogram),
        ("kgs", Unit::Kilogram),
        ("kilogram", Unit::Kilogram),
        ("kilograms", Unit::Kilogram),
        ("g", Unit::Gram),
        ("gm", Unit::Gram),
        ("gms", Unit::Gram),
        ("gram", Unit::Gram),
        ("grams", Unit::Gram),
        ("lb", Unit::Pound),
        ("lbs", Unit::Pound),
        ("pound", Unit::Pound),
        ("pounds", Unit::Pound),
        ("oz", Unit::Ounce),
        ("ozs", Unit::Ounce),
        ("ounce", Unit::Ounce),
        ("ounces", Unit::Ounce),
        ("ozt", Unit::TroyOunce),
        ("gn", Unit::Grain),
        ("grain", Unit::Grain),
        ("grains", Unit::Grain),
        ("tonne", Unit::Tonne),
    ];
    const NO_MASS: [&str; 6] = ["pc", "pcs", "pce", "%", "n", "ds"];
    match word {
        b"" => return UnitWord::Mass(ReadUnit::Unstated),
        b"t" => return UnitWord::Mass(ReadUnit::Stated(Unit::Tonne)),
        b"T" if options.unit.is_some() => return UnitWord::Mass(ReadUnit::Unstated),
        _ => {}
    }
    if let Some((_, unit)) = WORDS.iter().find(|(name, _)| word.eq_ignore_ascii_case(name.as_bytes())) {
        return UnitWord::Mass(ReadUnit::Stated(*unit));
    }
    if NO_MASS.iter().any(|name| word.eq_ignore_ascii_case(name.as_bytes())) {
        return UnitWord::NotMass;
    }
    UnitWord::Unknown
}

/// The word that scales commonly send for a unit.
pub(super) const fn word_for(unit: Unit) -> &'static str {
    match unit {
        Unit::Grain => "GN",
        unit => unit.symbol(),
    }
}

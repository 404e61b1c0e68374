//! From what a frame shows to what it tells.

use super::column::{Field, field};
use super::unit_word::{UnitWord, unit_word};
use super::verdict::Verdict;
use super::{Flags, Kind, Options, Reading, Stability};
use crate::measure::Displayed;

/// What a frame says beside its number.
pub(super) const fn beside(kind: Kind, stability: Stability) -> Reading {
    Reading { kind, stability, ..Reading::without_weight(Flags { overload: false, underload: false, zero: false, error: false }) }
}

/// Why there is no weight. Nothing is displayed then that could stand still.
pub(super) const fn nothing(kind: Kind, flags: Flags) -> Verdict {
    Verdict::Reading(Reading { kind, ..Reading::without_weight(flags) })
}

/// The weight and the words beside it, or why there is none.
pub(super) fn tell(shown: Option<Field>, unit: UnitWord, kind: Kind, stability: Stability) -> Verdict {
    let beside = beside(kind, stability);
    match (shown, unit) {
        (None | Some(Field::Blank), _) | (_, UnitWord::Unknown) => Verdict::Refused,
        (Some(Field::Filled(flags)), _) => nothing(kind, flags),
        (Some(Field::Weight(_)), UnitWord::NotMass) => Verdict::Reading(beside),
        (Some(Field::Weight(value)), UnitWord::Mass(unit)) => Verdict::Reading(Reading { value: Some(value), unit, ..beside }),
    }
}

/// A weight with the word of its unit; pieces and per cent are none.
pub(super) fn weight(value: Displayed, word: &[u8], beside: Reading, options: &Options) -> Verdict {
    match unit_word(word, options) {
        UnitWord::Mass(unit) => Verdict::Reading(Reading { value: Some(value), unit, ..beside }),
        UnitWord::NotMass => Verdict::Reading(beside),
        UnitWord::Unknown => Verdict::Refused,
    }
}

/// The weight in `column` in the unit that `unit` names, with what the letters say in `beside`.
pub(super) fn weigh_column(column: &[u8], unit: &[u8], beside: Reading, options: &Options) -> Verdict {
    let marks = beside.flags;
    if marks.overload || marks.underload || marks.error {
        return Verdict::Reading(beside);
    }
    let unit = match unit_word(unit.trim_ascii(), options) {
        UnitWord::Mass(unit) => unit,
        UnitWord::NotMass => return Verdict::Reading(beside),
        UnitWord::Unknown => return Verdict::Refused,
    };
    match field(column, options) {
        Some(Field::Weight(value)) => Verdict::Reading(Reading { value: Some(value), unit, ..beside }),
        Some(Field::Filled(flags)) => Verdict::Reading(Reading { flags: Flags { zero: marks.zero, ..flags }, ..beside }),
        Some(Field::Blank) | None => Verdict::Refused,
    }
}

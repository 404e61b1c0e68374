//! What a column for a weight holds.

use super::facts::{OVER, UNDER};
use super::number::{filler, number};
use super::{Flags, Options};
use crate::measure::Displayed;

/// What a column for a weight holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Weight(Displayed),
    /// A run of one sign or a word that says why there is no weight.
    Filled(Flags),
    Blank,
}

/// Reads a whole column, its sign in any place; a nought before blanks stands for plus. `None`: damaged.
pub(super) fn field(column: &[u8], options: &Options) -> Option<Field> {
    if !column.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return None;
    }
    let whole = |text| number(text, options).filter(|(_, rest)| rest.iter().all(|&byte| byte == b' '));
    if let Some((value, _)) = whole(column) {
        return Some(Field::Weight(value));
    }
    if let [b'0', rest @ ..] = column
        && rest.first() == Some(&b' ')
        && let Some((value, _)) = whole(rest)
    {
        return Some(Field::Weight(value));
    }
    if column.iter().all(|&byte| byte == b' ') {
        return Some(Field::Blank);
    }
    filler(column).map(Field::Filled)
}

/// A field that is a number and nothing else, right-aligned.
pub(super) fn number_field(field: &[u8], options: &Options) -> Option<Displayed> {
    number(field, options).filter(|(_, rest)| rest.is_empty()).map(|(value, _)| value)
}

/// What a field that holds no number says, with or without a unit behind it.
pub(super) fn filled(text: &[u8]) -> Option<Flags> {
    let text = text.trim_ascii_end();
    let end = text.iter().rposition(|byte| !byte.is_ascii_alphabetic()).map_or(0, |last| last + 1);
    filler(text).or_else(|| filler(&text[..end]))
}

/// Which way a weight is out of range, where one mark serves both: the sign tells.
pub(super) fn beyond(field: &[u8]) -> Flags {
    match field.trim_ascii_start() {
        [b'-', b'-', ..] => OVER,
        [b'-', ..] => UNDER,
        _ => OVER,
    }
}

/// Five or more digits, all of them nines: a display that has run over.
pub(super) const fn is_run_over(value: Displayed) -> bool {
    matches!(value.count.unsigned_abs(), 99_999 | 999_999 | 9_999_999 | 99_999_999 | 999_999_999 | 9_999_999_999)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_read_whole_or_not_at_all() {
        let read = |text: &str| field(text.as_bytes(), &Options::default());
        let hundred = |count| Some(Field::Weight(Displayed { count, exponent: -2 }));
        for text in ["   1.25 ", "+0001.25", "0   1.25", "00001.25"] {
            assert_eq!(read(text), hundred(125), "{text}");
        }
        for text in ["-   1.25", "   -1.25", "   1.25-"] {
            assert_eq!(read(text), hundred(-125), "{text}");
        }
        assert_eq!(read("        "), Some(Field::Blank));
        assert_eq!(read("  ^^^^^^"), Some(Field::Filled(Flags { overload: true, ..Flags::default() })));
        for text in ["1 2.25", "1.25kg", "-1.25-", "0 ", "1.2.5"] {
            assert_ne!(read(text), hundred(125), "{text}");
        }
        assert_eq!(read("1 2.25"), None);
    }

    #[test]
    fn one_mark_for_both_directions_goes_by_the_sign() {
        assert_eq!(beyond(b"  999.99"), OVER);
        assert_eq!(beyond(b" -999.99"), UNDER);
        assert_eq!(beyond(b"--------"), OVER);
    }
}

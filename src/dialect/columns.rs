//! What families of fixed columns share: blocks between two marks, words of one letter, padded numbers.

use super::block_framer::Fit;
use super::facts::{OVER, UNDER};
use super::number::{filler, number, write_digits};
use super::unit_word::{UnitWord, word_for};
use super::verdict::Verdict;
use super::{Flags, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};
use std::ops::RangeInclusive;

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

/// A frame that begins with `start`, which stands nowhere else in it, and has its only `end` at one of these lengths.
///
/// It looks at the first and the last byte alone: the framer asks at every byte, and the decoder checks what lies between.
pub(super) fn marked(seen: &[u8], start: u8, lengths: RangeInclusive<usize>, end: impl Fn(u8) -> bool) -> Fit {
    let (Some(&first), Some(&last)) = (seen.first(), seen.last()) else { return Fit::Open };
    if first != start {
        return Fit::Never;
    }
    match seen.len() {
        1 => Fit::Open,
        length if end(last) => {
            if lengths.contains(&length) {
                Fit::Whole(length)
            } else {
                Fit::Never
            }
        }
        length if last == start || length >= *lengths.end() => Fit::Never,
        _ => Fit::Open,
    }
}

pub(super) const fn ends_line(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

/// What a weight column shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shown {
    Number(Displayed),
    /// A filler or a word, and what it says.
    Nothing(Flags),
}

/// A number with blanks around it, or what stands in its place. `None`: neither.
pub(super) fn shown(field: &[u8], options: &Options) -> Option<Shown> {
    if !field.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return None;
    }
    match number(field, options) {
        Some((value, rest)) => rest.trim_ascii().is_empty().then_some(Shown::Number(value)),
        None => filler(field).map(Shown::Nothing),
    }
}

/// Which way a weight is out of range, where one mark serves both: the sign tells.
pub(super) fn beyond(field: &[u8]) -> Flags {
    match field.trim_ascii_start() {
        [b'-', b'-', ..] => OVER,
        [b'-', ..] => UNDER,
        _ => OVER,
    }
}

/// A frame without a weight.
pub(super) fn nothing(flags: Flags, kind: Kind, stability: Stability) -> Verdict {
    Verdict::Reading(Reading { kind, stability, ..Reading::without_weight(flags) })
}

/// The weight and the words beside it, or why there is none.
pub(super) fn tell(shown: Option<Shown>, unit: UnitWord, kind: Kind, stability: Stability) -> Verdict {
    match (shown, unit) {
        (None, _) | (_, UnitWord::Unknown) => Verdict::Refused,
        // Nothing is displayed, so nothing displayed stands still.
        (Some(Shown::Nothing(flags)), _) => nothing(flags, kind, Stability::Unknown),
        (Some(Shown::Number(_)), UnitWord::NotMass) => nothing(Flags::default(), kind, stability),
        (Some(Shown::Number(value)), UnitWord::Mass(unit)) => {
            Verdict::Reading(Reading { value: Some(value), unit, kind, stability, ..Reading::without_weight(Flags::default()) })
        }
    }
}

/// A unit of one letter. `T` is the tonne with one maker and the short ton with another, so it states nothing.
pub(super) const fn unit_letter(letter: u8) -> UnitWord {
    UnitWord::Mass(match letter.to_ascii_uppercase() {
        b'L' => ReadUnit::Stated(Unit::Pound),
        b'K' => ReadUnit::Stated(Unit::Kilogram),
        b'G' => ReadUnit::Stated(Unit::Gram),
        b'O' => ReadUnit::Stated(Unit::Ounce),
        b'T' | b' ' => ReadUnit::Unstated,
        _ => return UnitWord::Unknown,
    })
}

pub(super) const fn kind_letter(letter: u8) -> Option<Kind> {
    match letter.to_ascii_uppercase() {
        b'G' => Some(Kind::Gross),
        b'N' => Some(Kind::Net),
        _ => None,
    }
}

/// Exclusive or of all bytes.
pub(super) fn xor(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum ^ byte)
}

pub(super) fn hex_digit(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).and_then(|digit| u8::try_from(digit).ok())
}

/// Two hexadecimal digits in either case.
pub(super) fn hex_pair(high: u8, low: u8) -> Option<u8> {
    Some(hex_digit(high)? << 4 | hex_digit(low)?)
}

/// What a frame is asked to say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    Weight(Displayed),
    Mark(Flags),
}

/// Takes apart what a frame is asked to say, by a family whose frames have these `marks` and tell no events.
pub(super) fn said(reading: &Reading, marks: &[Flags]) -> Result<Said, Unsayable> {
    let flags = Flags { zero: false, ..reading.flags };
    match reading.value {
        _ if reading.news.is_some() => Err(Unsayable::News),
        Some(value) if flags == Flags::default() => Ok(Said::Weight(value)),
        None if flags == Flags::default() => Err(Unsayable::Nothing),
        None if marks.contains(&flags) => Ok(Said::Mark(flags)),
        _ => Err(Unsayable::Mark),
    }
}

/// Whether the frame is to say moving; it must say one or the other.
pub(super) const fn moving(reading: &Reading) -> Result<bool, Unsayable> {
    match reading.stability {
        Stability::Stable => Ok(false),
        Stability::Motion => Ok(true),
        Stability::Unknown => Err(Unsayable::Stability),
    }
}

/// The letter for gross or net; there is none for anything else.
pub(super) const fn letter_for(kind: Kind) -> Result<u8, Unsayable> {
    match kind {
        Kind::Gross => Ok(b'G'),
        Kind::Net => Ok(b'N'),
        Kind::Tare | Kind::Unknown => Err(Unsayable::Kind),
    }
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

/// The word for a unit, at most so many letters long; none for no unit.
pub(super) fn word_of(unit: ReadUnit, width: usize) -> Result<&'static str, Unsayable> {
    let word = match unit {
        ReadUnit::Stated(unit) => word_for(unit),
        ReadUnit::Unstated | ReadUnit::Absent => "",
        ReadUnit::PoundOunce => return Err(Unsayable::Unit),
    };
    if word.len() > width { Err(Unsayable::Unit) } else { Ok(word) }
}

/// Digits in exactly `width` columns.
fn write_column(value: Displayed, width: usize, padding: u8, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let start = out.len();
    write_digits(value, width, padding, options, out)?;
    if out.len() - start > width { Err(Unsayable::TooWide) } else { Ok(()) }
}

/// A column for the sign, blank or `-`, and `width` columns of digits with leading blanks.
pub(super) fn write_signed(value: Displayed, width: usize, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.push(if value.count < 0 { b'-' } else { b' ' });
    write_column(value, width, b' ', options, out)
}

/// `width` columns of digits with leading zeros; a minus takes the first of them.
pub(super) fn write_zero_padded(value: Displayed, width: usize, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let minus = value.count < 0;
    out.extend(minus.then_some(b'-'));
    write_column(value, width - usize::from(minus), b'0', options, out)
}

/// `width` columns, blanks first, a minus straight before the digits.
pub(super) fn write_floating(value: Displayed, width: usize, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let mut text = Vec::with_capacity(width);
    text.extend((value.count < 0).then_some(b'-'));
    write_digits(value, 0, b' ', options, &mut text)?;
    if text.len() > width {
        return Err(Unsayable::TooWide);
    }
    out.resize(out.len() + width - text.len(), b' ');
    out.extend_from_slice(&text);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_is_found_by_its_marks_and_its_length() {
        let fit = |seen: &[u8]| marked(seen, b'$', 4..=5, ends_line);
        assert_eq!(fit(b"$"), Fit::Open);
        assert_eq!(fit(b"$12"), Fit::Open);
        assert_eq!(fit(b"$12\r"), Fit::Whole(4));
        assert_eq!(fit(b"$123\n"), Fit::Whole(5));
        for never in [&b"1"[..], b"$1\r", b"$1$", b"$1234", b"\r"] {
            assert_eq!(fit(never), Fit::Never, "{never:?}");
        }
    }

    #[test]
    fn one_mark_for_both_directions_goes_by_the_sign() {
        assert_eq!(beyond(b"  999.99"), OVER);
        assert_eq!(beyond(b" -999.99"), UNDER);
        assert_eq!(beyond(b"--------"), OVER);
    }

    #[test]
    fn a_ton_of_one_letter_states_nothing() {
        assert_eq!(unit_letter(b'T'), UnitWord::Mass(ReadUnit::Unstated));
        assert_eq!(unit_letter(b'k'), UnitWord::Mass(ReadUnit::Stated(Unit::Kilogram)));
        assert_eq!(unit_letter(b'0'), UnitWord::Unknown);
    }
}

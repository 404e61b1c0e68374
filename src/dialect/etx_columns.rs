//! What frames of fixed columns between STX and ETX have in common.
//!
//! They differ in the places of a few letters. A frame is known by its exact length and by the letters in their places;
//! within the weight column anything readable may stand, and the decoder judges it.

use super::block_framer::Fit;
use super::facts::{EIGHT_NONE, Says};
use super::number::{filler, number, write_digits};
use super::unit_word::{UnitWord, unit_word, word_for};
use super::verdict::Verdict;
use super::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};
use crate::measure::Displayed;

pub(super) const STX: u8 = 0x02;
pub(super) const ETX: u8 = 0x03;

/// The bytes that may stand in one place, a bit for each.
pub(super) type Place = u128;

/// Everything that can be read, blanks too.
pub(super) const TEXT: Place = ((1 << 0x7f) - 1) & !((1 << 0x20) - 1);

/// Facts that most of these families share: no unit, gross and net, nothing about rest.
pub(super) const PLAIN: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 20),
    poll: None,
    says: Says {
        units: &[],
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: &[super::Stability::Unknown],
        marks: &[],
        zero: false,
        news: &[],
        division: false,
        most: 999_999,
        decimals: (0, 5),
    },
    start_mark: true,
    lock_after: Some(5),
};

pub(super) const fn any_of(bytes: &[u8]) -> Place {
    let (mut place, mut index) = (0, 0);
    while index < bytes.len() {
        place |= 1 << bytes[index].to_ascii_uppercase() | 1 << bytes[index].to_ascii_lowercase();
        index += 1;
    }
    place
}

/// STX, readable text with `special` places in it, ETX.
pub(super) const fn framed<const N: usize>(special: &[(usize, Place)]) -> [Place; N] {
    let mut places = [TEXT; N];
    (places[0], places[N - 1]) = (1 << STX, 1 << ETX);
    let mut index = 0;
    while index < special.len() {
        places[special[index].0] = special[index].1;
        index += 1;
    }
    places
}

/// What the bytes since a possible start are.
///
/// It looks at the first and the last byte alone: the framer asks at every byte, and STX stands nowhere else in a frame.
pub(super) fn fit(bytes: &[u8], places: &[Place]) -> Fit {
    let stands = |index: usize| {
        let (Some(&byte), Some(place)) = (bytes.get(index), places.get(index)) else { return false };
        byte < 0x80 && place >> byte & 1 == 1
    };
    if !stands(0) || !stands(bytes.len() - 1) {
        return Fit::Never;
    }
    if bytes.len() < places.len() { Fit::Open } else { Fit::Whole(places.len()) }
}

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

/// The weight in `column` in the unit that `unit` names, with what the letters say in `beside`.
pub(super) fn weight(column: &[u8], unit: &[u8], beside: Reading, options: &Options) -> Verdict {
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

/// The one letter that says what the weight is of, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Letter {
    Of(Kind),
    Moving,
    None(Flags),
}

/// `G` gross, `N` net, `M` moving, `O` over, `U` under, `E` error, in either case.
pub(super) const STATUS: Place = any_of(b"GNMOUE");

pub(super) fn letter(byte: u8) -> Option<Letter> {
    let none = Flags::default();
    Some(match byte.to_ascii_uppercase() {
        b'G' => Letter::Of(Kind::Gross),
        b'N' => Letter::Of(Kind::Net),
        b'M' => Letter::Moving,
        b'O' => Letter::None(Flags { overload: true, ..none }),
        b'U' => Letter::None(Flags { underload: true, ..none }),
        b'E' => Letter::None(Flags { error: true, ..none }),
        _ => return None,
    })
}

/// The letter for a reading that [`sayable`] has let pass.
pub(super) fn letter_for(reading: &Reading) -> Result<u8, Unsayable> {
    match (reading.flags, reading.kind) {
        (Flags { overload: true, .. }, _) => Ok(b'O'),
        (Flags { underload: true, .. }, _) => Ok(b'U'),
        (Flags { error: true, .. }, _) => Ok(b'E'),
        (_, kind) => kind_letter(kind),
    }
}

pub(super) fn kind_letter(kind: Kind) -> Result<u8, Unsayable> {
    match kind {
        Kind::Gross => Ok(b'G'),
        Kind::Net => Ok(b'N'),
        Kind::Tare | Kind::Unknown => Err(Unsayable::Kind),
    }
}

/// A weight without a mark against it, or one of the `marks` that the family has, without a weight.
pub(super) fn sayable(reading: &Reading, marks: &[Flags]) -> Result<(), Unsayable> {
    let plain = Flags { zero: false, ..reading.flags };
    let marked = plain != Flags::default();
    match reading.value {
        _ if reading.news.is_some() => Err(Unsayable::News),
        Some(_) if marked => Err(Unsayable::Mark),
        None if !marked => Err(Unsayable::Nothing),
        None if !marks.contains(&plain) => Err(Unsayable::Mark),
        _ => Ok(()),
    }
}

/// Appends a sign and `columns` of digits, all blank without a value.
pub(super) fn write_weight(
    value: Option<Displayed>,
    columns: usize,
    padding: u8,
    options: &Options,
    out: &mut Vec<u8>,
) -> Result<(), Unsayable> {
    let end = out.len() + 1 + columns;
    if let Some(value) = value {
        out.push(if value.count < 0 { b'-' } else { b' ' });
        write_digits(value, columns, padding, options, out)?;
    }
    if out.len() > end {
        return Err(Unsayable::TooWide);
    }
    out.resize(end, b' ');
    Ok(())
}

/// Appends the word for `unit` at the right of `columns`, all blank without one.
pub(super) fn write_unit(unit: ReadUnit, columns: usize, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let word = match unit {
        ReadUnit::Stated(unit) => word_for(unit),
        ReadUnit::Unstated | ReadUnit::Absent => "",
        ReadUnit::PoundOunce => return Err(Unsayable::Unit),
    };
    let blanks = columns.checked_sub(word.len()).ok_or(Unsayable::Unit)?;
    out.resize(out.len() + blanks, b' ');
    out.extend_from_slice(word.as_bytes());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frame_is_known_by_its_places() {
        const PLACES: [Place; 5] = framed(&[(3, STATUS)]);
        assert_eq!(fit(b"\x02 1", &PLACES), Fit::Open);
        assert_eq!(fit(b"\x02 1g\x03", &PLACES), Fit::Whole(5));
        for wrong in [&b"\x02 1X"[..], b"\x03", b"\x02\x7f", b"\x02 \xb1", b"\x02 1G "] {
            assert_eq!(fit(wrong, &PLACES), Fit::Never, "{wrong:?}");
        }
    }

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
}

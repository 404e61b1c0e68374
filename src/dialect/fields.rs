//! What families of lines with fixed places share: finding the fields in a line, reading one, writing one.

use super::number::{filler, number, write_digits};
use super::unit_word::{UnitWord, unit_word, word_for};
use super::verdict::Verdict;
use super::{Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};
use std::ops::RangeInclusive;

/// What follows the last byte that no text has. Only for lines whose columns are counted: elsewhere the damaged
/// byte may have been a sign.
pub(super) fn after_noise(line: &[u8]) -> &[u8] {
    let start = line.iter().rposition(|byte| !matches!(byte, 0x20..=0x7e)).map_or(0, |last| last + 1);
    &line[start..]
}

/// What follows the echo of a request made of control characters, if the rest is text. A sign that lost one bit
/// never looks like one of them.
pub(super) fn after_echo(line: &[u8]) -> Option<&[u8]> {
    let start = line.iter().position(|byte| !matches!(byte, 0x05 | 0x06 | 0x11 | 0x13 | 0x1b)).unwrap_or(line.len());
    let text = &line[start..];
    text.iter().all(|byte| matches!(byte, 0x20..=0x7e)).then_some(text)
}

/// The frame in a line: all of it where its width is one of those met, else the last `usual` columns, behind a cut
/// frame or noise. Nothing is taken from a line that is longer by little: a byte of the frame itself was doubled.
pub(super) fn counted(line: &[u8], met: RangeInclusive<usize>, usual: usize) -> Option<&[u8]> {
    let text = after_noise(line);
    if met.contains(&text.len()) {
        return Some(text);
    }
    let before = text.len().checked_sub(usual).filter(|_| text.len() > met.end() + 1)?;
    text[..before].iter().any(|byte| *byte != b' ').then_some(&text[before..])
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

/// Five or more digits, all of them nines: a display that has run over.
pub(super) const fn is_run_over(value: Displayed) -> bool {
    matches!(value.count.unsigned_abs(), 99_999 | 999_999 | 9_999_999 | 99_999_999 | 999_999_999 | 9_999_999_999)
}

/// What a frame says beside its number.
pub(super) const fn beside(kind: Kind, stability: Stability) -> Reading {
    Reading { kind, stability, ..Reading::without_weight(Flags { overload: false, underload: false, zero: false, error: false }) }
}

/// Why there is no weight. Nothing is displayed then that could stand still.
pub(super) const fn nothing(kind: Kind, flags: Flags) -> Verdict {
    Verdict::Reading(Reading { kind, ..Reading::without_weight(flags) })
}

/// A weight with the word of its unit; pieces and per cent are none.
pub(super) fn weight(value: Displayed, word: &[u8], beside: Reading, options: &Options) -> Verdict {
    match unit_word(word, options) {
        UnitWord::Mass(unit) => Verdict::Reading(Reading { value: Some(value), unit, ..beside }),
        UnitWord::NotMass => Verdict::Reading(beside),
        UnitWord::Unknown => Verdict::Refused,
    }
}

/// The kind behind a letter `G`, `N` or `T`.
pub(super) const fn kind_of(letter: u8) -> Option<Kind> {
    match letter {
        b'G' => Some(Kind::Gross),
        b'N' => Some(Kind::Net),
        b'T' => Some(Kind::Tare),
        _ => None,
    }
}

pub(super) const fn kind_letter(kind: Kind) -> Result<u8, Unsayable> {
    match kind {
        Kind::Gross => Ok(b'G'),
        Kind::Net => Ok(b'N'),
        Kind::Tare => Ok(b'T'),
        Kind::Unknown => Err(Unsayable::Kind),
    }
}

/// The weight to send, or none where the marks of the reading say why.
pub(super) const fn to_send(reading: &Reading) -> Result<Option<Displayed>, Unsayable> {
    let Flags { overload, underload, error, .. } = reading.flags;
    match (reading.value, overload || underload || error) {
        _ if reading.news.is_some() => Err(Unsayable::News),
        (None, false) => Err(Unsayable::Nothing),
        (Some(_), true) => Err(Unsayable::Mark),
        (value, _) => Ok(value),
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

pub(super) const fn stated(reading: &Reading) -> Result<Unit, Unsayable> {
    match reading.unit {
        ReadUnit::Stated(unit) => Ok(unit),
        _ => Err(Unsayable::Unit),
    }
}

/// Appends the digits in `width` columns, or fails where they need more.
pub(super) fn put_digits(
    value: Displayed,
    width: usize,
    padding: u8,
    options: &Options,
    out: &mut Vec<u8>,
) -> Result<(), Unsayable> {
    let start = out.len();
    write_digits(value, width, padding, options, out)?;
    if out.len() - start > width { Err(Unsayable::TooWide) } else { Ok(()) }
}

/// Appends the number in `width` columns, a minus straight before its digits.
pub(super) fn put_number(value: Displayed, width: usize, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let start = out.len();
    if value.count < 0 {
        out.push(b'-');
    }
    write_digits(value, 0, b' ', options, out)?;
    let room = width.checked_sub(out.len() - start).ok_or(Unsayable::TooWide)?;
    out.splice(start..start, std::iter::repeat_n(b' ', room));
    Ok(())
}

/// Appends the word for a unit, left-aligned in `width` columns.
pub(super) fn put_unit(unit: Unit, width: usize, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let word = word_for(unit).as_bytes();
    let room = width.checked_sub(word.len()).ok_or(Unsayable::Unit)?;
    out.extend_from_slice(word);
    out.resize(out.len() + room, b' ');
    Ok(())
}

//! Writing numbers and units into columns.

use super::number::write_digits;
use super::unit_word::word_for;
use super::{Options, ReadUnit, Unsayable};
use crate::measure::{Displayed, Unit};

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

/// `width` columns of digits with leading zeros; a minus takes the first of them.
pub(super) fn write_zero_padded(value: Displayed, width: usize, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let minus = value.count < 0;
    out.extend(minus.then_some(b'-'));
    put_digits(value, width - usize::from(minus), b'0', options, out)
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

/// The word for a unit, at most so many letters long; none for no unit.
pub(super) fn word_of(unit: ReadUnit, width: usize) -> Result<&'static str, Unsayable> {
    let word = match unit {
        ReadUnit::Stated(unit) => word_for(unit),
        ReadUnit::Unstated | ReadUnit::Absent => "",
        ReadUnit::PoundOunce | ReadUnit::Ambiguous => return Err(Unsayable::Unit),
    };
    if word.len() > width { Err(Unsayable::Unit) } else { Ok(word) }
}

/// Appends the word for a unit, left-aligned in `width` columns.
pub(super) fn put_unit(unit: Unit, width: usize, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let word = word_for(unit).as_bytes();
    let room = width.checked_sub(word.len()).ok_or(Unsayable::Unit)?;
    out.extend_from_slice(word);
    out.resize(out.len() + room, b' ');
    Ok(())
}

/// Appends the word for `unit` at the right of `columns`, all blank without one.
pub(super) fn write_unit(unit: ReadUnit, columns: usize, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let word = word_of(unit, columns)?;
    out.resize(out.len() + columns - word.len(), b' ');
    out.extend_from_slice(word.as_bytes());
    Ok(())
}

//! `stx-unit-motion`: a weight, a unit and a mark of motion between STX and a line end.
//!
//! ```text
//! STX polarity weight SP unit M|SP CR LF
//! STX polarity weight SP unit SP MOT. CR LF
//! STX polarity pounds SP LB SP ounces SP OZ M|SP CR LF
//! ```
//!
//! The polarity is `-` or blank, and blanks may follow it. Before LB and OZ the blank may be missing. The mark stands straight behind a unit of two columns. A second
//! line in brackets repeats the weight in another unit: it has no STX and is passed over. Nothing tells gross from net.
//!
//! Layout: <http://www.manualshelf.com/manual/holtgreven/doran-ds-100/manual-english/page-8.html>; the places of the
//! blanks in the form with two numbers are put together from it.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::{ends_line, marked};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::Field;
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, STILL_OR_NOT};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number, pounds_and_ounces};
use crate::dialect::put::{put_number, word_of, write_weight};
use crate::dialect::tell::tell;
use crate::dialect::unit_word::{UnitWord, unit_word};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "stx-unit-motion", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram, Unit::Gram, Unit::Ounce],
        pound_ounce: true,
        stability: STILL_OR_NOT,
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
const LENGTHS: std::ops::RangeInclusive<usize> = 8..=40;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTHS, ends_line)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref text @ .., _] = frame else { return Verdict::Refused };
    if !matches!(text, [b' ' | b'-' | b'+', ..]) || !text.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let Some((first, rest)) = number(text, options) else {
        let text = text.trim_ascii_end();
        let end = text.iter().rposition(|byte| !byte.is_ascii_alphabetic()).map_or(0, |last| last + 1);
        let flags = filler(text).or_else(|| filler(&text[..end]));
        return tell(flags.map(Field::Filled), unit_word(b"", options), Kind::Unknown, Stability::Unknown);
    };
    let Some((word, tail)) = split_unit(rest) else { return Verdict::Refused };
    let (value, unit, stability) = match number(tail, options) {
        // Letters straight behind the only number are those of another family.
        None if !rest.starts_with(b" ") => return Verdict::Refused,
        None => match unit_and_motion(word, tail) {
            Some((word, stability)) => (Some(first), unit_word(word, options), stability),
            None => return Verdict::Refused,
        },
        Some((ounces, rest)) => {
            let second = split_unit(rest).and_then(|(word, tail)| unit_and_motion(word, tail));
            let Some((second, stability)) = second else { return Verdict::Refused };
            let both = word.eq_ignore_ascii_case(b"lb") && second.eq_ignore_ascii_case(b"oz");
            let negative = text.trim_ascii_start().starts_with(b"-");
            let total = pounds_and_ounces(first, ounces, negative).filter(|_| both);
            (total, UnitWord::Mass(ReadUnit::PoundOunce), stability)
        }
    };
    tell(value.map(Field::Weight), unit, Kind::Unknown, stability)
}

/// The letters behind a number, and what follows them.
fn split_unit(rest: &[u8]) -> Option<(&[u8], &[u8])> {
    let word = rest.trim_ascii_start();
    let letters = word.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    (letters > 0).then(|| word.split_at(letters))
}

/// The unit without a mark of motion that is glued to it, and what the mark says.
fn unit_and_motion<'a>(word: &'a [u8], tail: &[u8]) -> Option<(&'a [u8], Stability)> {
    let is = |mark: &str| tail.trim_ascii().eq_ignore_ascii_case(mark.as_bytes());
    match word {
        // With a blank in the column of the mark, the letter would be part of the unit.
        [unit @ .., b'M' | b'm'] if tail.is_empty() && !unit.is_empty() => Some((unit, Stability::Motion)),
        _ if is("") => Some((word, Stability::Stable)),
        _ if is("M") || is("MOT.") || is("MOT") => Some((word, Stability::Motion)),
        _ => None,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    let mark = if moving(reading)? { 'M' } else { ' ' };
    out.push(STX);
    if reading.unit == ReadUnit::PoundOunce {
        let places = u32::try_from(-i32::from(value.exponent)).map_err(|_| Unsayable::Point)?;
        let pound = 10_i64.checked_pow(places).and_then(|one| one.checked_mul(16)).ok_or(Unsayable::Point)?;
        let size = value.count.checked_abs().ok_or(Unsayable::TooWide)?;
        out.push(if value.count < 0 { b'-' } else { b' ' });
        put_number(Displayed { count: size / pound, exponent: 0 }, 6, options, out)?;
        out.extend_from_slice(b" LB ");
        put_number(Displayed { count: size % pound, exponent: value.exponent }, 8, options, out)?;
        out.extend_from_slice(format!(" OZ{mark}\r\n").as_bytes());
        return Ok(());
    }
    let word = word_of(reading.unit, 2)?.to_ascii_uppercase();
    if word.is_empty() {
        return Err(Unsayable::Unit);
    }
    write_weight(Some(value), 7, b' ', options, out)?;
    out.extend_from_slice(format!(" {word:2}{mark}\r\n").as_bytes());
    Ok(())
}

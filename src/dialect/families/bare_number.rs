//! `bare-number`: a number on a line, perhaps with a unit.
//!
//! ```text
//! [sign] digits [point digits] [unit] CR LF
//! ```
//!
//! Eight or nine columns, padded with zeros or blanks; the sign in any of its places. Mostly without a unit, then
//! it must be configured. Nothing tells gross from net or rest from motion. Far too much else looks like it (a
//! bar-code scanner, a clock, a counter), so it is never recognised by itself, and what a scale cannot show is
//! refused: more than seven digits that count, or eight with a point. A letter `G`, `N` or `T` behind the number is
//! a unit with one maker and a kind with another: `G` and `T` are taken only where a unit is configured.
//!
//! Five or more digits that are all nines are a display that has run over.
//!
//! Layout: <https://www.easymanua.ls/cas/ci-6000a-series/manual?p=63>; the rest is common practice.

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number, write_digits};
use crate::dialect::unit_word::{UnitWord, unit_word, word_for};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};

pub(super) const FAMILY: Family =
    Family { name: "bare-number", facts: FACTS, framing: Framing::Line { headed: false }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 20),
    poll: None,
    says: Says {
        units: &[],
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: &[Stability::Unknown],
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_998,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: None,
};

const NINES_MIN: usize = 5;
const DIGITS_MAX: usize = 7;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let line = line.trim_ascii();
    if line.is_empty() {
        return Verdict::Quiet;
    }
    if !line.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let Some((value, rest)) = number(line, options) else {
        return filler(line).map_or(Verdict::Refused, |flags| Verdict::Reading(Reading::without_weight(flags)));
    };
    let shown = &line[..line.len() - rest.len()];
    let digits = || shown.iter().filter(|byte| byte.is_ascii_digit());
    let marked = shown.iter().any(|byte| matches!(byte, b'.' | b','));
    let counting = digits().skip_while(|digit| **digit == b'0').count();
    if counting > DIGITS_MAX + usize::from(marked) {
        return Verdict::Refused;
    }
    if counting >= NINES_MIN && digits().all(|digit| *digit == b'9') {
        return Verdict::Reading(Reading::without_weight(Flags { overload: true, ..Flags::default() }));
    }
    let unit = match (rest.trim_ascii(), unit_word(rest.trim_ascii(), options)) {
        (b"G" | b"T", _) if options.unit.is_some() => ReadUnit::Unstated,
        (b"G" | b"T", _) => return Verdict::Refused,
        (_, UnitWord::Mass(unit)) => unit,
        (_, UnitWord::NotMass) => return Verdict::Reading(Reading::without_weight(Flags::default())),
        (_, UnitWord::Unknown) => return Verdict::Refused,
    };
    Verdict::Reading(Reading { value: Some(value), unit, ..Reading::without_weight(Flags::default()) })
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let flags = reading.flags;
    let Some(value) = reading.value else {
        let line: &[u8] = match flags {
            _ if reading.news.is_some() => return Err(Unsayable::News),
            Flags { error: true, .. } => b"-------\r\n",
            Flags { overload: true, .. } => b"OL\r\n",
            Flags { underload: true, .. } => b"UL\r\n",
            _ => return Err(Unsayable::Nothing),
        };
        out.extend_from_slice(line);
        return Ok(());
    };
    if flags.overload || flags.underload || flags.error {
        return Err(Unsayable::Mark);
    }
    if reading.kind == Kind::Tare || reading.news.is_some() {
        return Err(Unsayable::Kind);
    }
    let word = match reading.unit {
        ReadUnit::Stated(unit) => word_for(unit),
        ReadUnit::Unstated => "",
        ReadUnit::PoundOunce | ReadUnit::Ambiguous | ReadUnit::Absent => return Err(Unsayable::Unit),
    };
    let start = out.len();
    out.push(if value.count < 0 { b'-' } else { b' ' });
    write_digits(value, 8, b' ', options, out)?;
    if !word.is_empty() {
        out.push(b' ');
        out.extend_from_slice(word.as_bytes());
    }
    // What the decoder takes for an overrun or a bar code must not be sent as a weight.
    let understood =
        matches!(decode(&out[start..], options), Verdict::Reading(Reading { value: Some(back), .. }) if back == value);
    out.extend_from_slice(b"\r\n");
    if understood { Ok(()) } else { Err(Unsayable::TooWide) }
}

//! `lf-status-chars`: a weight line and status characters between LF and ETX.
//!
//! ```text
//! LF weight unit CR LF [S] h1 h2 [h3 [h4]] CR ETX      the LF before the status may be missing
//! LF [S] h1 h2 [h3 [h4]] CR ETX                        status only
//! LF ? CR ETX                                          request not understood
//! ```
//!
//! The weight is as displayed, sign inside; the unit in either case; pounds and ounces as `1LB 12.5OZ`. A field
//! filled with `^`, `_` or `-` is over range, under range or a zero error. Bits 4 and 5 of a status character are
//! always 1, bit 6 tells that another one follows (never in h1), bit 7 is parity.
//!
//! | bit | h1 | h2 | h3 | h4 |
//! | --- | --- | --- | --- | --- |
//! | 0 | motion | under capacity | with bit 1: range, 00 low, 11 high | weight changed |
//! | 1 | at zero | over capacity | | zero seen since |
//! | 2 | memory error | memory error | net | metric |
//! | 3 | memory error | faulty calibration | initial zero error | |
//!
//! Clones put other troubles into bits 2 and 3 and a hold mode into the range bits, so none of these frames gives
//! a weight. h3 tells net from gross only where h2 announces it: some scales send a third character of their own.
//!
//! Layout: <https://manualshive.com/ru/manual/ohaus/aviator-7000-series/4154010?page=47> and 49; field fills:
//! <https://manualshive.com/ru/manual/salter-brecknell/lps-400/3632008?page=13>.

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number, pounds_and_ounces, write_digits};
use crate::dialect::unit_word::{UnitWord, unit_word, word_for};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "lf-status-chars", facts: FACTS, framing: Framing::LfToEtx, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200, 1200],
    rate: (1, 10),
    poll: Some(b"W\r"),
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: true,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: true,
    lock_after: Some(5),
};

const LF: u8 = b'\n';
const CR: u8 = b'\r';

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Status {
    kind: Kind,
    stability: Stability,
    flags: Flags,
    metric: bool,
}

/// Decodes what came up to an ETX, read from its end so that a cut frame before it does no harm.
fn decode(frame: &[u8], options: &Options) -> Verdict {
    let (body, end) = split_line_end(frame);
    let start = body.iter().rposition(is_line_end).map_or(0, |last| last + 1);
    let (before, segment) = body.split_at(start);
    if end.is_empty() || before.is_empty() {
        return Verdict::Refused;
    }
    if segment == b"?" {
        return Verdict::Reading(Reading::without_weight(Flags { error: true, ..Flags::default() }));
    }
    let Some(status) = status(segment) else { return Verdict::Refused };
    let (before, end) = split_line_end(before);
    // A line that no CR has ended was cut, and this is the status of a later frame without a weight.
    if before.is_empty() || !end.contains(&CR) {
        return without_weight(status, Flags::default());
    }
    match before.iter().rposition(|&byte| byte == LF) {
        Some(start) => weight(&before[start + 1..], status, options),
        None => Verdict::Refused,
    }
}

const fn is_line_end(byte: &u8) -> bool {
    matches!(*byte, CR | LF)
}

/// Splits off the CR and LF at the end.
fn split_line_end(bytes: &[u8]) -> (&[u8], &[u8]) {
    bytes.split_at(bytes.iter().rposition(|byte| !is_line_end(byte)).map_or(0, |last| last + 1))
}

fn without_weight(status: Status, more: Flags) -> Verdict {
    let flags = Flags {
        overload: status.flags.overload || more.overload,
        underload: status.flags.underload || more.underload,
        zero: status.flags.zero,
        error: status.flags.error || more.error,
    };
    Verdict::Reading(Reading { kind: status.kind, stability: status.stability, ..Reading::without_weight(flags) })
}

fn status(segment: &[u8]) -> Option<Status> {
    let chars = segment.strip_prefix(b"S").unwrap_or(segment);
    let sound = chars.iter().all(|byte| byte & 0xb0 == 0x30);
    let [h1, h2, more @ ..] = chars else { return None };
    let (h3, h4) = (more.first(), more.get(1));
    let announced = [(h2, h3), (h3.unwrap_or(&0), h4)].iter().all(|(char, next)| **char & 0x40 == 0 || next.is_some());
    let endless = h4.is_some_and(|char| char & 0x40 != 0);
    if !sound || more.len() > 2 || h1 & 0x40 != 0 || !announced || endless {
        return None;
    }
    let told = h3.filter(|_| h2 & 0x40 != 0);
    let odd_range = h3.is_some_and(|char| matches!(char & 0x03, 1 | 2));
    let zero_error = h3.is_some_and(|char| char & 0x08 != 0);
    Some(Status {
        kind: told.map_or(Kind::Unknown, |char| if char & 0x04 != 0 { Kind::Net } else { Kind::Gross }),
        stability: if h1 & 0x01 != 0 { Stability::Motion } else { Stability::Stable },
        flags: Flags {
            underload: h2 & 0x01 != 0,
            overload: h2 & 0x02 != 0,
            zero: h1 & 0x02 != 0,
            error: h1 & 0x0c != 0 || h2 & 0x0c != 0 || odd_range || zero_error,
        },
        metric: h4.is_some_and(|char| char & 0x04 != 0),
    })
}

fn weight(line: &[u8], status: Status, options: &Options) -> Verdict {
    if !line.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let Some((first, rest)) = number(line, options) else {
        let end = line.iter().rposition(|byte| !byte.is_ascii_alphabetic()).map_or(0, |last| last + 1);
        let flags = filler(line).or_else(|| filler(&line[..end]));
        // Nothing is displayed, so nothing displayed stands still.
        let status = Status { stability: Stability::Unknown, ..status };
        return flags.map_or(Verdict::Refused, |flags| without_weight(status, flags));
    };
    let rest = rest.trim_ascii();
    let letters = rest.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let (word, rest) = rest.split_at(letters);
    let (value, unit) = match (unit_word(word, options), number(rest, options)) {
        (UnitWord::Mass(ReadUnit::Stated(Unit::Pound)), Some((ounces, tail)))
            if tail.trim_ascii().eq_ignore_ascii_case(b"oz") =>
        {
            let negative = line.trim_ascii_start().starts_with(b"-");
            match pounds_and_ounces(first, ounces, negative) {
                Some(total) => (total, ReadUnit::PoundOunce),
                None => return Verdict::Refused,
            }
        }
        (UnitWord::Mass(unit), None) if !word.is_empty() && rest.is_empty() => (first, unit),
        (UnitWord::NotMass, None) if rest.is_empty() => return without_weight(status, Flags::default()),
        _ => return Verdict::Refused,
    };
    let avoirdupois = matches!(unit, ReadUnit::PoundOunce | ReadUnit::Stated(Unit::Pound | Unit::Ounce));
    if status.metric && avoirdupois {
        return Verdict::Refused;
    }
    let flags = status.flags;
    if flags.overload || flags.underload || flags.error {
        return without_weight(status, Flags::default());
    }
    let Status { kind, stability, .. } = status;
    Verdict::Reading(Reading { value: Some(value), unit, kind, stability, flags, division: None, news: None })
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let flags = reading.flags;
    let range = flags.overload || flags.underload || flags.error;
    if reading.news.is_some() {
        return Err(Unsayable::News);
    }
    out.push(LF);
    match (reading.value, reading.unit) {
        (Some(_), _) if range => return Err(Unsayable::Mark),
        (Some(value), ReadUnit::Stated(unit)) => number_and_unit(value, unit, options, out)?,
        (Some(_), _) => return Err(Unsayable::Unit),
        (None, _) if flags.overload => out.extend_from_slice(b"^^^^^^^^kg\r\n"),
        (None, _) if flags.underload => out.extend_from_slice(b"________kg\r\n"),
        (None, _) => {}
    }
    let motion = match reading.stability {
        Stability::Stable => 0,
        Stability::Motion => 1,
        Stability::Unknown => return Err(Unsayable::Stability),
    };
    let net = match reading.kind {
        Kind::Unknown => None,
        Kind::Gross => Some(0),
        Kind::Net => Some(1),
        Kind::Tare => return Err(Unsayable::Kind),
    };
    out.push(b'S');
    out.push(0x30 | motion | u8::from(flags.zero) << 1);
    let h2 = 0x30 | u8::from(flags.underload) | u8::from(flags.overload) << 1 | u8::from(flags.error) << 3;
    match net {
        None => out.push(h2),
        Some(net) => out.extend_from_slice(&[0x40 | h2, 0x30 | net << 2]),
    }
    out.extend_from_slice(&[CR, 0x03]);
    Ok(())
}

fn number_and_unit(value: Displayed, unit: Unit, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.push(if value.count < 0 { b'-' } else { b' ' });
    write_digits(value, 7, b' ', options, out)?;
    out.extend_from_slice(word_for(unit).as_bytes());
    out.extend_from_slice(&[CR, LF]);
    Ok(())
}

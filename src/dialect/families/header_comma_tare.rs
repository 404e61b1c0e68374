//! `header-comma-tare`: net, tare and a count of pieces between commas, one line a reading.
//!
//! ```text
//! address(2) scale H1 , net(10) , PT tare(10) , pieces(10) , unit CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | address, scale | three digits, or nothing |
//! | H1 | `ST` stable, `US` moving, `OL` over, `UL` under range, `TL` not level |
//! | `PT` | the tare was typed in; two blanks where it was weighed |
//!
//! A line gives the net weight, then the tare. A blank tare tells nothing and is left out: so the encoder, which has one
//! reading at a time, sends it blank. The unit is for both and mandatory; the pieces are no mass.
//!
//! Layout and a line in full: <https://www.easymanua.ls/dini-argeo/dgt4x/manual/39685?p=52>,
//! <https://www.easymanua.ls/dini-argeo/3590exp-series/manual/9708?p=65>. A blank tare is our own leniency.

use crate::dialect::asked::sayable;
use crate::dialect::comma_header::last_header;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number};
use crate::dialect::put::{write_unit, write_weight};
use crate::dialect::unit_word::{UnitWord, unit_word};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family =
    Family { name: "header-comma-tare", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 20),
    // The letter that reads this line at some scales starts or prints something at others.
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Net],
        stability: STILL_OR_NOT,
        marks: MARKS,
        zero: false,
        news: &[],
        division: false,
        most: 99_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(5),
};

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

const HEADERS: &[[u8; 2]] = &[*b"ST", *b"US", *b"OL", *b"UL", *b"TL"];

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some((code, rest)) = last_header(line, HEADERS, b"") else { return Verdict::Refused };
    if !rest.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let without = |flags| Verdict::Reading(Reading::without_weight(flags));
    let minus = rest.trim_ascii_start().first() == Some(&b'-');
    match &code {
        b"OL" if !minus => return without(OVER),
        b"OL" | b"UL" => return without(UNDER),
        b"TL" => return without(ERROR),
        _ => {}
    }
    let stability = if code == *b"ST" { Stability::Stable } else { Stability::Motion };
    let Some((Some(net), rest)) = column(rest, options) else {
        let end = rest.iter().position(|&byte| byte == b',').unwrap_or(0);
        return filler(&rest[..end]).map_or(Verdict::Refused, without);
    };
    let rest = match rest.trim_ascii_start() {
        [b'P' | b'p', b'T' | b't', rest @ ..] => rest,
        rest => rest,
    };
    let Some((tare, rest)) = column(rest, options) else { return Verdict::Refused };
    let Some((_, word)) = column(rest, &Options { comma: false, ..*options }) else { return Verdict::Refused };
    let unit = match unit_word(word.trim_ascii(), options) {
        UnitWord::Mass(_) if word.trim_ascii().is_empty() => return Verdict::Refused,
        UnitWord::Mass(unit) => unit,
        UnitWord::NotMass => return without(Flags::default()),
        UnitWord::Unknown => return Verdict::Refused,
    };
    let told = |value, kind| Reading { value: Some(value), unit, kind, stability, ..Reading::without_weight(Flags::default()) };
    Verdict::Several([Some(told(net, Kind::Net)), tare.map(|tare| told(tare, Kind::Tare)), None])
}

/// A number or blanks up to a comma, and what follows it.
fn column<'a>(text: &'a [u8], options: &Options) -> Option<(Option<Displayed>, &'a [u8])> {
    if let Some(rest) = text.trim_ascii_start().strip_prefix(b",") {
        return Some((None, rest));
    }
    let (value, rest) = number(text, options)?;
    Some((Some(value), rest.trim_ascii_start().strip_prefix(b",")?))
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if reading.value.is_some() && reading.kind != Kind::Net {
        return Err(Unsayable::Kind);
    }
    out.extend_from_slice(b"011");
    out.extend_from_slice(match (reading.value, reading.flags, reading.stability) {
        (None, Flags { error: true, .. }, _) => b"TL,",
        (None, Flags { underload: true, .. }, _) => b"UL,",
        (None, ..) => b"OL,",
        (_, _, Stability::Stable) => b"ST,",
        (_, _, Stability::Motion) => b"US,",
        (_, _, Stability::Unknown) => return Err(Unsayable::Stability),
    });
    write_weight(reading.value, 9, b' ', options, out)?;
    out.extend_from_slice(b",            ,         0,");
    match reading.unit {
        ReadUnit::Unstated => return Err(Unsayable::Unit),
        ReadUnit::Absent => out.extend_from_slice(b"kg"),
        unit => write_unit(unit, 2, out).or_else(|_| write_unit(unit, 3, out))?,
    }
    out.extend_from_slice(b"\r\n");
    Ok(())
}

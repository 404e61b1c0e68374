//! `header-comma-short`: one header and a number, one line a reading.
//!
//! ```text
//! H1 , sign data unit CR LF        data 8 columns, unit 3, right-aligned: 17 bytes
//! WT , sign data(5) CR LF          a near relative without unit
//! ```
//!
//! | H1 | meaning |
//! | --- | --- |
//! | `ST`, `US` | stable, moving |
//! | `WT` | a weight, nothing told about rest |
//! | `OL` | out of range; the sign tells the direction, the digits are filler |
//! | `QT` | stable, counting: no mass |
//!
//! Gross and net are not told. A unit `t` is the tola with the maker of this format and the tonne elsewhere: it is told
//! as ambiguous, and is a mass only where the tonne is configured. Carat, momme, pennyweight and tael are refused. A line is searched for its last
//! header. A line of one ACK may precede the data (common practice).
//!
//! Lines in full: <http://88.208.23.73:8080/en/manual/aandd/ek-l-series/3176573?page=30>; the relative:
//! <https://manualshive.com/en/manual/rinstrum/d32-series/1463198?page=27>; line settings:
//! <https://www.experts-exchange.com/questions/28624790/Serial-port-data-from-weigh-scales-to-decode.html>.

use crate::dialect::asked::sayable;
use crate::dialect::comma_header::last_header;
use crate::dialect::facts::{OVER, SEVEN_EVEN, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number};
use crate::dialect::put::{write_unit, write_weight};
use crate::dialect::unit_word::{UnitWord, ton, unit_word};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "header-comma-short", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: SEVEN_EVEN,
    speeds: &[2400, 4800, 9600],
    rate: (5, 10),
    poll: Some(b"Q\r\n"),
    says: Says {
        units: &[Unit::Gram, Unit::Kilogram, Unit::Pound, Unit::Ounce, Unit::TroyOunce, Unit::Grain],
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: MARKS,
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(5),
};

const MARKS: &[Flags] = &[OVER, UNDER];

const HEADERS: &[[u8; 2]] = &[*b"ST", *b"US", *b"OL", *b"QT", *b"WT"];

/// Requests that a half-duplex adapter echoes.
const REQUESTS: &[u8] = b"Q";

const ACK: u8 = 0x06;

/// With no unit behind it, only its width tells a whole number from one that a stray line end has cut.
const COLUMNS: usize = 9;
const COLUMNS_WT: usize = 6;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some((code, rest)) = last_header(line, HEADERS, REQUESTS) else {
        let alone = matches!(line.trim_ascii(), [ACK] | [b'Q']);
        return if alone { Verdict::Quiet } else { Verdict::Refused };
    };
    let stability = match &code {
        b"ST" | b"QT" => Stability::Stable,
        b"US" => Stability::Motion,
        _ => Stability::Unknown,
    };
    let without = |flags| Verdict::Reading(Reading { stability, ..Reading::without_weight(flags) });
    let minus = rest.trim_ascii_start().first() == Some(&b'-');
    match &code {
        _ if !rest.iter().all(|byte| matches!(byte, 0x20..=0x7e)) => return Verdict::Refused,
        b"OL" => return without(if minus { UNDER } else { OVER }),
        b"QT" if number(rest, options).is_some() => return without(Flags::default()),
        b"QT" => return Verdict::Refused,
        _ => {}
    }
    let Some((value, after)) = number(rest, options) else {
        let end = rest.iter().rposition(|byte| !byte.is_ascii_alphabetic()).map_or(0, |last| last + 1);
        return filler(rest).or_else(|| filler(&rest[..end])).map_or(Verdict::Refused, without);
    };
    let columns = rest.len() - after.len();
    let word = after.trim_ascii();
    let least = if code == *b"WT" { COLUMNS_WT } else { COLUMNS };
    let unit = match unit_word(word, options) {
        UnitWord::Mass(_) if word.is_empty() && columns < least => return Verdict::Refused,
        UnitWord::Mass(ReadUnit::Stated(Unit::Tonne)) => match ton(options) {
            UnitWord::Mass(unit) => unit,
            _ => return Verdict::Refused,
        },
        UnitWord::Mass(unit) => unit,
        UnitWord::NotMass => return without(Flags::default()),
        UnitWord::Unknown => return Verdict::Refused,
    };
    Verdict::Reading(Reading { value: Some(value), unit, stability, ..Reading::without_weight(Flags::default()) })
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if matches!(reading.unit, ReadUnit::Stated(Unit::Tonne)) {
        return Err(Unsayable::Unit);
    }
    out.extend_from_slice(match (reading.value, reading.stability) {
        (None, _) => b"OL,",
        (_, Stability::Stable) => b"ST,",
        (_, Stability::Motion) => b"US,",
        (_, Stability::Unknown) => return Err(Unsayable::Stability),
    });
    let sign = out.len();
    write_weight(reading.value, 8, b'0', options, out)?;
    if out[sign] == b' ' {
        out[sign] = if reading.flags.underload { b'-' } else { b'+' };
    }
    write_unit(reading.unit, 3, out)?;
    out.extend_from_slice(b"\r\n");
    Ok(())
}

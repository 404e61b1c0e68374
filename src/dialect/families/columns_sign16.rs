//! `columns-sign16`: sixteen bytes with a sign column, a number and a unit that is left out while it moves.
//!
//! ```text
//! [id(6)] sign SP weight(8, right-aligned) SP unit(3) CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | id | `N` net, `G` `G#` gross, `T` `T1` `T2` `PT` tare, `Stat` for the states below |
//! | weight | the last digit may stand in brackets where it is not verified: the brackets are dropped |
//! | unit | blank while the scale moves (common practice; the published page says only that it may be blank) |
//!
//! | instead of a weight | meaning |
//! | --- | --- |
//! | `H`, `HH`, a run of `~` | above range |
//! | `L`, `LL` | below range |
//! | `C`, `CC`, `Err 101` | adjusting itself; an error |
//!
//! Other ids head values that are no live weight, such as the weight of one piece, and are refused.
//!
//! Layout: <https://www.easymanua.ls/sartorius/le-series/manual?p=52>; the states:
//! <https://www.easymanua.ls/sartorius/le2202s/manual?p=51>; the run of `~`:
//! <https://github.com/eamars/OpenTrickler-RP2040-Controller/pull/49>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::filled;
use crate::dialect::facts::{ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::line_text::{after_noise, counted};
use crate::dialect::number::number;
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, LineSettings, Options, Parity, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "columns-sign16", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: LineSettings { speed: 1200, data_bits: 7, parity: Parity::Odd, stop_bits: 1 },
    speeds: &[1200, 9600, 2400, 4800, 19200],
    rate: (1, 10),
    poll: Some(b"\x1bP\r\n"),
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown, Kind::Gross, Kind::Net, Kind::Tare],
        // A moving scale leaves out its unit.
        stability: &[Stability::Stable],
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

const COLUMNS: usize = 14;
const ID: usize = 6;
/// Sign, blank and weight: the number ends here, its brackets not counted.
const NUMBER_END: usize = 10;
/// Two more columns for brackets.
const BODY_MAX: usize = COLUMNS + 2;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let text = after_noise(line);
    let (id, body) = match text.len() {
        18..=22 => text.split_at(ID),
        _ => match counted(line, NUMBER_END + 2..=BODY_MAX, COLUMNS) {
            Some(body) => (&b""[..], body),
            None => return Verdict::Refused,
        },
    };
    let kind = match id.trim_ascii_end() {
        b"" | b"Stat" => Kind::Unknown,
        b"N" | b"N1" => Kind::Net,
        b"G" | b"G#" => Kind::Gross,
        b"T" | b"T1" | b"T2" | b"PT" | b"PT2" => Kind::Tare,
        _ => return Verdict::Refused,
    };
    let mut columns = [b' '; BODY_MAX];
    let Some((length, bracketed)) = without_brackets(body, &mut columns) else { return Verdict::Refused };
    let body = &columns[..length];
    let [b'+' | b'-' | b' ', b' ', ..] = body else { return Verdict::Refused };
    let Some((value, rest)) = number(body, options) else {
        return state(body).map_or(Verdict::Refused, |flags| nothing(kind, flags));
    };
    let word = rest.trim_ascii();
    if length - rest.len() != NUMBER_END || rest.len() > COLUMNS - NUMBER_END {
        return Verdict::Refused;
    }
    if word.is_empty() && rest.len() == COLUMNS - NUMBER_END {
        let unit = ReadUnit::Unstated;
        return Verdict::Reading(Reading { value: Some(value), unit, ..beside(kind, Stability::Motion) });
    }
    if word.is_empty() || (rest[0] != b' ' && !bracketed) {
        return Verdict::Refused;
    }
    weight(value, word, beside(kind, Stability::Stable), options)
}

/// Copies a body without the one pair of brackets that may stand about its last digit.
fn without_brackets(body: &[u8], columns: &mut [u8; BODY_MAX]) -> Option<(usize, bool)> {
    let (mut length, mut brackets) = (0, [None; 2]);
    for (index, byte) in body.iter().enumerate() {
        let bracket = match byte {
            b'[' => &mut brackets[0],
            b']' => &mut brackets[1],
            _ => {
                *columns.get_mut(length)? = *byte;
                length += 1;
                continue;
            }
        };
        if bracket.replace(index).is_some() {
            return None;
        }
    }
    match brackets {
        [None, None] => Some((length, false)),
        [Some(open), Some(close)] if close == open + 2 => Some((length, true)),
        _ => None,
    }
}

/// What a body without a number says.
fn state(body: &[u8]) -> Option<Flags> {
    match body.trim_ascii() {
        b"H" | b"HH" => Some(OVER),
        b"L" | b"LL" => Some(UNDER),
        b"C" | b"CC" | b"CAL" | b"CAL." => Some(ERROR),
        text => filled(text.strip_prefix(b"+").unwrap_or(text).trim_ascii_start()),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let value = to_send(reading, FACTS.says.marks)?;
    out.extend_from_slice(match (reading.kind, value) {
        (Kind::Unknown, _) | (_, None) => b"",
        (Kind::Gross, _) => b"G#    ",
        (Kind::Net, _) => b"N     ",
        (Kind::Tare, _) => b"T1    ",
    });
    match value {
        Some(value) => {
            out.push(if value.count < 0 { b'-' } else { b'+' });
            out.push(b' ');
            put_digits(value, 8, b' ', options, out)?;
            out.push(b' ');
            match (reading.stability, reading.unit) {
                (Stability::Stable, _) => put_unit(stated(reading)?, 3, out)?,
                (Stability::Motion, ReadUnit::Unstated) => out.extend_from_slice(b"   "),
                _ => return Err(Unsayable::Stability),
            }
        }
        None => out.extend_from_slice(match reading.flags {
            Flags { error: true, .. } => b"   Err 101    ",
            Flags { underload: true, .. } => b"      L       ",
            _ => b"      H       ",
        }),
    }
    out.extend_from_slice(b"\r\n");
    Ok(())
}

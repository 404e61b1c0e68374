//! `columns-mark-first`: a mark in the first column, then sign, number and unit in sixteen columns.
//!
//! ```text
//! mark SP sign mass(9, right-aligned) SP unit(3) CR LF
//! mark sign number(10, right-aligned) SP unit(3) CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | mark | blank stable, `?` or `M` moving, `^` above range, `v` below range |
//! | unit | blank while moving in one relative; the unit must then be configured |
//!
//! `Error` behind blanks takes the place of a weight. What `M` stands for is not published; it is taken for motion,
//! as elsewhere.
//!
//! Layout: <https://manualshive.com/ru/manual/radwag/itku-22-02-01-12-a/3745345?page=72>; the relative:
//! <https://www.easymanua.ls/kern/pcb/manual/185633?p=35>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::filled;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::still_or_not;
use crate::dialect::line_text::{after_noise, counted};
use crate::dialect::number::number;
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "columns-mark-first", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200, 1200],
    rate: (1, 20),
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 99_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

const COLUMNS: usize = 16;
/// Mark, sign and number: one that ends elsewhere has lost a digit.
const NUMBER_END: usize = 12;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(frame) = counted(line, COLUMNS - 2..=COLUMNS, COLUMNS) else { return Verdict::Refused };
    // A cut frame before it opens with a mark as well; anything else is the line of another family.
    if !matches!(after_noise(line).first(), Some(b' ' | b'?' | b'M' | b'^' | b'v')) {
        return Verdict::Refused;
    }
    let body = &frame[1..];
    let stability = match frame[0] {
        b' ' => Stability::Stable,
        b'?' | b'M' => Stability::Motion,
        b'^' => return nothing(Kind::Unknown, OVER),
        b'v' => return nothing(Kind::Unknown, UNDER),
        _ => return Verdict::Refused,
    };
    let Some((value, word)) = number(body, options) else {
        return filled(body).map_or(Verdict::Refused, |flags| nothing(Kind::Unknown, flags));
    };
    if frame.len() - word.len() != NUMBER_END {
        return Verdict::Refused;
    }
    match word {
        [b' ', b' ', b' ', ..] if word.trim_ascii().is_empty() => {
            let beside = beside(Kind::Unknown, Stability::Motion);
            Verdict::Reading(Reading { value: Some(value), unit: ReadUnit::Unstated, ..beside })
        }
        [b' ', first, ..] if *first != b' ' => weight(value, word.trim_ascii(), beside(Kind::Unknown, stability), options),
        _ => Verdict::Refused,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    match to_send(reading, FACTS.says.marks)? {
        Some(value) => {
            out.push(still_or_not(reading.stability, b' ', b'?')?);
            out.extend_from_slice(if value.count < 0 { b" -" } else { b"  " });
            put_digits(value, 9, b' ', options, out)?;
            out.push(b' ');
            match (reading.unit, reading.stability) {
                (ReadUnit::Unstated, Stability::Motion) => out.extend_from_slice(b"   "),
                _ => put_unit(stated(reading)?, 3, out)?,
            }
        }
        None => out.extend_from_slice(match reading.flags {
            Flags { error: true, .. } => b"           Error",
            Flags { underload: true, .. } => b"v -     0.00 kg ",
            _ => b"^       0.00 kg ",
        }),
    }
    out.extend_from_slice(b"\r\n");
    Ok(())
}

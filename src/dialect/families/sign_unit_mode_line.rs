//! `sign-unit-mode-line`: sign, number, and one letter each for unit, kind and status, in eleven columns.
//!
//! ```text
//! sign weight(7, right-aligned) unit(1) mode(1) status(1) CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | sign | `-`, else blank or `+` |
//! | unit | `K` kg, `L` lb, `G` g, `O` oz, `T` the tonne or the short ton; a blank states none |
//! | mode | `G` gross, `N` net |
//! | status | blank stable, `M` moving, `O` over range, or under it where the sign is a minus, `I` invalid |
//!
//! So `KG` at the end of a line is kilograms and gross, and `GN` grams and net.
//!
//! Layout: <https://www.easymanua.ls/rinstrum/c530/manual?p=53>.

use crate::dialect::asked::to_send;
use crate::dialect::column::number_field;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{kind_letter, still_or_not, unit_letter};
use crate::dialect::line_text::counted;
use crate::dialect::number::filler;
use crate::dialect::put::put_digits;
use crate::dialect::tell::{beside, nothing};
use crate::dialect::unit_word::UnitWord;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "sign-unit-mode-line", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 25),
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Ounce],
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

const COLUMNS: usize = 11;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(&[ref field @ .., unit, mode, status]) = counted(line, COLUMNS..=COLUMNS, COLUMNS) else {
        return Verdict::Refused;
    };
    let UnitWord::Mass(unit) = unit_letter(unit, options) else { return Verdict::Refused };
    let kind = match mode {
        b'G' => Kind::Gross,
        b'N' => Kind::Net,
        _ => return Verdict::Refused,
    };
    let stability = match status {
        b' ' => Stability::Stable,
        b'M' => Stability::Motion,
        b'O' if field[0] == b'-' => return nothing(kind, UNDER),
        b'O' => return nothing(kind, OVER),
        b'I' => return nothing(kind, ERROR),
        _ => return Verdict::Refused,
    };
    match number_field(field, options) {
        Some(value) => Verdict::Reading(Reading { value: Some(value), unit, ..beside(kind, stability) }),
        None => filler(field).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let mode = match reading.kind {
        Kind::Gross | Kind::Net => kind_letter(reading.kind)?,
        _ => return Err(Unsayable::Kind),
    };
    let Some(value) = to_send(reading, FACTS.says.marks)? else {
        out.extend_from_slice(if reading.flags.underload { b"-       K" } else { b"        K" });
        out.extend_from_slice(&[mode, if reading.flags.error { b'I' } else { b'O' }]);
        out.extend_from_slice(b"\r\n");
        return Ok(());
    };
    out.push(if value.count < 0 { b'-' } else { b' ' });
    put_digits(value, 7, b' ', options, out)?;
    let unit = match reading.unit {
        ReadUnit::Stated(Unit::Kilogram) => b'K',
        ReadUnit::Stated(Unit::Pound) => b'L',
        ReadUnit::Stated(Unit::Gram) => b'G',
        ReadUnit::Stated(Unit::Ounce) => b'O',
        ReadUnit::Unstated => b' ',
        _ => return Err(Unsayable::Unit),
    };
    out.extend_from_slice(&[unit, mode, still_or_not(reading.stability, b' ', b'M')?]);
    out.extend_from_slice(b"\r\n");
    Ok(())
}

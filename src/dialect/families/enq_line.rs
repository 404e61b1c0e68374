//! `enq-line`: the answer to ENQ, or the same line sent by itself: sign, number, unit, kind and two status letters.
//!
//! ```text
//! sign weight(6, and a column for the point) unit(2) mode(1) status(2) CR
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | sign | `-`, else blank or `+` |
//! | mode | `G` gross, `N` net |
//! | status | blanks stable, `MO` moving, `CZ` at the centre of zero, `OC` over capacity, `EE` not on display |
//!
//! Only one status fits, so a line that moves does not say that it is near zero. Beside `OC` and `EE` the number
//! means nothing.
//!
//! Layout: <https://manualshive.com/ru/manual/cardinal/190-series/2556155?page=43>; blanks for a status:
//! <https://manualshive.com/en/manual/brecknell/rd65/2806420?page=8>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::number_field;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::kind_letter;
use crate::dialect::line_text::counted;
use crate::dialect::number::filler;
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "enq-line", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 10),
    poll: Some(b"\x05"),
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Ounce, Unit::Tonne, Unit::Grain],
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, ERROR],
        // Told only of a load that stands still.
        zero: false,
        news: &[],
        division: false,
        most: 999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

/// Sign, digits and point.
const FIELD: usize = 8;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(&[ref field @ .., u1, u2, mode, s1, s2]) = counted(line, 12..=13, 13) else { return idle(line) };
    let kind = match mode {
        b'G' => Kind::Gross,
        b'N' => Kind::Net,
        _ => return Verdict::Refused,
    };
    let (stability, zero) = match [s1, s2] {
        [b' ', b' '] => (Stability::Stable, false),
        [b'C', b'Z'] => (Stability::Stable, true),
        [b'M', b'O'] => (Stability::Motion, false),
        [b'O', b'C'] => return nothing(kind, OVER),
        [b'E', b'E'] => return nothing(kind, ERROR),
        _ => return Verdict::Refused,
    };
    let word = [u1, u2];
    let word = word.trim_ascii();
    match number_field(field, options) {
        // With a point there is a column more, or a digit was lost.
        Some(_) if word.is_empty() || (field.len() < FIELD && field.contains(&b'.')) => Verdict::Refused,
        Some(value) => {
            let flags = Flags { zero, ..Flags::default() };
            weight(value, word, Reading { flags, ..beside(kind, stability) }, options)
        }
        None => filler(field).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
    }
}

/// An echoed request and nothing else.
fn idle(line: &[u8]) -> Verdict {
    if line.iter().all(|byte| matches!(byte, 0x05 | 0x06)) { Verdict::Quiet } else { Verdict::Refused }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let mode = match reading.kind {
        Kind::Gross | Kind::Net => kind_letter(reading.kind)?,
        _ => return Err(Unsayable::Kind),
    };
    let Some(value) = to_send(reading, FACTS.says.marks)? else {
        let status = match reading.flags {
            Flags { error: true, .. } => b"EE",
            Flags { overload: true, .. } => b"OC",
            _ => return Err(Unsayable::Mark),
        };
        out.extend_from_slice(b"  999999kg");
        out.push(mode);
        out.extend_from_slice(status);
        out.push(b'\r');
        return Ok(());
    };
    out.push(if value.count < 0 { b'-' } else { b' ' });
    put_digits(value, 7, b' ', options, out)?;
    put_unit(stated(reading)?, 2, out)?;
    out.push(mode);
    out.extend_from_slice(match (reading.stability, reading.flags.zero) {
        (Stability::Stable, true) => b"CZ",
        (Stability::Stable, false) => b"  ",
        (Stability::Motion, _) => b"MO",
        (Stability::Unknown, _) => return Err(Unsayable::Stability),
    });
    out.push(b'\r');
    Ok(())
}

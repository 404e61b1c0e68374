//! `number-unit-legend`: number, unit and a legend for the kind, whose case tells rest from motion.
//!
//! ```text
//! SP weight(6) SP unit(2) SP legend(2) CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | weight | right-aligned; a minus may stand in the blank before it; `--oL--` over, `--uL--` under range |
//! | unit | `LB`, `KG`, `OZ`, `GM` grams |
//! | legend | `GR` gross, `NT` net; lower case while moving |
//!
//! The published table stops behind the legend: that a line end follows is common practice.
//!
//! Layout:
//! <http://38.142.81.21:8001/manual/fairbanks/2800-series-intrinsically-safe-instrument/owner-s-manual-english/page-68.html>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::number_field;
use crate::dialect::facts::{EIGHT_NONE, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::line_text::counted;
use crate::dialect::number::filler;
use crate::dialect::put::put_number;
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "number-unit-legend", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 10),
    poll: Some(b"W\r"),
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Ounce],
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER],
        zero: false,
        news: &[],
        division: false,
        most: 99_999,
        decimals: (0, 4),
    },
    start_mark: false,
    lock_after: Some(8),
};

fn decode(line: &[u8], options: &Options) -> Verdict {
    if matches!(line.trim_ascii(), b"W" | b"") {
        return Verdict::Quiet;
    }
    let Some(&[ref field @ .., b' ', u1, u2, b' ', l1, l2]) = counted(line, 13..=13, 13) else { return Verdict::Refused };
    let (kind, stability) = match [l1, l2] {
        [b'G', b'R'] => (Kind::Gross, Stability::Stable),
        [b'N', b'T'] => (Kind::Net, Stability::Stable),
        [b'g', b'r'] => (Kind::Gross, Stability::Motion),
        [b'n', b't'] => (Kind::Net, Stability::Motion),
        _ => return Verdict::Refused,
    };
    let word = [u1, u2];
    let word = word.trim_ascii();
    match number_field(field, options) {
        Some(_) if word.is_empty() => Verdict::Refused,
        Some(value) => weight(value, word, beside(kind, stability), options),
        None => filler(field).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let legend = match (reading.kind, reading.stability) {
        (Kind::Gross, Stability::Stable) => b"GR",
        (Kind::Gross, Stability::Motion) => b"gr",
        (Kind::Net, Stability::Stable) => b"NT",
        (Kind::Net, Stability::Motion) => b"nt",
        (Kind::Gross, Stability::Unknown) | (Kind::Net, Stability::Unknown) if reading.value.is_none() => b"GR",
        (Kind::Gross | Kind::Net, Stability::Unknown) => return Err(Unsayable::Stability),
        _ => return Err(Unsayable::Kind),
    };
    let unit: &[u8] = match to_send(reading, FACTS.says.marks)? {
        Some(value) => {
            put_number(value, 7, options, out)?;
            match stated(reading)? {
                Unit::Kilogram => b"KG",
                Unit::Pound => b"LB",
                Unit::Gram => b"GM",
                Unit::Ounce => b"OZ",
                _ => return Err(Unsayable::Unit),
            }
        }
        None => {
            out.extend_from_slice(match reading.flags {
                Flags { error: true, .. } => return Err(Unsayable::Mark),
                Flags { underload: true, .. } => b" --uL--",
                _ => b" --oL--",
            });
            b"LB"
        }
    };
    out.push(b' ');
    out.extend_from_slice(unit);
    out.push(b' ');
    out.extend_from_slice(legend);
    out.extend_from_slice(b"\r\n");
    Ok(())
}

//! `stx-words-unit-mode`: a weight, a unit and a mode of two letters each between STX and a line end.
//!
//! ```text
//! STX polarity weight(8) SP LB|KG SP GR|NT CR LF        18 bytes
//! ```
//!
//! Sent when asked for; nothing tells rest from motion. The words come in either case.
//!
//! Layout: <https://manualshive.com/en/manual/transcell-technology/ti-500-plus/1150672?page=42>; the request `R`:
//! <https://www.easymanua.ls/tufner/t900b-series/manual?p=24>.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::{ends_line, marked};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::field;
use crate::dialect::facts::EIGHT_NONE;
use crate::dialect::facts::PLAIN;
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::{word_of, write_weight};
use crate::dialect::tell::tell;
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "stx-words-unit-mode", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 10),
    poll: Some(b"R"),
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram, Unit::Gram, Unit::Ounce],
        kinds: &[Kind::Gross, Kind::Net],
        most: 9_999_999,
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
/// With the first byte of the line end.
const LENGTH: usize = 17;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTH..=LENGTH, ends_line)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref weight @ .., b' ', u1, u2, b' ', m1, m2, _] = frame else { return Verdict::Refused };
    let kind = match [m1, m2].map(|byte| byte.to_ascii_uppercase()) {
        [b'G', b'R'] => Kind::Gross,
        [b'N', b'T'] => Kind::Net,
        _ => return Verdict::Refused,
    };
    match [u1, u2].trim_ascii() {
        [] => Verdict::Refused,
        word => tell(field(weight, options), unit_word(word, options), kind, Stability::Unknown),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    let mode = match reading.kind {
        Kind::Gross => "GR",
        Kind::Net => "NT",
        Kind::Tare | Kind::Unknown => return Err(Unsayable::Kind),
    };
    if reading.unit == ReadUnit::Unstated {
        return Err(Unsayable::Unit);
    }
    let word = word_of(reading.unit, 2)?.to_ascii_uppercase();
    out.push(STX);
    write_weight(Some(value), 8, b' ', options, out)?;
    out.extend_from_slice(format!(" {word:>2} {mode}\r\n").as_bytes());
    Ok(())
}

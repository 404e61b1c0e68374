//! `stx-bits-unit`: a byte of status bits, a weight and a unit between STX and CR ETX.
//!
//! ```text
//! STX status sign weight(7) unit(2) CR ETX        14 bytes
//! ```
//!
//! The status is 20h and these bits: 0 gross (clear: net), 1 tare set, 3 at zero, 6 stable. What the other bits would
//! mean is not published, so a frame with one of them is refused.
//!
//! Layout: <https://www.easymanua.ls/gram/z3-series/manual?p=17>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::column::field;
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, STILL_OR_NOT};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::{word_of, write_weight};
use crate::dialect::tell::tell;
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family = Family { name: "stx-bits-unit", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Gram, Unit::Tonne, Unit::Pound, Unit::Ounce],
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        zero: true,
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const LENGTH: usize = 14;

const GROSS: u8 = 0x01;
const TARE: u8 = 0x02;
const ZERO: u8 = 0x08;
const ALWAYS: u8 = 0x20;
const STABLE: u8 = 0x40;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTH..=LENGTH, |byte| byte == ETX)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, status, ref weight @ .., u1, u2, b'\r', _] = frame else { return Verdict::Refused };
    if status & !(GROSS | TARE | ZERO | STABLE) != ALWAYS {
        return Verdict::Refused;
    }
    let kind = if status & GROSS != 0 { Kind::Gross } else { Kind::Net };
    let stability = if status & STABLE != 0 { Stability::Stable } else { Stability::Motion };
    match tell(field(weight, options), unit_word([u1, u2].trim_ascii(), options), kind, stability) {
        Verdict::Reading(reading) if status & ZERO != 0 => {
            Verdict::Reading(Reading { flags: Flags { zero: true, ..reading.flags }, ..reading })
        }
        verdict => verdict,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    let kind = match reading.kind {
        Kind::Gross => GROSS,
        Kind::Net => TARE,
        Kind::Tare | Kind::Unknown => return Err(Unsayable::Kind),
    };
    let stable = if moving(reading)? { 0 } else { STABLE };
    out.extend_from_slice(&[STX, ALWAYS | kind | stable | if reading.flags.zero { ZERO } else { 0 }]);
    write_weight(Some(value), 7, b' ', options, out)?;
    out.extend_from_slice(format!("{:>2}", word_of(reading.unit, 2)?).as_bytes());
    out.extend_from_slice(&[b'\r', ETX]);
    Ok(())
}

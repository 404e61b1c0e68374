//! `stx-letter-cr-etx`: a letter and a weight between STX and CR ETX.
//!
//! ```text
//! STX letter sign weight(7) CR ETX        12 bytes
//! ```
//!
//! Known from one capture, in which the letter is `A`. It may be a status letter (`A` to `D`, `E` for out of range) or
//! status bits; nobody has described it, so it tells nothing here, letters but `A` to `D` are refused, and the family is
//! never recognised by itself. No unit: it must be configured.
//!
//! Capture, byte by byte: <https://github.com/qzind/tray/issues/881>.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::column::field;
use crate::dialect::facts::EIGHT_NONE;
use crate::dialect::facts::PLAIN;
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_weight;
use crate::dialect::tell::tell;
use crate::dialect::unit_word::UnitWord;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};

pub(super) const FAMILY: Family =
    Family { name: "stx-letter-cr-etx", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 20),
    poll: None,
    says: Says { unstated: true, ..PLAIN },
    start_mark: true,
    lock_after: None,
};

const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const LENGTH: usize = 12;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTH..=LENGTH, |byte| byte == ETX)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, b'A'..=b'D', ref weight @ .., b'\r', _] = frame else { return Verdict::Refused };
    tell(field(weight, options), UnitWord::Mass(ReadUnit::Unstated), Kind::Unknown, Stability::Unknown)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    if reading.unit != ReadUnit::Unstated {
        return Err(Unsayable::Unit);
    }
    out.extend_from_slice(&[STX, b'A']);
    write_weight(Some(value), 7, b' ', options, out)?;
    out.extend_from_slice(&[b'\r', ETX]);
    Ok(())
}

//! `stx-sign-etx`: a sign and a weight, 10 bytes.
//!
//! ```text
//! STX sign weigh_column(7) ETX
//! ```
//!
//! Nothing else: no unit, no kind, no rest. A column of one filler sign, or a word such as `OL`, gives no weight.
//!
//! Layout: <https://manualshive.com/ru/manual/rinstrum/d32-series/1463198?page=20>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::Says;
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_weight;
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};

pub(super) const FAMILY: Family =
    Family { name: "stx-sign-etx", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts { says: Says { kinds: &[Kind::Unknown], ..PLAIN_BLOCK.says }, ..PLAIN_BLOCK };

const PLACES: [Place; 10] = framed(&[]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref column @ .., _] = frame else { return Verdict::Refused };
    weigh_column(column, b"", Reading::without_weight(Flags::default()), options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, &[])?;
    if !matches!(reading.unit, ReadUnit::Unstated | ReadUnit::Absent) {
        return Err(Unsayable::Unit);
    }
    out.push(STX);
    write_weight(reading.value, 7, b' ', options, out)?;
    out.push(ETX);
    Ok(())
}

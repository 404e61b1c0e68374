//! `stx-sign-etx`: a sign and a weight, 10 bytes.
//!
//! ```text
//! STX sign weight(7) ETX
//! ```
//!
//! Nothing else: no unit, no kind, no rest. A column of one filler sign, or a word such as `OL`, gives no weight.
//!
//! Layout: <https://manualshive.com/ru/manual/rinstrum/d32-series/1463198?page=20>.

use crate::dialect::etx_columns::{ETX, PLAIN, Place, STX, fit, framed, sayable, weight, write_weight};
use crate::dialect::facts::Says;
use crate::dialect::family::{Family, Framing};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};

pub(super) const FAMILY: Family =
    Family { name: "stx-sign-etx", facts: FACTS, framing: Framing::Block(|bytes| fit(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts { says: Says { kinds: &[Kind::Unknown], ..PLAIN.says }, ..PLAIN };

const PLACES: [Place; 10] = framed(&[]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref column @ .., _] = frame else { return Verdict::Refused };
    weight(column, b"", Reading::without_weight(Flags::default()), options)
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

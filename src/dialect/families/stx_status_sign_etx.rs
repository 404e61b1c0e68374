//! `stx-status-sign-etx`: a letter, a sign, a weight and a unit, 14 bytes.
//!
//! ```text
//! STX letter sign weigh_column(7) unit(3) ETX
//! ```
//!
//! Published frames have the letter `N`, net. `G` gross, `M` moving, `O` over, `U` under and `E` error are taken from
//! the letters of like formats (common practice). Rest is told by no other letter.
//!
//! Two frames in hex: <https://azmanual.top/manuals/639344/>, page 20.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::{ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{Letter, STATUS, letter, letter_for};
use crate::dialect::put::{write_unit, write_weight};
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "stx-status-sign-etx", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts { says: Says { units: &Unit::ALL, marks: MARKS, ..PLAIN_BLOCK.says }, ..PLAIN_BLOCK };

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

const PLACES: [Place; 14] = framed(&[(1, STATUS)]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, status, ref column @ .., u1, u2, u3, _] = frame else { return Verdict::Refused };
    let blank = Reading::without_weight(Flags::default());
    let beside = match letter(status) {
        Some(Letter::Of(kind)) => Reading { kind, ..blank },
        Some(Letter::Moving) => Reading { stability: Stability::Motion, ..blank },
        Some(Letter::None(flags)) => Reading::without_weight(flags),
        None => return Verdict::Refused,
    };
    weigh_column(column, &[u1, u2, u3], beside, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if reading.value.is_some() && reading.stability != Stability::Unknown {
        return Err(Unsayable::Stability);
    }
    out.extend_from_slice(&[STX, letter_for(reading)?]);
    write_weight(reading.value, 7, b' ', options, out)?;
    write_unit(reading.unit, 3, out)?;
    out.push(ETX);
    Ok(())
}

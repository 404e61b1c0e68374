//! `stx-sign-flags-etx`: a sign, a weight, four letters and a unit, 17 bytes.
//!
//! ```text
//! STX sign weigh_column(7) S1 S2 S3 S4 unit(3) ETX
//! ```
//!
//! | letter | values |
//! | --- | --- |
//! | S1 | `G` gross, `N` net; `O` over, `U` under, `E` error: no weight |
//! | S2 | `M` moving, blank at rest |
//! | S3 | `Z` centre of zero, else blank |
//! | S4 | the range: `1`, `2`, or `-` where there is one |
//!
//! Scales blank the unit while the load moves. The encoder sends it always, so that a reading has a unit either way.
//!
//! Layout: <https://www.easymanua.ls/rinstrum/c530/manual?p=53>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, any_of, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::{ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{Letter, STATUS, letter, letter_for};
use crate::dialect::put::{write_unit, write_weight};
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "stx-sign-flags-etx", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts {
    says: Says { units: &Unit::ALL, stability: STILL_OR_NOT, marks: MARKS, zero: true, ..PLAIN_BLOCK.says },
    ..PLAIN_BLOCK
};

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

const PLACES: [Place; 17] = framed(&[(9, STATUS), (10, any_of(b"M ")), (11, any_of(b"Z ")), (12, any_of(b"-123 "))]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref column @ .., s1, s2, s3, _, u1, u2, u3, _] = frame else { return Verdict::Refused };
    let stability = if s2 == b' ' { Stability::Stable } else { Stability::Motion };
    let flags = Flags { zero: s3 != b' ', ..Flags::default() };
    let beside = match letter(s1) {
        Some(Letter::Of(kind)) => Reading { kind, stability, ..Reading::without_weight(flags) },
        Some(Letter::None(flags)) => Reading::without_weight(flags),
        Some(Letter::Moving) | None => return Verdict::Refused,
    };
    weigh_column(column, &[u1, u2, u3], beside, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    let s2 = match (reading.value, reading.stability) {
        (_, Stability::Motion) => b'M',
        (Some(_), Stability::Unknown) => return Err(Unsayable::Stability),
        _ => b' ',
    };
    out.push(STX);
    write_weight(reading.value, 7, b' ', options, out)?;
    out.extend_from_slice(&[letter_for(reading)?, s2, if reading.flags.zero { b'Z' } else { b' ' }, b'-']);
    write_unit(reading.unit, 3, out)?;
    out.push(ETX);
    Ok(())
}

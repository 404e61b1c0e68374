//! `stx-sign-status-etx`: a sign, a weight and one letter, 11 bytes.
//!
//! ```text
//! STX sign weigh_column(7) letter ETX
//! ```
//!
//! The letter is one at a time: `G` gross and `N` net, both at rest; `M` moving, which hides the kind; `O` over, `U`
//! under, `E` error, without a weight whatever the column shows. No unit. The encoder says a moving load only where the
//! kind is unknown, since its frame has no place for both.
//!
//! Layout: <https://easymanua.ls/rinstrum/r320/manual/20010?p=46>, also
//! <https://pmc.ncbi.nlm.nih.gov/articles/PMC3230975/table/t1-sensors-10-09337>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::{ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{Letter, STATUS, letter, letter_for};
use crate::dialect::put::write_weight;
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};

pub(super) const FAMILY: Family =
    Family { name: "stx-sign-status-etx", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts { says: Says { stability: &[Stability::Stable], marks: MARKS, ..PLAIN_BLOCK.says }, ..PLAIN_BLOCK };

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

const PLACES: [Place; 11] = framed(&[(9, STATUS)]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref column @ .., status, _] = frame else { return Verdict::Refused };
    let blank = Reading::without_weight(Flags::default());
    let beside = match letter(status) {
        Some(Letter::Of(kind)) => Reading { kind, stability: Stability::Stable, ..blank },
        Some(Letter::Moving) => Reading { stability: Stability::Motion, ..blank },
        Some(Letter::None(flags)) => Reading::without_weight(flags),
        None => return Verdict::Refused,
    };
    weigh_column(column, b"", beside, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    let status = match (reading.value, reading.stability, reading.kind) {
        (None, ..) => letter_for(reading)?,
        (_, Stability::Motion, Kind::Unknown) => b'M',
        (_, Stability::Motion, _) => return Err(Unsayable::Kind),
        (_, Stability::Stable, _) => letter_for(reading)?,
        (_, Stability::Unknown, _) => return Err(Unsayable::Stability),
    };
    if !matches!(reading.unit, ReadUnit::Unstated | ReadUnit::Absent) {
        return Err(Unsayable::Unit);
    }
    out.push(STX);
    write_weight(reading.value, 7, b' ', options, out)?;
    out.extend_from_slice(&[status, ETX]);
    Ok(())
}

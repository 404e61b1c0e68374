//! `stx-weight-letters-etx`: a weight and four letters, 16 bytes.
//!
//! ```text
//! STX weigh_column(8) kind rest range zero SP SP ETX
//! ```
//!
//! | letter | values |
//! | --- | --- |
//! | kind | `G` gross, `N` net |
//! | rest | `S` stable, `M` moving |
//! | range | `I` in range; `O` over, `U` under: no weight |
//! | zero | `Z` centre of zero, else blank |
//!
//! The sign stands in the weight column. No unit.
//!
//! Layout: <https://easymanua.ls/rinstrum/r320/manual/20010?p=46>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, any_of, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::{OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::live_letter;
use crate::dialect::put::write_weight;
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};

pub(super) const FAMILY: Family = Family {
    name: "stx-weight-letters-etx",
    facts: FACTS,
    framing: Framing::Block(|bytes| placed(bytes, &PLACES)),
    decode,
    encode,
};

const FACTS: Facts =
    Facts { says: Says { stability: STILL_OR_NOT, marks: MARKS, zero: true, ..PLAIN_BLOCK.says }, ..PLAIN_BLOCK };

const MARKS: &[Flags] = &[OVER, UNDER];

const PLACES: [Place; 16] = {
    let blank = any_of(b" ");
    framed(&[(9, any_of(b"GN")), (10, any_of(b"MS")), (11, any_of(b"IOU")), (12, any_of(b"Z ")), (13, blank), (14, blank)])
};

/// What the letters for kind, rest and range say, each in either case.
pub(super) fn letters([kind, rest, range]: [u8; 3]) -> Reading {
    let range = range.to_ascii_uppercase();
    Reading {
        kind: if kind.eq_ignore_ascii_case(&b'N') { Kind::Net } else { Kind::Gross },
        stability: if rest.eq_ignore_ascii_case(&b'M') { Stability::Motion } else { Stability::Stable },
        ..Reading::without_weight(Flags { overload: range == b'O', underload: range == b'U', ..Flags::default() })
    }
}

/// The letters of which [`letters`] makes this reading.
pub(super) fn letters_for(reading: &Reading) -> Result<[u8; 3], Unsayable> {
    let kind = if reading.value.is_none() { b'G' } else { live_letter(reading.kind)? };
    let rest = match (reading.value, reading.stability) {
        (_, Stability::Motion) => b'M',
        (Some(_), Stability::Unknown) => return Err(Unsayable::Stability),
        _ => b'S',
    };
    let range = match reading.flags {
        Flags { overload: true, .. } => b'O',
        Flags { underload: true, .. } => b'U',
        _ => b'I',
    };
    Ok([kind, rest, range])
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref column @ .., kind, rest, range, zero, _, _, _] = frame else { return Verdict::Refused };
    let beside = letters([kind, rest, range]);
    weigh_column(column, b"", Reading { flags: Flags { zero: zero != b' ', ..beside.flags }, ..beside }, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if !matches!(reading.unit, ReadUnit::Unstated | ReadUnit::Absent) {
        return Err(Unsayable::Unit);
    }
    out.push(STX);
    write_weight(reading.value, 7, b'0', options, out)?;
    out.extend_from_slice(&letters_for(reading)?);
    out.extend_from_slice(&[if reading.flags.zero { b'Z' } else { b' ' }, b' ', b' ', ETX]);
    Ok(())
}

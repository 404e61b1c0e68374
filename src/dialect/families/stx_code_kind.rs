//! `stx-code-kind`: a code for kind and unit, then six digits, 11 bytes.
//!
//! ```text
//! STX code(2) SP digits(6) ETX
//! ```
//!
//! | code | 40 | 41 | 42 | 43 | 44 | 45 |
//! | --- | --- | --- | --- | --- | --- | --- |
//! | meaning | gross lb | net lb | tare lb | gross kg | net kg | tare kg |
//!
//! As published the digits have no point: how many are decimals must be configured. A point among the digits, blanks for
//! leading zeros and a sign in the place of the blank are taken too (our own leniency). Rest and overload are not told.
//!
//! Layout: <https://manualshive.com/en/manual/brecknell/rd65/2806420?page=8>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, any_of, framed, placed};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::Says;
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_weight;
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "stx-code-kind", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts {
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram],
        unstated: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        // Five digits and their point.
        most: 99_999,
        decimals: (0, 4),
        ..PLAIN_BLOCK.says
    },
    ..PLAIN_BLOCK
};

const PLACES: [Place; 11] = framed(&[(1, any_of(b"4")), (2, any_of(b"012345")), (3, any_of(b" +-"))]);

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, _, code, ref column @ .., _] = frame else { return Verdict::Refused };
    let kind = match code {
        b'0' | b'3' => Kind::Gross,
        b'1' | b'4' => Kind::Net,
        _ => Kind::Tare,
    };
    let unit: &[u8] = if code < b'3' { b"lb" } else { b"kg" };
    weigh_column(column, unit, Reading { kind, ..Reading::without_weight(Flags::default()) }, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, &[])?;
    let pounds = match reading.kind {
        Kind::Gross => b'0',
        Kind::Net => b'1',
        Kind::Tare => b'2',
        Kind::Unknown => return Err(Unsayable::Kind),
    };
    let code = match reading.unit {
        ReadUnit::Stated(Unit::Pound) => pounds,
        ReadUnit::Stated(Unit::Kilogram) => pounds + 3,
        _ => return Err(Unsayable::Unit),
    };
    out.extend_from_slice(&[STX, b'4', code]);
    write_weight(reading.value, 6, b'0', options, out)?;
    out.push(ETX);
    Ok(())
}

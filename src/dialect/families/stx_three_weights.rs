//! `stx-three-weights`: gross, tare and net in one frame, 32 bytes.
//!
//! ```text
//! STX gross(8) tare(8) net(8) kind rest range x SP SP ETX
//! ```
//!
//! The letters are those of `stx-weight-letters-etx`; `x` is not used. A frame gives all three weights in that order, and
//! none where gross less tare is not net. No unit. A blank column tells nothing and is left out: so the encoder, which
//! has one reading at a time, fills one column alone.
//!
//! Layout: <https://manualshive.com/en/manual/rinstrum/d32-series/1463198?page=25>. Blank columns are our own leniency.

use super::stx_weight_letters_etx::{letters, letters_for};
use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, TEXT, any_of, framed, placed};
use crate::dialect::column::{Field, field};
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::{OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_weight;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};
use crate::measure::Displayed;

pub(super) const FAMILY: Family =
    Family { name: "stx-three-weights", facts: FACTS, framing: Framing::Block(|bytes| placed(bytes, &PLACES)), decode, encode };

const FACTS: Facts = Facts {
    rate: (1, 10),
    says: Says { kinds: &[Kind::Gross, Kind::Net, Kind::Tare], stability: STILL_OR_NOT, marks: MARKS, ..PLAIN_BLOCK.says },
    ..PLAIN_BLOCK
};

const MARKS: &[Flags] = &[OVER, UNDER];

const PLACES: [Place; 32] = {
    let blank = any_of(b" ");
    framed(&[(25, any_of(b"GN")), (26, any_of(b"MS")), (27, any_of(b"IOU")), (28, TEXT), (29, blank), (30, blank)])
};

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref columns @ .., kind, rest, range, _, _, _, _] = frame else { return Verdict::Refused };
    let beside = letters([kind, rest, range]);
    if beside.flags != Flags::default() {
        return Verdict::Reading(beside);
    }
    let mut weights = [None; 3];
    for (weight, column) in weights.iter_mut().zip(columns.chunks(8)) {
        *weight = match field(column, options) {
            Some(Field::Weight(value)) => Some(value),
            Some(Field::Blank) => None,
            Some(Field::Filled(flags)) => return Verdict::Reading(Reading { flags, ..beside }),
            None => return Verdict::Refused,
        };
    }
    let agree = match weights {
        [Some(gross), tare, Some(net)] => adds_up(gross, tare.unwrap_or(Displayed { count: 0, exponent: 0 }), net),
        all => all != [None; 3],
    };
    if !agree {
        return Verdict::Refused;
    }
    let [gross, tare, net] = weights;
    let told = |value: Option<Displayed>, kind| {
        value.map(|value| Reading { value: Some(value), unit: ReadUnit::Unstated, kind, ..beside })
    };
    Verdict::Several([told(gross, Kind::Gross), told(tare, Kind::Tare), told(net, Kind::Net)])
}

/// Whether gross less tare is net, whatever decimals each shows.
fn adds_up(gross: Displayed, tare: Displayed, net: Displayed) -> bool {
    let finest = gross.exponent.min(tare.exponent).min(net.exponent);
    let fine = |shown: Displayed| 10_i64.checked_pow(u32::from(shown.exponent.abs_diff(finest)))?.checked_mul(shown.count);
    match (fine(gross), fine(tare), fine(net)) {
        (Some(gross), Some(tare), Some(net)) => gross.checked_sub(tare) == Some(net),
        _ => false,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if !matches!(reading.unit, ReadUnit::Unstated | ReadUnit::Absent) {
        return Err(Unsayable::Unit);
    }
    // The tare has a column, but no letter of its own.
    let shown = if reading.kind == Kind::Tare { Kind::Net } else { reading.kind };
    let letters = letters_for(&Reading { kind: shown, ..*reading })?;
    out.push(STX);
    for kind in [Kind::Gross, Kind::Tare, Kind::Net] {
        write_weight(reading.value.filter(|_| reading.kind == kind), 7, b'0', options, out)?;
    }
    out.extend_from_slice(&letters);
    out.extend_from_slice(&[b' ', b' ', b' ', ETX]);
    Ok(())
}

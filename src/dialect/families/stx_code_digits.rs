//! `stx-code-digits`: a unit code, polarity, decimals and eight digits between STX and CR.
//!
//! ```text
//! STX 4 1 unit(2) polarity decimals digits(8) CR        16 bytes
//! ```
//!
//! The unit is `55` kg, `56` lb, `57` g, `58` oz or `59` newton, which is no mass; the polarity `0` plus or `1` minus;
//! decimals `0` to `3`. Nothing tells rest from motion or gross from net.
//!
//! Layout: <https://www.easymanua.ls/lutron-electronics/fr-5120/manual?p=11>; that STX and CR are 02 and 0D is from memory.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::facts::EIGHT_NONE;
use crate::dialect::facts::PLAIN;
use crate::dialect::family::{Family, Framing};
use crate::dialect::tell::nothing;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Says, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "stx-code-digits", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600],
    rate: (1, 10),
    poll: None,
    says: Says { units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Ounce], most: 99_999_999, decimals: (0, 3), ..PLAIN },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
const LENGTH: usize = 16;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTH..=LENGTH, |byte| byte == b'\r')
}

fn decode(frame: &[u8], _: &Options) -> Verdict {
    let &[_, b'4', b'1', b'5', unit, polarity, decimals @ b'0'..=b'3', ref digits @ .., _] = frame else {
        return Verdict::Refused;
    };
    let (b'0' | b'1', Ok(size)) = (polarity, Displayed::from_digits(digits.trim_ascii_start())) else { return Verdict::Refused };
    let unit = match unit {
        b'5' => Unit::Kilogram,
        b'6' => Unit::Pound,
        b'7' => Unit::Gram,
        b'8' => Unit::Ounce,
        b'9' => return nothing(Kind::Unknown, Flags::default()),
        _ => return Verdict::Refused,
    };
    if digits.contains(&b'.') {
        return Verdict::Refused;
    }
    let exponent = -i8::try_from(decimals - b'0').unwrap_or_default();
    let count = if polarity == b'1' { -size.count } else { size.count };
    Verdict::Reading(Reading {
        value: Some(Displayed { count, exponent }),
        unit: ReadUnit::Stated(unit),
        ..Reading::without_weight(Flags::default())
    })
}

fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    let unit = match reading.unit {
        ReadUnit::Stated(Unit::Kilogram) => 5,
        ReadUnit::Stated(Unit::Pound) => 6,
        ReadUnit::Stated(Unit::Gram) => 7,
        ReadUnit::Stated(Unit::Ounce) => 8,
        _ => return Err(Unsayable::Unit),
    };
    let size = value.count.unsigned_abs();
    if size > 99_999_999 {
        return Err(Unsayable::TooWide);
    }
    let decimals = u8::try_from(-i16::from(value.exponent)).ok().filter(|places| *places <= 3).ok_or(Unsayable::Point)?;
    let polarity = u8::from(value.count < 0);
    out.push(STX);
    out.extend_from_slice(format!("415{unit}{polarity}{decimals}{size:08}\r").as_bytes());
    Ok(())
}

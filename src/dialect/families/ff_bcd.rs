//! `ff-bcd`: six binary bytes, the weight in packed decimal digits.
//!
//! ```text
//! FF flags low middle high unit
//! ```
//!
//! Flags: bits 0–2 decimals (0 to 5), bits 3–4 mode (0 weighing, 1 counting, 2 per cent), bit 5 below zero, bit 6 stable,
//! bit 7 out of range, where bit 5 tells the direction. Three bytes of two digits each, the lowest first; unit 0 kg, 1 lb.
//!
//! Six decimals and mode 3 do not exist, so FF is none of the bytes behind the first and opens a frame wherever it
//! stands. A telnet bridge that doubles FF does no harm. There is no checksum, and any byte can be a digit: the family is
//! never recognised by itself. Eight data bits, no parity.
//!
//! Layout: <https://manualshive.com/ru/manual/yousheng/jcs-b-series/3588043?page=6>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_framer::Fit;
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::tell::beside;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "ff-bcd", facts: FACTS, framing: Framing::Binary(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 80),
    poll: None,
    says: Says { units: &[Unit::Kilogram, Unit::Pound], stability: STILL_OR_NOT, marks: &[OVER, UNDER], ..PLAIN },
    start_mark: true,
    lock_after: None,
};

const START: u8 = 0xff;
const LENGTH: usize = 6;

fn fit(seen: &[u8]) -> Fit {
    match *seen {
        [START] => Fit::Open,
        // The second half of a doubled start, or the end of a dead line.
        [START, START] => Fit::Whole(1),
        [START, .., START] => Fit::Never,
        [START, ..] if seen.len() < LENGTH => Fit::Open,
        [START, ..] => Fit::Whole(LENGTH),
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], _: &Options) -> Verdict {
    let &[START, flags, low, middle, high, unit] = frame else { return Verdict::Quiet };
    let (decimals, mode) = (flags & 0x07, flags >> 3 & 0x03);
    let size = [high, middle, low].iter().try_fold(0_i64, |size, &byte| {
        let (tens, ones) = (byte >> 4, byte & 0x0f);
        (tens <= 9 && ones <= 9).then(|| size * 100 + i64::from(tens * 10 + ones))
    });
    let unit = match unit {
        0 => Unit::Kilogram,
        1 => Unit::Pound,
        _ => return Verdict::Refused,
    };
    let (Some(size), 0..=5, 0..=2) = (size, decimals, mode) else { return Verdict::Refused };
    let negative = flags & 0x20 != 0;
    let stability = if flags & 0x40 != 0 { Stability::Stable } else { Stability::Motion };
    if flags & 0x80 != 0 {
        return Verdict::Reading(Reading { flags: if negative { UNDER } else { OVER }, ..beside(Kind::Unknown, stability) });
    }
    if mode != 0 {
        return Verdict::Reading(beside(Kind::Unknown, stability));
    }
    let exponent = -i8::try_from(decimals).unwrap_or_default();
    Verdict::Reading(Reading {
        value: Some(Displayed { count: if negative { -size } else { size }, exponent }),
        unit: ReadUnit::Stated(unit),
        stability,
        ..Reading::without_weight(Flags::default())
    })
}

fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let said = said(reading, FACTS.says.marks)?;
    let (value, range) = match said {
        Said::Weight(value) => (value, 0),
        Said::Mark(flags) => (Displayed { count: if flags.underload { -999_999 } else { 999_999 }, exponent: 0 }, 0x80),
    };
    let unit = match (reading.unit, said) {
        (ReadUnit::Stated(Unit::Kilogram), _) | (_, Said::Mark(_)) => 0,
        (ReadUnit::Stated(Unit::Pound), _) => 1,
        _ => return Err(Unsayable::Unit),
    };
    let size = value.count.unsigned_abs();
    if size > 999_999 {
        return Err(Unsayable::TooWide);
    }
    let decimals = u8::try_from(-i16::from(value.exponent)).ok().filter(|places| *places <= 5).ok_or(Unsayable::Point)?;
    let stable = if moving(reading)? { 0 } else { 0x40 };
    let negative = if value.count < 0 { 0x20 } else { 0 };
    let two_digits = |place: u64| {
        let pair = (size / place % 100) as u8;
        pair / 10 * 16 + pair % 10
    };
    out.extend_from_slice(&[START, decimals | negative | stable | range]);
    out.extend_from_slice(&[two_digits(1), two_digits(100), two_digits(10_000), unit]);
    Ok(())
}

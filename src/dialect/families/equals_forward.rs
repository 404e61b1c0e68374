//! `equals-forward`: an equals sign, the sign and the digits, the highest first; no unit and no line end.
//!
//! ```text
//! = sign digits(7, highest first, point among them)       9 bytes
//! ```
//!
//! The sign is `0` or `-`; a blank and `+` are taken for plus. 3.000 is `=0003.000`. Frames run on with nothing between
//! them but the next `=`; a third form adds `;` and a price, which is passed over.
//!
//! `reversed-digits` sends the same bytes in the other order, and no frame tells which it is. So this family is never
//! recognised by itself: a person names it and compares with a known weight. A field of nothing but nines is a display
//! that has run over (common practice, not from a published table).
//!
//! Both orders, with examples: <http://88.208.23.73:8080/en/manual/nikcell/xk3190-a26/1689210?page=13>; also
//! <https://www.easymanua.ls/yaohua-weighing-system/xk3190-a22/manual?p=13>.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::{Field, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, OVER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_zero_padded;
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::UnitWord;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::Displayed;

pub(super) const FAMILY: Family = Family { name: "equals-forward", facts: FACTS, framing: Framing::Block(fit), decode, encode };

pub(super) const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 600],
    rate: (5, 60),
    // The commands of the family hold the letters for zero and tare as well, and reading needs none.
    poll: None,
    says: Says { unstated: true, ..PLAIN },
    start_mark: true,
    lock_after: None,
};

const LENGTH: usize = 9;

/// `=` opens a frame and stands nowhere else.
pub(super) fn fit(seen: &[u8]) -> Fit {
    match *seen {
        [b'='] => Fit::Open,
        [b'=', .., b'=' | b'\r' | b'\n'] => Fit::Never,
        [b'=', ..] if seen.len() == LENGTH => Fit::Whole(LENGTH),
        [b'=', ..] => Fit::Open,
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, sign, a, b, c, d, e, f, g] = frame else { return Verdict::Refused };
    read(sign, [a, b, c, d, e, f, g], options)
}

/// Reads the digits, highest first.
pub(super) fn read(sign: u8, digits: [u8; 7], options: &Options) -> Verdict {
    let negative = match sign {
        b'-' => true,
        b'0' | b' ' | b'+' => false,
        _ => return Verdict::Refused,
    };
    if !digits.iter().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b',' | b' ')) || digits.ends_with(b" ") {
        return Verdict::Refused;
    }
    if is_filled(&digits) {
        return nothing(Kind::Unknown, OVER);
    }
    let value = match field(&digits, options) {
        Some(Field::Weight(value)) if negative => Some(Field::Weight(value.negated())),
        other => other,
    };
    tell(value, UnitWord::Mass(ReadUnit::Unstated), Kind::Unknown, Stability::Unknown)
}

fn is_filled(digits: &[u8]) -> bool {
    digits.iter().all(|byte| matches!(byte, b'9' | b'.' | b','))
}

/// Whether it is below zero, and its digits in seven columns, highest first.
pub(super) fn write(reading: &Reading, options: &Options) -> Result<(bool, Vec<u8>), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    if reading.unit != ReadUnit::Unstated {
        return Err(Unsayable::Unit);
    }
    let size = Displayed { count: value.count.checked_abs().ok_or(Unsayable::TooWide)?, ..value };
    let mut digits = Vec::with_capacity(7);
    write_zero_padded(size, 7, options, &mut digits)?;
    if is_filled(&digits) { Err(Unsayable::TooWide) } else { Ok((value.count < 0, digits)) }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let (negative, digits) = write(reading, options)?;
    out.extend_from_slice(if negative { b"=-" } else { b"=0" });
    out.extend_from_slice(&digits);
    Ok(())
}

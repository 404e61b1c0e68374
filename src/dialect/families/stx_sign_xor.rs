//! `stx-sign-xor`: a sign, six digits and the place of the point, with a checksum, 12 bytes.
//!
//! ```text
//! STX sign digits(6) dp X1 X2 ETX
//! ```
//!
//! `dp` is `0` to `4`: so many of the digits are decimals. X1 X2 are the exclusive or of the eight bytes from the sign to
//! `dp` as two hexadecimal figures, upper case as published; lower case is taken too, and blanks for leading zeros.
//! Neither unit nor kind nor rest is told.
//!
//! Layout: <http://88.208.23.73:8080/en/manual/nikcell/xk3190-a26/1689210?page=12>,
//! <https://www.easymanua.ls/yaohua-weighing-system/xk3190-a23p/manual?p=23>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::{ETX, Place, STX, any_of, framed, placed};
use crate::dialect::block_framer::Fit;
use crate::dialect::facts::PLAIN_BLOCK;
use crate::dialect::facts::Says;
use crate::dialect::family::{Family, Framing};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Unsayable};
use crate::measure::Displayed;

pub(super) const FAMILY: Family = Family {
    name: "stx-sign-xor",
    facts: FACTS,
    framing: Framing::Block(|bytes| -> Fit { placed(bytes, &PLACES) }),
    decode,
    encode,
};

const FACTS: Facts = Facts {
    // The read letters of its addressed form stand beside letters that zero and tare.
    poll: None,
    speeds: &[9600, 4800, 2400, 1200],
    says: Says { kinds: &[Kind::Unknown], decimals: (0, 4), ..PLAIN_BLOCK.says },
    lock_after: Some(3),
    ..PLAIN_BLOCK
};

const PLACES: [Place; 12] = {
    let (digit, figure) = (any_of(b"0123456789 "), any_of(b"0123456789ABCDEF"));
    framed(&[
        (1, any_of(b"+- ")),
        (2, digit),
        (3, digit),
        (4, digit),
        (5, digit),
        (6, digit),
        (7, digit),
        (8, any_of(b"0123456789")),
        (9, figure),
        (10, figure),
    ])
};

const DECIMALS_MAX: u8 = 4;

fn decode(frame: &[u8], _: &Options) -> Verdict {
    let &[_, ref body @ .., x1, x2, _] = frame else { return Verdict::Refused };
    let &[sign, ref digits @ .., dp] = body else { return Verdict::Refused };
    if [x1, x2].map(|figure| figure.to_ascii_uppercase()) != checksum(body) || dp > b'0' + DECIMALS_MAX {
        return Verdict::Refused;
    }
    let Ok(shown) = Displayed::from_digits(digits.trim_ascii_start()) else { return Verdict::Refused };
    let value = Displayed { exponent: -((dp - b'0') as i8), ..shown };
    let value = if sign == b'-' { value.negated() } else { value };
    Verdict::Reading(Reading { value: Some(value), unit: ReadUnit::Unstated, ..Reading::without_weight(Flags::default()) })
        .checked()
}

fn checksum(body: &[u8]) -> [u8; 2] {
    const FIGURES: &[u8; 16] = b"0123456789ABCDEF";
    let sum = body.iter().fold(0, |sum, byte| sum ^ byte);
    [FIGURES[usize::from(sum >> 4)], FIGURES[usize::from(sum & 0x0f)]]
}

fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, &[])?;
    let Some(value) = reading.value else { return Err(Unsayable::Nothing) };
    if !matches!(reading.unit, ReadUnit::Unstated | ReadUnit::Absent) {
        return Err(Unsayable::Unit);
    }
    let dp = u8::try_from(-i16::from(value.exponent)).ok().filter(|dp| *dp <= DECIMALS_MAX).ok_or(Unsayable::Point)?;
    let digits = value.count.unsigned_abs();
    if digits > 999_999 {
        return Err(Unsayable::TooWide);
    }
    let sign = if value.count < 0 { '-' } else { '+' };
    out.push(STX);
    let start = out.len();
    out.extend_from_slice(format!("{sign}{digits:06}{dp}").as_bytes());
    let sum = checksum(&out[start..]);
    out.extend_from_slice(&sum);
    out.push(ETX);
    Ok(())
}

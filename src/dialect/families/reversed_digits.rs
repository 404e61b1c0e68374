//! `reversed-digits`: an equals sign and the digits, the lowest first; no unit and no line end.
//!
//! ```text
//! = digits(7, lowest first, point among them) sign        9 bytes
//! ```
//!
//! The sign is `0` or `-`; a blank and `+` are taken for plus. 3.000 is `=000.3000`, -1.00 is `=00.1000-`. Frames run on
//! with nothing between them but the next `=`.
//!
//! `equals-forward` sends the same bytes in the other order, and no frame tells which it is: `=043.2100` is 12.340 here
//! and 43.2100 there. So this family is never recognised by itself: a person names it and compares with a known weight.
//! A field of nothing but nines is a display that has run over (common practice, not from a published table).
//!
//! Both orders, with examples: <http://88.208.23.73:8080/en/manual/nikcell/xk3190-a26/1689210?page=13>; also
//! <https://www.easymanua.ls/yaohua-weighing-system/xk3190-a23p/manual?p=23>.

use super::equals_forward::{FACTS, fit, read, write};
use crate::dialect::family::{Family, Framing};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Options, Reading, Unsayable};

pub(super) const FAMILY: Family = Family { name: "reversed-digits", facts: FACTS, framing: Framing::Block(fit), decode, encode };

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, a, b, c, d, e, f, g, sign] = frame else { return Verdict::Refused };
    read(sign, [g, f, e, d, c, b, a], options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let (sign, mut digits) = write(reading, options)?;
    digits.reverse();
    out.push(b'=');
    out.extend_from_slice(&digits);
    out.push(if sign { b'-' } else { b'0' });
    Ok(())
}

//! `two-letter-xor`: two letters, a weight, a unit and their exclusive or.
//!
//! ```text
//! WG|WN weight(7) unit(2) X1 X2 CR LF                    15 bytes
//! blanks(9) OL|LO 2 3 CR LF                              over, under range
//! ```
//!
//! `WG` is gross, `WN` net. A minus takes the first digit column; without a point the last column is blank. X1 X2 are
//! the exclusive or of the first 11 bytes, in hexadecimal. Nothing tells rest from motion. A frame counts when its line
//! end has come, or the next frame in its place.
//!
//! Layout, with an example in hex and both range forms:
//! <https://www.easymanua.ls/yaohua-weighing-system/xk3190-a12e/manual?p=13>.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::ends_line;
use crate::dialect::block_framer::Fit;
use crate::dialect::checksum::{hex_pair, xor};
use crate::dialect::column::field;
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, OVER, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::live_letter;
use crate::dialect::put::{word_of, write_zero_padded};
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family = Family { name: "two-letter-xor", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (5, 20),
    // The letters of the family zero and tare.
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Tonne, Unit::Ounce],
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        marks: &[OVER, UNDER],
        most: 99_999,
        decimals: (0, 4),
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(3),
};

/// Bytes before the line end.
const LENGTH: usize = 13;
const BLANKS: &[u8; 9] = b"         ";

fn fit(seen: &[u8]) -> Fit {
    let last = seen[seen.len() - 1];
    match (seen[0], seen.len()) {
        (b'W', 1) => Fit::Open,
        (b'W', 2) if !matches!(last, b'G' | b'N') => Fit::Never,
        (b' ', ..=9) if last == b' ' => Fit::Open,
        (b' ', ..10) => Fit::Never,
        (b' ', 10) if !matches!(last, b'O' | b'L') => Fit::Never,
        (b'W' | b' ', ..=LENGTH) if ends_line(last) || last == b'W' => Fit::Never,
        (b'W' | b' ', ..=LENGTH) => Fit::Open,
        (b'W' | b' ', _) if ends_line(last) => Fit::Whole(LENGTH + 1),
        // The line end was lost, and this is the next frame.
        (b'W' | b' ', _) if matches!(last, b'W' | b' ') => Fit::Whole(LENGTH),
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let Some((body, [x1, x2, ..])) = frame.split_at_checked(11) else { return Verdict::Refused };
    if hex_pair(*x1, *x2) != Some(xor(body)) || (body[0] == b' ' && !body.starts_with(BLANKS)) {
        return Verdict::Refused;
    }
    read(body, options).checked()
}

/// What stands before the checksum.
fn read(body: &[u8], options: &Options) -> Verdict {
    let &[first, second, .., u1, u2] = body else { return Verdict::Refused };
    let kind = match (first, second, u1, u2) {
        (b'W', b'G', ..) => Kind::Gross,
        (b'W', b'N', ..) => Kind::Net,
        (b' ', _, b'O', b'L') => return nothing(Kind::Unknown, OVER),
        (b' ', _, b'L', b'O') => return nothing(Kind::Unknown, UNDER),
        _ => return Verdict::Refused,
    };
    tell(field(&body[2..9], options), unit_word(body[9..].trim_ascii(), options), kind, Stability::Unknown)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let start = out.len();
    match said(reading, FACTS.says.marks)? {
        Said::Mark(flags) => {
            out.extend_from_slice(BLANKS);
            out.extend_from_slice(if flags.overload { b"OL" } else { b"LO" });
        }
        Said::Weight(value) => {
            out.extend_from_slice(&[b'W', live_letter(reading.kind)?]);
            let whole = out.len();
            write_zero_padded(value, if value.exponent == 0 { 6 } else { 7 }, options, out)?;
            out.resize(whole + 7, b' ');
            out.extend_from_slice(format!("{:2}", word_of(reading.unit, 2)?).as_bytes());
        }
    }
    let sum = xor(&out[start..]);
    out.extend_from_slice(format!("{sum:02X}\r\n").as_bytes());
    Ok(())
}

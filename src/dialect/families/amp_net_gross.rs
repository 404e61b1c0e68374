//! `amp-net-gross`: net and gross in one frame, between an ampersand and CR.
//!
//! ```text
//! & N net(6) L gross(6) \ X1 X2 CR        19 bytes
//! ```
//!
//! X1 X2 are the exclusive or of the bytes between `&` and `\`, in hexadecimal. A minus takes the first digit. No point, no
//! unit and nothing about motion. A weight is replaced by a word while there is none (`ErOL` over range, other `Er…`,
//! dashes: from memory); a blank field tells nothing. Two readings come out, the gross one last.
//!
//! Layout: <https://www.manualslib.com/manual/1784246/Laumas-Tlu.html?page=26>.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::checksum::{hex_pair, xor};
use crate::dialect::column::{Field, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_zero_padded;
use crate::dialect::tell::nothing;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Says, Unsayable};

pub(super) const FAMILY: Family = Family { name: "amp-net-gross", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        marks: &[OVER, ERROR],
        most: 99_999,
        decimals: (0, 0),
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(3),
};

const LENGTH: usize = 19;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, b'&', LENGTH..=LENGTH, |byte| byte == b'\r')
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref body @ .., b'\\', x1, x2, _] = frame else { return Verdict::Refused };
    let Some((&[b'N', ref net @ ..], &[b'L', ref gross @ ..])) = body.split_at_checked(7) else { return Verdict::Refused };
    if hex_pair(x1, x2) != Some(xor(body)) {
        return Verdict::Refused;
    }
    let (Some(net), Some(gross)) = (half(net, options), half(gross, options)) else { return Verdict::Refused };
    let weight = |shown, kind| match shown {
        Field::Weight(value) => {
            Some(Reading { value: Some(value), unit: ReadUnit::Unstated, kind, ..Reading::without_weight(Flags::default()) })
        }
        Field::Filled(_) | Field::Blank => None,
    };
    let verdict = match (weight(net, Kind::Net), weight(gross, Kind::Gross), net, gross) {
        (None, None, Field::Filled(flags), _) | (None, None, _, Field::Filled(flags)) => nothing(Kind::Unknown, flags),
        (None, None, ..) => nothing(Kind::Unknown, Flags::default()),
        (net, gross, ..) => Verdict::Several([None, net, gross]),
    };
    verdict.checked()
}

/// A weight, or why there is none.
fn half(text: &[u8], options: &Options) -> Option<Field> {
    match text.trim_ascii() {
        b"ErOL" => Some(Field::Filled(OVER)),
        [b'E', b'r', ..] => Some(Field::Filled(ERROR)),
        _ => field(text, options),
    }
}

/// With the one field that the reading is of, and the other blank.
fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let start = out.len() + 1;
    out.extend_from_slice(b"&N");
    match (said(reading, FACTS.says.marks)?, reading.kind) {
        (Said::Mark(flags), _) if flags.overload => out.extend_from_slice(b"  ErOLL  ErOL"),
        (Said::Mark(_), _) => out.extend_from_slice(b"------L------"),
        (Said::Weight(_), _) if reading.unit != ReadUnit::Unstated => return Err(Unsayable::Unit),
        (Said::Weight(value), Kind::Net) => {
            write_zero_padded(value, 6, options, out)?;
            out.extend_from_slice(b"L      ");
        }
        (Said::Weight(value), Kind::Gross) => {
            out.extend_from_slice(b"      L");
            write_zero_padded(value, 6, options, out)?;
        }
        (Said::Weight(_), Kind::Tare | Kind::Unknown) => return Err(Unsayable::Kind),
    }
    let sum = xor(&out[start..]);
    out.extend_from_slice(format!("\\{sum:02X}\r").as_bytes());
    Ok(())
}

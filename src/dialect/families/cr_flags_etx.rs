//! `cr-flags-etx`: a weight, small letters and a unit between CR and ETX.
//!
//! ```text
//! CR polarity weight(7) m|o|SP SP unit(2) SP g|n SP SP ETX        18 bytes
//! ```
//!
//! Six digits and a point, leading zeros kept. `m` is motion, `o` out of range, where the polarity tells the direction;
//! `g` gross, `n` net. Letters are taken in either case.
//!
//! Layout: <https://www.manualsdir.com/manuals/347095/fairbanks-fb6002-instrumentation-fb6001-instrumentation.html?page=78>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::column::{beyond, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{gross_or_net, live_letter};
use crate::dialect::put::{word_of, write_zero_padded};
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "cr-flags-etx", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram, Unit::Gram, Unit::Tonne, Unit::Ounce],
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER],
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const CR: u8 = b'\r';
const ETX: u8 = 0x03;
const LENGTH: usize = 18;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, CR, LENGTH..=LENGTH, |byte| byte == ETX)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref weight @ .., status, b' ', u1, u2, b' ', kind, b' ', b' ', _] = frame else { return Verdict::Refused };
    let Some(kind) = gross_or_net(kind) else { return Verdict::Refused };
    let stability = match status.to_ascii_lowercase() {
        b' ' => Stability::Stable,
        b'm' => Stability::Motion,
        b'o' => return nothing(kind, beyond(weight)),
        _ => return Verdict::Refused,
    };
    match [u1, u2].trim_ascii() {
        [] => Verdict::Refused,
        word => tell(field(weight, options), unit_word(word, options), kind, stability),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let kind = live_letter(reading.kind)?.to_ascii_lowercase();
    let moving = moving(reading)?;
    let (value, status, unit) = match said(reading, FACTS.says.marks)? {
        Said::Weight(_) if reading.unit == ReadUnit::Unstated => return Err(Unsayable::Unit),
        Said::Weight(value) => (value, if moving { b'm' } else { b' ' }, reading.unit),
        // What the display last held is sent on; the letter says that it is no weight.
        Said::Mark(flags) => {
            let count = if flags.underload { -999_999 } else { 999_999 };
            (Displayed { count, exponent: -2 }, b'o', ReadUnit::Stated(Unit::Pound))
        }
    };
    out.extend_from_slice(&[CR, if value.count < 0 { b'-' } else { b'+' }]);
    let size = Displayed { count: value.count.checked_abs().ok_or(Unsayable::TooWide)?, ..value };
    let start = out.len();
    write_zero_padded(size, if value.exponent == 0 { 6 } else { 7 }, options, out)?;
    // Without decimals the point stands behind the last digit.
    out.resize(start + 7, b'.');
    out.extend_from_slice(&[status, b' ']);
    out.extend_from_slice(format!("{:>2}", word_of(unit, 2)?).as_bytes());
    out.extend_from_slice(&[b' ', kind, b' ', b' ', ETX]);
    Ok(())
}

//! `cr-embedded-etx`: a weight, a status letter, a unit and a mode between CR and ETX.
//!
//! ```text
//! CR sign weight(7) status unit(2) mode ETX        14 bytes
//! ```
//!
//! The status is `m` motion, `o` over capacity (the sign tells the direction), `e` not to be shown, or blank; the mode
//! `G` gross or `N` net. Letters are taken in either case.
//!
//! Layout: <https://www.easymanua.ls/cardinal/225/manual/112006?p=128>; status letters:
//! <https://www.easymanua.ls/cardinal/200/manual?p=43>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::column::{beyond, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{gross_or_net, live_letter};
use crate::dialect::put::{word_of, write_weight};
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "cr-embedded-etx", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram, Unit::Gram, Unit::Tonne, Unit::Ounce],
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const CR: u8 = b'\r';
const ETX: u8 = 0x03;
const LENGTH: usize = 14;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, CR, LENGTH..=LENGTH, |byte| byte == ETX)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref weight @ .., status, u1, u2, mode, _] = frame else { return Verdict::Refused };
    let Some(kind) = gross_or_net(mode) else { return Verdict::Refused };
    let stability = match status.to_ascii_lowercase() {
        b' ' => Stability::Stable,
        b'm' => Stability::Motion,
        b'o' => return nothing(kind, beyond(weight)),
        b'e' => return nothing(kind, ERROR),
        _ => return Verdict::Refused,
    };
    tell(field(weight, options), unit_word([u1, u2].trim_ascii(), options), kind, stability)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let mode = live_letter(reading.kind)?;
    let moving = moving(reading)?;
    let (value, status) = match said(reading, FACTS.says.marks)? {
        Said::Weight(value) => (value, if moving { b'm' } else { b' ' }),
        Said::Mark(flags) => {
            let count = if flags.underload { -99_999 } else { 99_999 };
            (Displayed { count, exponent: -2 }, if flags.error { b'e' } else { b'o' })
        }
    };
    out.push(CR);
    write_weight(Some(value), 7, b' ', options, out)?;
    out.push(status);
    out.extend_from_slice(format!("{:>2}", word_of(reading.unit, 2)?).as_bytes());
    out.extend_from_slice(&[mode, ETX]);
    Ok(())
}

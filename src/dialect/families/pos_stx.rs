//! `pos-stx`: the answer of a retail scale to `W`: digits behind STX, or a status instead of them.
//!
//! ```text
//! STX digits [N | unit] CR           a valid weight at rest, and nothing else, is sent as digits
//! STX ? status CR                    why there is none
//! ```
//!
//! Five digits are usual, two of them decimals in pounds, three in kilograms. `N` behind them marks a net weight.
//!
//! | status bit | 0 | 1 | 2 | 3 | 4 | 5, 6 |
//! | --- | --- | --- | --- | --- | --- | --- |
//! | 1 means | moving | over capacity | under zero | outside the range for zeroing | centre of zero | always |
//!
//! The unit is not sent: it must be configured. What an echo or a test mode answers behind STX is no number and is
//! refused. A minus is not in the published layout, since below zero there is no weight; it is read and written all
//! the same.
//!
//! Replies:
//! <https://manualshive.com/en/manual/brecknell/67-u-series/67-u-series_service-manual_2806426-74.html>,
//! <https://www.easymanua.ls/brecknell/6702u/manual?p=75>.

use crate::dialect::asked::to_send;
use crate::dialect::block_framer::Fit;
use crate::dialect::facts::{OVER, SEVEN_EVEN, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{number, write_digits};
use crate::dialect::tell::{beside, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};

pub(super) const FAMILY: Family = Family { name: "pos-stx", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: SEVEN_EVEN,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (1, 10),
    poll: Some(b"W"),
    says: Says {
        units: &[],
        unstated: true,
        pound_ounce: false,
        // Net is marked at some scales only, gross at none.
        kinds: &[Kind::Unknown],
        stability: &[Stability::Stable],
        marks: &[OVER, UNDER],
        zero: false,
        news: &[],
        division: false,
        most: 99_999,
        decimals: (0, 4),
    },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
const CR: u8 = b'\r';

/// Without its marks: digits, a point, a sign and a unit.
const TEXT_MAX: usize = 12;
/// Fewer columns are what is left of a reply.
const DIGITS_MIN: usize = 4;

fn fit(bytes: &[u8]) -> Fit {
    match *bytes {
        [STX] => Fit::Open,
        [STX, .., CR] => Fit::Whole(bytes.len()),
        [STX, .., 0x20..=0x7f] if bytes.len() <= TEXT_MAX + 1 => Fit::Open,
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let [STX, text @ .., CR] = frame else { return Verdict::Refused };
    if let [b'?', status] = text {
        return without_weight(*status);
    }
    let Some((value, rest)) = number(text, options) else { return Verdict::Refused };
    if text.len() - rest.len() < DIGITS_MIN {
        return Verdict::Refused;
    }
    let (word, kind) = match rest.trim_ascii() {
        b"N" => (&b""[..], Kind::Net),
        word => (word, Kind::Unknown),
    };
    weight(value, word, beside(kind, Stability::Stable), options)
}

fn without_weight(status: u8) -> Verdict {
    let bit = |place: u8| status & (1 << place) != 0;
    if !bit(5) || !bit(6) {
        return Verdict::Refused;
    }
    let flags = Flags { overload: bit(1), underload: bit(2), zero: bit(4), error: false };
    let stability = if bit(0) { Stability::Motion } else { Stability::Unknown };
    Verdict::Reading(Reading { flags, ..beside(Kind::Unknown, stability) })
}

/// A scale of this family sends no weight while it moves, so neither is one written.
fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.push(STX);
    match to_send(reading, FACTS.says.marks)? {
        Some(_) if reading.stability != Stability::Stable => return Err(Unsayable::Stability),
        Some(_) if reading.unit != ReadUnit::Unstated => return Err(Unsayable::Unit),
        Some(value) => {
            if value.count < 0 {
                out.push(b'-');
            }
            let start = out.len();
            write_digits(value, 5, b'0', options, out)?;
            if out.len() - start > 6 {
                return Err(Unsayable::TooWide);
            }
            match reading.kind {
                Kind::Net => out.push(b'N'),
                Kind::Unknown | Kind::Gross => {}
                Kind::Tare => return Err(Unsayable::Kind),
            }
        }
        None => {
            let Flags { overload, underload, error, .. } = reading.flags;
            if error {
                return Err(Unsayable::Mark);
            }
            let moving = u8::from(reading.stability == Stability::Motion);
            out.extend_from_slice(&[b'?', 0x60 | moving | u8::from(overload) << 1 | u8::from(underload) << 2]);
        }
    }
    out.push(CR);
    Ok(())
}

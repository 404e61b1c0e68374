//! `ticket`: what a scale prints for one weighing, several lines of which some are weights.
//!
//! ```text
//! ID. NO. 123456 CR LF
//! GROSS   25.00 LB CR LF
//! TARE     1.48 LB CR LF
//! NET     23.52 LB CR LF
//! CR LF
//! ```
//!
//! Lines that open with `GROSS`, `TARE` or `NET` are weights, one reading each; record numbers, dates, pieces, unit
//! weights, totals and what a person had printed above them are passed over. A ticket that sums up past weighings
//! has nothing to read. It is printed on a key, seldom two in a minute, and any printer's text looks like it: it is
//! never recognised by itself.
//!
//! Tickets: <https://manualshive.com/en/manual/transcell-technology/ti-500-plus/1150672?page=42>,
//! <https://www.easymanua.ls/tufner/t900b-series/manual?p=24>.

use crate::dialect::facts::{EIGHT_NONE, Says};
use crate::dialect::family::{Family, Framing};
use crate::dialect::labels::{labelled, put_labelled};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "ticket", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400],
    rate: (1, 2),
    // A print request adds to the scale's own total.
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: &[Stability::Unknown],
        // A scale does not print what it cannot weigh.
        marks: &[],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: None,
};

fn decode(line: &[u8], options: &Options) -> Verdict {
    let text = line.iter().all(|byte| matches!(byte, 0x20..=0x7e));
    labelled(line, options).unwrap_or(if text { Verdict::Quiet } else { Verdict::Refused })
}

/// A ticket with one weight on it. The blank line comes first, so that a whole frame ends with its weight.
fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    if reading.value.is_none() && reading.news.is_none() {
        return Err(Unsayable::Mark);
    }
    out.extend_from_slice(b"\r\n");
    put_labelled(reading, options, out)
}

//! `labelled-line`: a word for the kind of weight, a number and its unit, one line a reading.
//!
//! ```text
//! label [:] sign number unit [mark] CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | label | `G` `GR` `GROSS`, `N` `NT` `NET`, `T` `TR` `TARE`, `PT`, in any case, perhaps with `wt` or `weight` |
//! | number | sign in any of its places, padding on either side of it |
//! | unit | mandatory unless one is configured; a blank may stand before it |
//! | mark | rarely: `?` or `M` moving, `O` over range |
//!
//! Words for a total, a record number or pieces are no labels. A field of dashes, `OL` or `UL` tells why there is
//! no weight; five or more digits that are all nines are a display that has run over.
//!
//! Lines: <https://manualshive.com/en/manual/adam/cpwplus-150/2845934?page=16>,
//! <https://azmanual.top/manuals/639344/> page 20. The marks are common practice.

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::labels::{labelled, put_labelled};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Stability};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "labelled-line", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode: put_labelled };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (1, 10),
    // Letters that read at one maker's scales tare and zero at others.
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: &[Stability::Unknown],
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

fn decode(line: &[u8], options: &Options) -> Verdict {
    labelled(line, options).unwrap_or(Verdict::Refused)
}

//! `stx-status-words`: three status words and two columns of digits, 17 bytes or 18 with a checksum.
//!
//! ```text
//! STX A B C weight(6) tare(6) CR [CK]
//! ```
//!
//! Digits carry neither sign nor point; leading zeros may be blanks; the tare may be blank. Bit 7 is parity.
//!
//! | bits | A | B | C |
//! | --- | --- | --- | --- |
//! | 0–2 | decimal code: digits × 10^(2 − code) | 0 net, 1 negative, 2 out of range | unit: 0 as B says, 1 g, 2 t, 3 oz, 4 ozt |
//! | 3 | with 4: count by 1 (01), 2 (10), 5 (11) | motion | print requested |
//! | 4 |  | 1 kg, 0 lb | display expanded tenfold |
//! | 5 | 1 | 1 | 1 (0 with one maker) |
//! | 6 | 0 | not zeroed since power-up | 0 (1: tare from the keyboard) |
//!
//! CK makes the sum of all 18 bytes zero in its low 7 bits. Which decimals count while the display is expanded is
//! told differently by different makers, so such a frame gives no weight. Ounces and troy ounces in C are common
//! practice, not from a published table; the unit codes above them are refused.
//!
//! Layout: <https://www.easymanua.ls/tufner/t900-series/manual?p=23>; status words, checksum:
//! <http://38.142.81.21:8001/manual/wildcat-territory/scale-e15609900a/user-s-manual-english/page-41.html>.

use crate::dialect::facts::{OVER, SEVEN_EVEN, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::status_words::{decode_common, encode_common, may_become, opens_common, second_common};
use crate::dialect::stx_framer::WordsShape;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Unsayable};
use crate::measure::Unit;

/// Bytes of a frame without its checksum.
const LENGTH: usize = 17;

pub(super) const FAMILY: Family =
    Family { name: "stx-status-words", facts: FACTS, framing: Framing::StatusWords(&SHAPE), decode, encode };

pub(super) const FACTS: Facts = Facts {
    usual: SEVEN_EVEN,
    speeds: &[9600, 4800, 2400, 1200],
    rate: (5, 80),
    // The print letter stores a record or adds to a total on some scales; every other letter changes something.
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Tonne, Unit::Ounce, Unit::TroyOunce],
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER],
        zero: false,
        news: &[],
        division: true,
        most: 999_999,
        decimals: (-2, 5),
    },
    start_mark: true,
    lock_after: Some(5),
};

const SHAPE: WordsShape = WordsShape {
    length: LENGTH,
    opens: opens_common,
    may_become: |bytes| may_become(bytes, LENGTH, opens_common, second_common),
};

fn decode(frame: &[u8], _: &Options) -> Verdict {
    decode_common(frame, &SHAPE)
}

fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    encode_common(reading, "000000", out)
}

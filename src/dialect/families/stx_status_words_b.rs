//! `stx-status-words-b`: three status words of another table and two columns of digits, 17 bytes or 18 with a checksum.
//!
//! ```text
//! STX A B C weight(6) tare(6) CR [CK]
//! ```
//!
//! | bits | A | B | C |
//! | --- | --- | --- | --- |
//! | 0–2 | decimal code 2 to 6: digits × 10^(2 − code) | 0 net, 1 negative, 2 out of range | 0 pounds; kg where clear |
//! | 3 | 0 | motion | print requested |
//! | 4 | 1 | 1 | 1 |
//! | 5 | 0 | 1 | 1 |
//! | 6 | 1 | not zeroed since power-up | tare from the keyboard |
//!
//! Bits 5 and 6 of A stand the other way round than in `stx-status-words`, whose table would take its pounds for
//! grams: whatever has neither pattern is refused by both. There is no division code. Bits 3 and 6 of C are taken
//! from the common table.
//!
//! Words and layout: <https://manualshive.com/en/manual/liden-weighing/luw2001-lbw/1907226?page=16> and 17.

use super::stx_status_words;
use crate::dialect::facts::Says;
use crate::dialect::family::{Family, Framing};
use crate::dialect::status_words::{Words, may_become, tell};
use crate::dialect::stx_framer::WordsShape;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Options, ReadUnit, Reading, Unsayable};
use crate::measure::Unit;

const LENGTH: usize = 17;

pub(super) const FAMILY: Family =
    Family { name: "stx-status-words-b", facts: FACTS, framing: Framing::StatusWords(&SHAPE), decode, encode };

const FACTS: Facts = {
    let like = stx_status_words::FACTS;
    let says = Says { units: &[Unit::Kilogram, Unit::Pound], division: false, decimals: (0, 4), ..like.says };
    Facts { says, ..like }
};

const SHAPE: WordsShape = WordsShape { length: LENGTH, opens, may_become: |bytes| may_become(bytes, LENGTH, opens, second) };

const fn opens(byte: u8) -> bool {
    matches!(byte, 0x52..=0x56)
}

const fn second(byte: u8) -> bool {
    byte & 0xb0 == 0x30
}

fn decode(frame: &[u8], _: &Options) -> Verdict {
    let frame = &frame[..LENGTH.min(frame.len())];
    let &[_, _, _, c, ..] = frame else { return Verdict::Refused };
    if frame.len() != LENGTH || !(SHAPE.may_become)(frame) || c & 0x36 != 0x30 {
        return Verdict::Refused;
    }
    tell(frame, false, if c & 0x01 != 0 { Unit::Pound } else { Unit::Kilogram }, None)
}

/// Always with a checksum.
fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let words = Words::of(reading)?;
    let in_pounds = match reading.unit {
        ReadUnit::Stated(Unit::Pound) => 1,
        ReadUnit::Stated(Unit::Kilogram) | ReadUnit::Absent => 0,
        _ => return Err(Unsayable::Unit),
    };
    let a = 0x50 | words.code;
    if !opens(a) {
        return Err(Unsayable::Point);
    }
    words.write([a, 0x30 | words.low, 0x30 | in_pounds], "000000", out);
    Ok(())
}

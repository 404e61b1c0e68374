//! `stx-status-words-short`: three status words and one column of digits, 11 bytes or 12 with a checksum.
//!
//! ```text
//! STX A B C weight(6) CR [CK]
//! ```
//!
//! The status words, the digits and the checksum are those of `stx-status-words`; there is no tare.
//!
//! Layout: <https://www.easymanua.ls/cardinal/225/manual/112006?p=126>.

use super::stx_status_words;
use crate::dialect::family::{Family, Framing};
use crate::dialect::status_words::{decode_common, encode_common, may_become, opens_common, second_common};
use crate::dialect::stx_framer::WordsShape;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Options, Reading, Unsayable};

const LENGTH: usize = 11;

pub(super) const FAMILY: Family = Family {
    name: "stx-status-words-short",
    facts: stx_status_words::FACTS,
    framing: Framing::StatusWords(&SHAPE),
    decode,
    encode,
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
    encode_common(reading, "", out)
}

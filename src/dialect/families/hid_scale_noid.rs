//! `hid-scale-noid`: the report of `hid-scale` as some ways of reading hand it on, without the number in front.

use super::hid_scale::{self, decode, encode, plain};
use crate::dialect::family::{Family, Framing};

pub(super) const FAMILY: Family = Family {
    name: "hid-scale-noid",
    facts: hid_scale::FACTS,
    framing: Framing::Reports { length: 5, makes_sense: plain },
    decode: |report, _| decode(report),
    encode: |reading, _, out| encode(reading, false, out),
};

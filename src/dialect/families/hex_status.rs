//! `hex-status`: net, tare, unit and four hexadecimal digits of status behind a dollar sign.
//!
//! ```text
//! $ net(9) SP tare(9) SP unit(2) SP s1 s2 s3 s4 CR LF        30 bytes
//! ```
//!
//! | bit | s1 | s2 | s3 | s4 |
//! | --- | --- | --- | --- | --- |
//! | 0 | minimum weight | range | tare entered | approved |
//! | 1 | tare locked | stable | lock released | converter fault |
//! | 2 | tare preset | overload | weight not valid | configuration error |
//! | 3 | centre of zero | range | printing | |
//!
//! The digits come in either case. One bit serves over and under range; the sign of the net weight tells which. The tare
//! is not handed on: it is shown with every frame and says nothing of the load.
//!
//! Layout and status: <https://www.easymanua.ls/bilanciai/d70a/manual?p=63> and 64.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::{ends_line, marked};
use crate::dialect::block_framer::Fit;
use crate::dialect::checksum::hex_digit;
use crate::dialect::column::{beyond, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{ERROR, LineSettings, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::{put_number, word_of};
use crate::dialect::tell::{beside, tell};
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Parity, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "hex-status", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: LineSettings { speed: 4800, data_bits: 7, parity: Parity::Even, stop_bits: 2 },
    speeds: &[4800, 9600, 2400, 1200, 19200],
    // A pause of 300 ms stands between strings.
    rate: (1, 3),
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Gram, Unit::Tonne, Unit::Pound, Unit::Ounce, Unit::Grain],
        unstated: true,
        kinds: &[Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: true,
        most: 9_999_999,
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

/// With the first byte of the line end.
const LENGTH: usize = 29;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, b'$', LENGTH..=LENGTH, ends_line)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let Some((fields, &[b' ', u1, u2, b' ', s1, s2, s3, s4, _])) = frame.split_at_checked(20) else { return Verdict::Refused };
    let (&[_, ref net @ .., b' '], tare) = fields.split_at(11) else { return Verdict::Refused };
    let status = [s1, s2, s3, s4].map(hex_digit);
    let [Some(s1), Some(s2), Some(s3), Some(s4)] = status else { return Verdict::Refused };
    let stability = if s2 & 0x02 != 0 { Stability::Stable } else { Stability::Motion };
    let range = if s2 & 0x04 != 0 { beyond(net) } else { Flags::default() };
    let invalid = s3 & 0x04 != 0 || s4 & 0x06 != 0;
    if s2 & 0x04 != 0 || invalid {
        return Verdict::Reading(Reading { flags: Flags { error: invalid, ..range }, ..beside(Kind::Net, stability) });
    }
    if field(tare, options).is_none() {
        return Verdict::Refused;
    }
    match tell(field(net, options), unit_word([u1, u2].trim_ascii(), options), Kind::Net, stability) {
        Verdict::Reading(reading) if s1 & 0x08 != 0 => {
            Verdict::Reading(Reading { flags: Flags { zero: true, ..reading.flags }, ..reading })
        }
        verdict => verdict,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    if reading.kind != Kind::Net {
        return Err(Unsayable::Kind);
    }
    let stable = if moving(reading)? { 0 } else { 2 };
    let (value, s2, s3) = match said(reading, FACTS.says.marks)? {
        Said::Weight(value) => (value, stable, 0),
        Said::Mark(flags) if flags.error => (Displayed { count: 0, exponent: 0 }, stable, 4),
        Said::Mark(flags) => (Displayed { count: if flags.underload { -1 } else { 1 }, exponent: 0 }, stable | 4, 0),
    };
    let s1 = if reading.flags.zero { 8 } else { 0 };
    out.push(b'$');
    put_number(value, 9, options, out)?;
    out.push(b' ');
    put_number(Displayed { count: 0, ..value }, 9, options, out)?;
    out.extend_from_slice(format!(" {:>2} {s1:x}{s2:x}{s3:x}1\r\n", word_of(reading.unit, 2)?).as_bytes());
    Ok(())
}

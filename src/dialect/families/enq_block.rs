//! `enq-block`: a block with a checksum, the answer to DC1 once ENQ has been acknowledged.
//!
//! ```text
//! SOH STX sta sign weight(6) unit(2) BCC ETX EOT
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | sta | `S` stable, `U` moving |
//! | sign | blank, `-`, or `F` for a display that has run over, whose digits are then `F` too |
//! | weight | six columns, the point among them; grams come as six plain digits |
//! | BCC | exclusive or of the ten bytes before it |
//!
//! ACK and NAK alone answer ENQ and carry nothing. Plain digits beside another unit than grams are refused unless
//! the decimals are configured: the same bytes are written by scales that mean grams. BCC may look like any mark, so
//! a block is found by its length and its places.
//!
//! Layout: <https://manualshive.com/ru/manual/ohaus/aviator-7000-series/4154010?page=36>,
//! <https://docs.mertech.ru/scales_pos/protocol/CAS-M.html>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::number_field;
use crate::dialect::facts::{EIGHT_NONE, OVER, STILL_OR_NOT, Says};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::still_or_not;
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family { name: "enq-block", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 19200, 2400],
    rate: (1, 10),
    poll: Some(&[ENQ, DC1]),
    says: Says {
        units: &[Unit::Kilogram, Unit::Gram, Unit::Pound, Unit::Ounce],
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER],
        zero: false,
        news: &[],
        division: false,
        most: 99_999,
        decimals: (0, 4),
    },
    start_mark: true,
    lock_after: Some(3),
};

const SOH: u8 = 0x01;
const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const EOT: u8 = 0x04;
const ENQ: u8 = 0x05;
const ACK: u8 = 0x06;
const DC1: u8 = 0x11;
const NAK: u8 = 0x15;

const LENGTH: usize = 15;

fn fit(bytes: &[u8]) -> Fit {
    let Some(&last) = bytes.last() else { return Fit::Open };
    let sound = match bytes.len() - 1 {
        0 if matches!(last, ENQ | ACK | DC1 | NAK) => return Fit::Whole(1),
        0 => last == SOH,
        1 => last == STX,
        2 => matches!(last, b'S' | b'U'),
        3 => matches!(last, b' ' | b'-' | b'F'),
        4..=11 => matches!(last, 0x20..=0x7e),
        13 => last == ETX,
        14 => last == EOT,
        _ => true,
    };
    match bytes.len() {
        _ if !sound => Fit::Never,
        ..LENGTH => Fit::Open,
        _ => Fit::Whole(LENGTH),
    }
}

fn block_check(body: &[u8]) -> u8 {
    body.iter().fold(0, |check, byte| check ^ byte)
}

fn decode(block: &[u8], options: &Options) -> Verdict {
    let &[SOH, STX, ref body @ .., check, ETX, EOT] = block else { return Verdict::Quiet };
    let &[sta, sign, ref rest @ ..] = body else { return Verdict::Refused };
    if block_check(body) != check {
        return Verdict::Refused;
    }
    read(sta, sign, rest.split_at(6), options).checked()
}

/// What the block says, once its check has been found right.
fn read(sta: u8, sign: u8, (field, word): (&[u8], &[u8]), options: &Options) -> Verdict {
    if sign == b'F' {
        return if field == b"FFFFFF" { nothing(Kind::Unknown, OVER) } else { Verdict::Refused };
    }
    let stability = if sta == b'S' { Stability::Stable } else { Stability::Motion };
    let Some(value) = number_field(field, options).filter(|value| value.count >= 0) else { return Verdict::Refused };
    let value = if sign == b'-' { value.negated() } else { value };
    let word = word.trim_ascii();
    let plain = !field.iter().any(|byte| matches!(byte, b'.' | b','));
    if word.is_empty() || (plain && options.decimals.is_none() && !word.eq_ignore_ascii_case(b"g")) {
        return Verdict::Refused;
    }
    weight(value, word, beside(Kind::Unknown, stability), options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.extend_from_slice(&[SOH, STX]);
    let start = out.len();
    match to_send(reading, FACTS.says.marks)? {
        Some(value) => {
            out.push(still_or_not(reading.stability, b'S', b'U')?);
            out.push(if value.count < 0 { b'-' } else { b' ' });
            let unit = stated(reading)?;
            match value {
                // A point with no digit behind it: plain digits would be taken for grams.
                Displayed { exponent: 0, .. } if unit != Unit::Gram && options.decimals.is_none() => {
                    put_digits(value, 5, b'0', options, out)?;
                    out.push(b'.');
                }
                _ => put_digits(value, 6, b'0', options, out)?,
            }
            put_unit(unit, 2, out)?;
        }
        None if reading.flags == (Flags { zero: reading.flags.zero, ..OVER }) => out.extend_from_slice(b"UFFFFFFFkg"),
        None => return Err(Unsayable::Mark),
    }
    out.extend_from_slice(&[block_check(&out[start..]), ETX, EOT]);
    Ok(())
}

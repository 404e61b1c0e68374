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
use crate::dialect::stx_framer::{WordsShape, checksum};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

/// Bytes of a frame without its checksum.
const LENGTH: usize = 17;
const STX: u8 = 0x02;
const CR: u8 = b'\r';

pub(super) const FAMILY: Family =
    Family { name: "stx-status-words", facts: FACTS, framing: Framing::StatusWords(&SHAPE), decode, encode };

const FACTS: Facts = Facts {
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

const SHAPE: WordsShape = WordsShape { length: LENGTH, opens, may_become };

/// Whether `byte` can be status word A.
const fn opens(byte: u8) -> bool {
    byte & 0xe0 == 0x20 && byte & 0x18 != 0
}

/// Whether these first bytes, at most [`LENGTH`], can be those of a frame.
fn may_become(bytes: &[u8]) -> bool {
    let out_of_range = bytes.get(2).is_some_and(|b| b & 0x04 != 0);
    bytes.iter().enumerate().all(|(place, &byte)| match place {
        0 => byte == STX,
        1 => opens(byte),
        2 => byte & 0xa0 == 0x20,
        3 => byte < 0x80,
        4..=9 if out_of_range => matches!(byte, 0x20..=0x7e),
        4..=15 => byte == b' ' || byte.is_ascii_digit(),
        _ => byte == CR,
    })
}

/// Decodes the 17 bytes of a frame, or 18 where its checksum was there and right.
fn decode(frame: &[u8], _: &Options) -> Verdict {
    let (frame, checked) = (&frame[..LENGTH.min(frame.len())], frame.len() > LENGTH);
    let &[_, a, b, c, ref fields @ ..] = frame else { return Verdict::Refused };
    // A driver that finds a byte damaged may deliver NUL, and an all-zero C would turn any unit into kg or lb.
    if frame.len() != LENGTH || !may_become(frame) || (c & 0x20 == 0 && !checked) {
        return Verdict::Refused;
    }
    let unit = match c & 0x07 {
        0 if b & 0x10 != 0 => Unit::Kilogram,
        0 => Unit::Pound,
        1 => Unit::Gram,
        2 => Unit::Tonne,
        3 => Unit::Ounce,
        4 => Unit::TroyOunce,
        _ => return Verdict::Refused,
    };
    let exponent = 2 - (a & 0x07) as i8;
    let count_by = match a >> 3 & 0x03 {
        1 => 1,
        2 => 2,
        _ => 5,
    };
    let kind = if b & 0x01 != 0 { Kind::Net } else { Kind::Gross };
    let stability = if b & 0x08 != 0 { Stability::Motion } else { Stability::Stable };
    let negative = b & 0x02 != 0;

    let (out_of_range, expanded) = (b & 0x04 != 0, c & 0x10 != 0);
    if out_of_range || expanded {
        let flags = Flags { overload: out_of_range && !negative, underload: out_of_range && negative, ..Flags::default() };
        return Verdict::Reading(Reading { kind, stability, ..Reading::without_weight(flags) });
    }
    let (weight, tare) = (digits(&fields[..6]), digits(&fields[6..12]));
    let (Some(Some(count)), Some(_)) = (weight, tare) else { return Verdict::Refused };
    Verdict::Reading(Reading {
        value: Some(Displayed { count: if negative { -count } else { count }, exponent }),
        unit: ReadUnit::Stated(unit),
        kind,
        stability,
        flags: Flags::default(),
        division: Some(Displayed { count: count_by, exponent }),
        news: None,
    })
}

/// Blanks, then digits to the end. All blank is `Some(None)`.
fn digits(field: &[u8]) -> Option<Option<i64>> {
    let digits = field.trim_ascii_start();
    if digits.is_empty() {
        return Some(None);
    }
    Displayed::from_digits(digits).ok().map(|shown| Some(shown.count))
}

/// Always with a checksum.
fn encode(reading: &Reading, _: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let out_of_range = reading.flags.overload || reading.flags.underload;
    if reading.flags.error || reading.news.is_some() || (reading.flags.overload && reading.flags.underload) {
        return Err(if reading.news.is_some() { Unsayable::News } else { Unsayable::Mark });
    }
    let value = match reading.value {
        Some(_) if out_of_range => return Err(Unsayable::Mark),
        Some(value) => value,
        None if out_of_range => Displayed { count: if reading.flags.underload { -1 } else { 1 }, exponent: 0 },
        None => return Err(Unsayable::Nothing),
    };
    let code = u8::try_from(2 - value.exponent).ok().filter(|code| *code <= 7).ok_or(Unsayable::Point)?;
    let division = reading.division.unwrap_or(Displayed { count: 1, exponent: value.exponent });
    let count_by = match division.count {
        1 => 1,
        2 => 2,
        5 => 3,
        _ => return Err(Unsayable::Division),
    };
    if division.exponent != value.exponent {
        return Err(Unsayable::Division);
    }
    let (in_kilograms, unit) = match reading.unit {
        ReadUnit::Stated(Unit::Kilogram) => (true, 0),
        ReadUnit::Stated(Unit::Pound) => (false, 0),
        ReadUnit::Stated(Unit::Gram) => (false, 1),
        ReadUnit::Stated(Unit::Tonne) => (false, 2),
        ReadUnit::Stated(Unit::Ounce) => (false, 3),
        ReadUnit::Stated(Unit::TroyOunce) => (false, 4),
        ReadUnit::Absent => (true, 0),
        _ => return Err(Unsayable::Unit),
    };
    let net = match reading.kind {
        Kind::Gross => 0,
        Kind::Net => 1,
        Kind::Tare | Kind::Unknown => return Err(Unsayable::Kind),
    };
    let motion = match reading.stability {
        Stability::Stable => 0,
        Stability::Motion => 1,
        Stability::Unknown => return Err(Unsayable::Stability),
    };
    let digits = value.count.unsigned_abs();
    if digits > 999_999 {
        return Err(Unsayable::TooWide);
    }
    let start = out.len();
    let negative = u8::from(value.count < 0);
    out.push(STX);
    out.push(0x20 | count_by << 3 | code);
    out.push(0x20 | net | negative << 1 | u8::from(out_of_range) << 2 | motion << 3 | u8::from(in_kilograms) << 4);
    out.push(0x20 | unit);
    out.extend_from_slice(format!("{digits:06}000000\r").as_bytes());
    out.push(checksum(&out[start..]));
    Ok(())
}

//! What frames of three status words and columns of digits have in common.

use super::stx_framer::{WordsShape, checksum};
use super::verdict::Verdict;
use super::{Flags, Kind, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const STX: u8 = 0x02;
const CR: u8 = b'\r';

/// Whether these first bytes, at most `shape.length`, can be those of a frame whose second word is `sound`.
pub(super) fn may_become(bytes: &[u8], length: usize, opens: fn(u8) -> bool, sound: fn(u8) -> bool) -> bool {
    let stands = |place: usize, sound: &dyn Fn(u8) -> bool| bytes.get(place).is_none_or(|&byte| sound(byte));
    let digits = |from: usize, to: usize| {
        let field = bytes.get(from..to.min(bytes.len())).unwrap_or_default();
        field.iter().all(|&byte| byte == b' ' || byte.is_ascii_digit())
    };
    let words = stands(0, &|byte| byte == STX) && stands(1, &opens) && stands(2, &sound) && stands(3, &|byte| byte < 0x80);
    let out_of_range = bytes.get(2).is_some_and(|b| b & 0x04 != 0);
    let weight = || match out_of_range {
        true => bytes.iter().take(10).skip(4).all(|byte| matches!(byte, 0x20..=0x7e)),
        false => digits(4, 10),
    };
    words && weight() && digits(10, length - 1) && stands(length - 1, &|byte| byte == CR)
}

/// Whether `byte` can be word A of the common table.
pub(super) const fn opens_common(byte: u8) -> bool {
    byte & 0xe0 == 0x20 && byte & 0x18 != 0
}

/// Whether `byte` can be word B of the common table.
pub(super) const fn second_common(byte: u8) -> bool {
    byte & 0xa0 == 0x20
}

/// Decodes a frame of the common table, without its checksum or with it where it was right.
pub(super) fn decode_common(frame: &[u8], shape: &WordsShape) -> Verdict {
    let (frame, checked) = (&frame[..shape.length.min(frame.len())], frame.len() > shape.length);
    let &[_, a, b, c, ..] = frame else { return Verdict::Refused };
    // A driver that finds a byte damaged may deliver NUL, and an all-zero C would turn any unit into kg or lb.
    if frame.len() != shape.length || !(shape.may_become)(frame) || (c & 0x20 == 0 && !checked) {
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
    let exponent = exponent(a);
    let count = match a >> 3 & 0x03 {
        1 => 1,
        2 => 2,
        _ => 5,
    };
    tell(frame, c & 0x10 != 0, unit, Some(Displayed { count, exponent }))
}

/// The exponent that the low bits of word A stand for.
const fn exponent(a: u8) -> i8 {
    2 - (a & 0x07) as i8
}

/// What a sound frame says once its unit is known. `expanded`: which decimals count is not certain.
pub(super) fn tell(frame: &[u8], expanded: bool, unit: Unit, division: Option<Displayed>) -> Verdict {
    let &[_, a, b, _, ref fields @ .., _] = frame else { return Verdict::Refused };
    let kind = if b & 0x01 != 0 { Kind::Net } else { Kind::Gross };
    let stability = if b & 0x08 != 0 { Stability::Motion } else { Stability::Stable };
    let (negative, out_of_range) = (b & 0x02 != 0, b & 0x04 != 0);
    if out_of_range || expanded {
        let flags = Flags { overload: out_of_range && !negative, underload: out_of_range && negative, ..Flags::default() };
        return Verdict::Reading(Reading { kind, stability, ..Reading::without_weight(flags) });
    }
    let (weight, tare) = fields.split_at(6);
    let (Some(Some(count)), Some(_)) = (digits(weight), digits(tare)) else { return Verdict::Refused };
    Verdict::Reading(Reading {
        value: Some(Displayed { count: if negative { -count } else { count }, exponent: exponent(a) }),
        unit: ReadUnit::Stated(unit),
        kind,
        stability,
        flags: Flags::default(),
        division,
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

/// A reading as status words say it.
pub(super) struct Words {
    /// The low bits of A.
    pub code: u8,
    /// Net, negative, out of range and motion: the low bits of B.
    pub low: u8,
    pub digits: u64,
    pub exponent: i8,
}

impl Words {
    pub fn of(reading: &Reading) -> Result<Words, Unsayable> {
        let Flags { overload, underload, error, .. } = reading.flags;
        let out_of_range = overload || underload;
        if reading.news.is_some() {
            return Err(Unsayable::News);
        }
        let value = match reading.value {
            _ if error || (overload && underload) => return Err(Unsayable::Mark),
            Some(_) if out_of_range => return Err(Unsayable::Mark),
            Some(value) => value,
            None if out_of_range => Displayed { count: if underload { -1 } else { 1 }, exponent: 0 },
            None => return Err(Unsayable::Nothing),
        };
        let code = u8::try_from(2 - value.exponent).ok().filter(|code| *code <= 7).ok_or(Unsayable::Point)?;
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
        let low = net | u8::from(value.count < 0) << 1 | u8::from(out_of_range) << 2 | motion << 3;
        Ok(Words { code, low, digits, exponent: value.exponent })
    }

    /// Appends the frame, with its checksum. `tare`: zeros, or nothing where there is no such field.
    pub fn write(&self, [a, b, c]: [u8; 3], tare: &str, out: &mut Vec<u8>) {
        let start = out.len();
        out.extend_from_slice(&[STX, a, b, c]);
        out.extend_from_slice(format!("{:06}{tare}\r", self.digits).as_bytes());
        out.push(checksum(&out[start..]));
    }
}

/// Always with a checksum.
pub(super) fn encode_common(reading: &Reading, tare: &str, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let words = Words::of(reading)?;
    let division = reading.division.unwrap_or(Displayed { count: 1, exponent: words.exponent });
    let count_by = match division.count {
        1 => 1,
        2 => 2,
        5 => 3,
        _ => return Err(Unsayable::Division),
    };
    if division.exponent != words.exponent {
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
    let a = 0x20 | count_by << 3 | words.code;
    let b = 0x20 | words.low | u8::from(in_kilograms) << 4;
    words.write([a, b, 0x20 | unit], tare, out);
    Ok(())
}

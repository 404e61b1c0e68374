//! `hid-scale`: the data report of a USB scale, in binary.
//!
//! ```text
//! 03 status unit scaling weight-low weight-high
//! ```
//!
//! The weight has no sign: only the status "under zero" tells one, which the usage table does not spell out. Scaling is
//! a signed power of ten. `hid-scale-noid` is the same without the leading 03.
//!
//! A tael weighs something else in each place, and whose ton the unit 9 is nobody says for sure: with these there is no
//! weight, and neither with carats and pennyweights, which nothing here reckons in. Milligrams are given in grams.
//!
//! USB-IF, HID Usage Tables, Scales page (0x8D); first published as HID Point of Sale Usage Tables, version 1.02 (2001).

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says};
use crate::dialect::family::{Family, Framing};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family = Family {
    name: "hid-scale",
    facts: FACTS,
    framing: Framing::Reports { length: 6, makes_sense: numbered },
    decode: |report, _| decode(&report[1..]),
    encode: |reading, _, out| encode(reading, true, out),
};

pub(super) const FACTS: Facts = Facts {
    // There is no line; a recording has none either.
    usual: EIGHT_NONE,
    speeds: &[],
    rate: (1, 20),
    poll: None,
    says: Says {
        units: &[Unit::Gram, Unit::Kilogram, Unit::Tonne, Unit::Grain, Unit::TroyOunce, Unit::Ounce, Unit::Pound],
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 65_535,
        decimals: (-3, 6),
    },
    start_mark: false,
    lock_after: None,
};

const NUMBER: u8 = 3;
const STATUS_FAULT: u8 = 1;
const STATUS_ZERO: u8 = 2;
const STATUS_MOTION: u8 = 3;
const STATUS_STABLE: u8 = 4;
const STATUS_UNDER: u8 = 5;
const STATUS_OVER: u8 = 6;

/// Powers of ten that a scale can mean.
const SCALINGS: std::ops::RangeInclusive<i8> = -9..=6;

const UNITS: [(u8, Unit); 7] = [
    (2, Unit::Gram),
    (3, Unit::Kilogram),
    (6, Unit::Grain),
    (8, Unit::Tonne),
    (10, Unit::TroyOunce),
    (11, Unit::Ounce),
    (12, Unit::Pound),
];
const MILLIGRAM: u8 = 1;

fn numbered(report: &[u8]) -> bool {
    report.split_first().is_some_and(|(number, rest)| *number == NUMBER && plain(rest))
}

/// A status of the table and, where the status lets a weight stand, a unit of it and a scaling that can be meant.
pub(super) fn plain(report: &[u8]) -> bool {
    let &[status, unit, scaling, ..] = report else { return false };
    match status {
        STATUS_ZERO..=STATUS_UNDER => (1..=12).contains(&unit) && SCALINGS.contains(&i8::from_le_bytes([scaling])),
        STATUS_FAULT | STATUS_OVER | 7 | 8 => unit <= 12,
        _ => false,
    }
}

pub(super) fn decode(report: &[u8]) -> Verdict {
    let &[status, unit, scaling, low, high] = report else { return Verdict::Refused };
    let none = |flags| Verdict::Reading(Reading::without_weight(flags));
    let (stability, flags) = match status {
        STATUS_ZERO => (Stability::Stable, Flags { zero: true, ..Flags::default() }),
        STATUS_MOTION => (Stability::Motion, Flags::default()),
        STATUS_STABLE => (Stability::Stable, Flags::default()),
        STATUS_UNDER => (Stability::Unknown, Flags { underload: true, ..Flags::default() }),
        STATUS_OVER => return none(OVER),
        _ => return none(ERROR),
    };
    let exponent = i8::from_le_bytes([scaling]);
    let count = i64::from(u16::from_le_bytes([low, high]));
    let size = Displayed { count, exponent };
    let value = if status == STATUS_UNDER { size.negated() } else { size };
    let known = UNITS.iter().find(|(code, _)| *code == unit).map(|(_, unit)| (*unit, value));
    let milligrams = (unit == MILLIGRAM).then_some((Unit::Gram, Displayed { exponent: exponent - 3, ..value }));
    let Some((unit, value)) = known.or(milligrams) else { return none(Flags::default()) };
    Verdict::Reading(Reading { value: Some(value), unit: ReadUnit::Stated(unit), stability, ..Reading::without_weight(flags) })
}

pub(super) fn encode(reading: &Reading, numbered: bool, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.extend(numbered.then_some(NUMBER));
    let flags = reading.flags;
    let Some(value) = reading.value else {
        let status = match flags {
            _ if reading.news.is_some() => return Err(Unsayable::News),
            Flags { overload: true, .. } => STATUS_OVER,
            Flags { error: true, .. } => STATUS_FAULT,
            _ => return Err(Unsayable::Nothing),
        };
        out.extend([status, 0, 0, 0, 0]);
        return Ok(());
    };
    if flags.overload || flags.error {
        return Err(Unsayable::Mark);
    }
    if reading.kind == Kind::Tare || reading.news.is_some() {
        return Err(Unsayable::Kind);
    }
    let ReadUnit::Stated(unit) = reading.unit else { return Err(Unsayable::Unit) };
    let (code, _) = UNITS.iter().find(|(_, known)| *known == unit).ok_or(Unsayable::Unit)?;
    let [low, high] = u16::try_from(value.count.unsigned_abs()).map_err(|_| Unsayable::TooWide)?.to_le_bytes();
    if !SCALINGS.contains(&value.exponent) {
        return Err(Unsayable::Point);
    }
    let status = match reading.stability {
        _ if value.count < 0 => STATUS_UNDER,
        Stability::Stable if flags.zero => STATUS_ZERO,
        Stability::Stable => STATUS_STABLE,
        _ => STATUS_MOTION,
    };
    out.extend([status, *code, value.exponent.to_le_bytes()[0], low, high]);
    Ok(())
}

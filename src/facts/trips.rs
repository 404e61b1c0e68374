//! What the owner tells so that a drive can be planned: where the buyers are and when they are open, roads between them, what
//! the vehicle takes and costs, grades that wait for a price, and bins that stay or must go.

use super::{BinId, BuyerId, FillId, GradeId, Set};
use crate::measure::{Distance, Mass, Price, Running};
use jiff::civil::{Date, Weekday};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// The days of the week on which somebody is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct OpenDays([bool; 7]);

/// Their codes, Monday first.
pub const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

impl OpenDays {
    /// The days of these codes; none where one is no code.
    pub fn of<'a>(codes: impl IntoIterator<Item = &'a str>) -> Option<OpenDays> {
        let mut days = [false; 7];
        for code in codes {
            days[WEEKDAYS.iter().position(|known| *known == code)?] = true;
        }
        Some(OpenDays(days))
    }

    pub fn codes(self) -> impl Iterator<Item = &'static str> {
        WEEKDAYS.into_iter().zip(self.0).filter(|(_, open)| *open).map(|(code, _)| code)
    }

    pub fn on(self, day: Weekday) -> bool {
        self.0[day.to_monday_zero_offset() as usize]
    }

    pub fn none(self) -> bool {
        self.0 == [false; 7]
    }
}

impl Serialize for OpenDays {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.codes())
    }
}

impl<'de> Deserialize<'de> for OpenDays {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<OpenDays, D::Error> {
        let codes: Vec<String> = Vec::deserialize(deserializer)?;
        let days = OpenDays::of(codes.iter().map(String::as_str));
        days.ok_or_else(|| serde::de::Error::custom("a day of the week is one of mon, tue, wed, thu, fri, sat, sun"))
    }
}

/// A way by road.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Way {
    pub distance: Distance,
    pub minutes: u32,
}

/// A buyer as a place to drive to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Yard {
    /// From home, one way.
    pub way: Way,
    /// Spent there: unloading, the scale, the office.
    pub minutes_there: u32,
    /// None where nobody has said.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub open: Option<OpenDays>,
    /// Single days on which it is closed all the same, in order.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub closed: Vec<Date>,
}

impl Yard {
    /// Whether it is open on a day. Where nobody has told the opening days it counts as open, and that is said.
    pub fn is_open(&self, day: Date) -> bool {
        self.open.is_none_or(|open| open.on(day.weekday())) && !self.closed.contains(&day)
    }
}

/// Where a buyer is; what was told before is replaced as a whole, and none takes it back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct YardTold {
    pub buyer: BuyerId,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub yard: Option<Yard>,
}

/// A road from one buyer straight to another, the same either way; none takes it back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoadTold {
    /// The one that was made first.
    pub one: BuyerId,
    pub other: BuyerId,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub way: Option<Way>,
}

/// What the vehicle takes and costs; what is absent is left as it is, null takes it back.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct VehicleTold {
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub payload: Set<Mass>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub litres: Set<u32>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub bins: Set<u32>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub running: Set<Running>,
}

/// A grade that goes at this price or above, and not below, until it goes anyway.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    pub at: Price,
    /// From this day on it goes anyway.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub by: Option<Date>,
    /// From this much on in all bins it goes anyway.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub from: Option<Mass>,
}

/// Holds a grade back; what was told before is replaced as a whole, and none takes it back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct HoldTold {
    pub grade: GradeId,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub hold: Option<Hold>,
}

/// What the owner decided about a bin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pin {
    /// It stays at home.
    Leave,
    /// It must go with the next drive.
    Go,
}

/// It holds for this fill: until it is taken back by none, or the bin is emptied or loaded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct BinPinned {
    pub bin: BinId,
    pub fill: FillId,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pin: Option<Pin>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::DistanceUnit;
    use jiff::civil::date;
    use proptest::prelude::*;
    use rust_decimal::Decimal;

    fn yard(open: Option<OpenDays>, closed: Vec<Date>) -> Yard {
        let distance = Distance { amount: Decimal::TEN, unit: DistanceUnit::Kilometre };
        Yard { way: Way { distance, minutes: 15 }, minutes_there: 20, open, closed }
    }

    #[test]
    fn open_by_weekday_and_closed_by_day() {
        let weekdays = OpenDays::of(["mon", "fri"]);
        let monday = date(2026, 3, 2);
        assert!(yard(weekdays, vec![]).is_open(monday));
        assert!(!yard(weekdays, vec![]).is_open(date(2026, 3, 3)));
        assert!(!yard(weekdays, vec![monday]).is_open(monday));
        assert!(yard(None, vec![]).is_open(date(2026, 3, 1)), "nobody has said");
        assert!(!yard(None, vec![monday]).is_open(monday));
        assert_eq!(OpenDays::of(["monday"]), None);
        assert!(OpenDays::of([]).unwrap().none());
    }

    proptest! {
        #[test]
        fn open_days_are_written_and_read_back(bits in any::<[bool; 7]>()) {
            let days = OpenDays(bits);
            let text = serde_json::to_string(&days).unwrap();
            prop_assert_eq!(serde_json::from_str::<OpenDays>(&text).unwrap(), days);
            prop_assert_eq!(OpenDays::of(days.codes()), Some(days));
        }
    }
}

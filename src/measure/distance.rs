//! Distances along a road, as they were told, in kilometres or miles.

use super::{Money, Rounding};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// What a distance is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum DistanceUnit {
    #[serde(rename = "km")]
    Kilometre,
    #[serde(rename = "mi")]
    Mile,
}

impl DistanceUnit {
    pub const ALL: [DistanceUnit; 2] = [DistanceUnit::Kilometre, DistanceUnit::Mile];

    pub const fn symbol(self) -> &'static str {
        match self {
            DistanceUnit::Kilometre => "km",
            DistanceUnit::Mile => "mi",
        }
    }

    /// The unit that a person typed.
    pub fn parse(text: &str) -> Option<DistanceUnit> {
        match text.trim().to_ascii_lowercase().as_str() {
            "km" | "kilometre" | "kilometres" | "kilometer" | "kilometers" => Some(DistanceUnit::Kilometre),
            "mi" | "mile" | "miles" => Some(DistanceUnit::Mile),
            _ => None,
        }
    }

    /// In kilometres. The international mile is 1.609344 km, exact (NIST Handbook 44, Appendix C).
    const fn kilometres(self) -> Decimal {
        match self {
            DistanceUnit::Kilometre => Decimal::ONE,
            DistanceUnit::Mile => Decimal::from_parts(1_609_344, 0, 0, false, 6),
        }
    }
}

/// A distance as it was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Distance {
    pub amount: Decimal,
    pub unit: DistanceUnit,
}

/// Decimals of what a kilometre costs where it was told by the mile.
const PER_KM_PLACES: u32 = 12;

impl Distance {
    /// In kilometres, exact for amounts of up to nine decimals and 10¹² in size.
    pub fn km(self) -> Decimal {
        (self.amount * self.unit.kilometres()).normalize()
    }

    /// Reads a plain decimal and its unit, as in `12.5 km` or `8mi`.
    pub fn parse(text: &str) -> Option<Distance> {
        let at = text.find(|c: char| c.is_ascii_alphabetic())?;
        let amount = super::Price::amount(text[..at].trim()).ok()?;
        Some(Distance { amount, unit: DistanceUnit::parse(&text[at..])? })
    }
}

impl std::fmt::Display for Distance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.amount, self.unit.symbol())
    }
}

/// What driving costs, fuel and wear, for each of a unit of distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Running {
    pub money: Money,
    pub per: DistanceUnit,
}

impl Running {
    /// For a kilometre: as it was told, or to twelve decimals, half to even, where it was told by the mile.
    pub fn per_km(self) -> Decimal {
        match self.per {
            DistanceUnit::Kilometre => self.money.amount,
            DistanceUnit::Mile => Rounding::HalfEven.decimal(self.money.amount / self.per.kilometres(), PER_KM_PLACES),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Currency;

    #[test]
    fn a_mile_is_what_the_handbook_says() {
        let km = |text: &str| Distance::parse(text).map(|distance| distance.km().to_string());
        assert_eq!(km("1 mi").unwrap(), "1.609344", "NIST Handbook 44, Appendix C");
        assert_eq!(km("26.2miles").unwrap(), "42.1648128");
        assert_eq!(km("12.50 km").unwrap(), "12.5");
        for bad in ["", "12", "km", "-1 km", "1e3 km", "3 leagues", "1,5 km", "12 km there"] {
            assert_eq!(km(bad), None, "{bad}");
        }
    }

    /// Ten miles cost the same whichever way they are told.
    #[test]
    fn what_driving_costs_is_the_same_by_the_mile() {
        let money = Money { amount: Decimal::new(67, 2), currency: Currency::parse("USD").unwrap() };
        let by_mile = Running { money, per: DistanceUnit::Mile }.per_km();
        let ten = Distance { amount: Decimal::TEN, unit: DistanceUnit::Mile }.km();
        assert_eq!((ten * by_mile).round_dp(9), Decimal::new(670, 2).round_dp(9));
        assert_eq!(Running { money, per: DistanceUnit::Kilometre }.per_km(), money.amount);
    }
}

//! The words about yards, the vehicle, holds and pins, in English.

use crate::command::TripRefusal;
use crate::facts::{Pin, WEEKDAYS};

/// One sentence: what is wrong, and what to do.
pub fn refusal(refusal: TripRefusal) -> String {
    match refusal {
        TripRefusal::DistanceMissing => "say how far it is from home, one way, as in \"12.5 km\" or \"8 mi\"".into(),
        TripRefusal::MinutesMissing => "say how many minutes the way takes, one way".into(),
        TripRefusal::MinutesThereMissing => "say how many minutes you usually spend there".into(),
        TripRefusal::TooFar { most_km } => format!("a way is {most_km} km at most, one way: is there a digit too many?"),
        TripRefusal::TooLong { most_minutes } => {
            format!("it takes {most_minutes} minutes at most: is there a digit too many?")
        }
        TripRefusal::NeverOpen => "name at least one day of the week on which it is open; null takes the days back".into(),
        TripRefusal::TooManyClosed { most } => format!("{most} single closed days at most: leave out those that have passed"),
        TripRefusal::SameBuyer => "a road leads from one buyer to another: name two".into(),
        TripRefusal::NothingTold => "nothing was told of it that could be taken back".into(),
        TripRefusal::NoBins => "a vehicle takes one bin at least; null takes the limit back".into(),
        TripRefusal::LitresOutOfRange { most } => format!("room is from 1 to {most} litres"),
        TripRefusal::HoldAtNothing => "hold it for a price above nothing".into(),
    }
}

/// The stable code of a refusal.
pub const fn code(refusal: TripRefusal) -> &'static str {
    match refusal {
        TripRefusal::DistanceMissing => "distance-missing",
        TripRefusal::MinutesMissing => "minutes-missing",
        TripRefusal::MinutesThereMissing => "minutes-there-missing",
        TripRefusal::TooFar { .. } => "too-far",
        TripRefusal::TooLong { .. } => "too-long",
        TripRefusal::NeverOpen => "never-open",
        TripRefusal::TooManyClosed { .. } => "too-many-closed-days",
        TripRefusal::SameBuyer => "same-buyer",
        TripRefusal::NothingTold => "nothing-told",
        TripRefusal::NoBins => "no-bins",
        TripRefusal::LitresOutOfRange { .. } => "litres-out-of-range",
        TripRefusal::HoldAtNothing => "hold-at-nothing",
    }
}

/// The field of a request that a refusal is about, by its key; none where what was asked for is wrong as a whole.
pub const fn field(refusal: TripRefusal) -> Option<&'static str> {
    match refusal {
        TripRefusal::DistanceMissing | TripRefusal::TooFar { .. } => Some("distance"),
        TripRefusal::MinutesMissing | TripRefusal::TooLong { .. } => Some("minutes"),
        TripRefusal::MinutesThereMissing => Some("minutes_there"),
        TripRefusal::NeverOpen => Some("open"),
        TripRefusal::TooManyClosed { .. } => Some("closed"),
        TripRefusal::SameBuyer => Some("other"),
        TripRefusal::NoBins => Some("bins"),
        TripRefusal::LitresOutOfRange { .. } => Some("litres"),
        TripRefusal::HoldAtNothing => Some("at"),
        TripRefusal::NothingTold => None,
    }
}

/// What may be decided about a bin, with its code and its words.
pub const PINS: [(Pin, &str, &str); 2] = [(Pin::Leave, "stay", "stays at home"), (Pin::Go, "go", "must go")];

pub fn pin_code(pin: Pin) -> &'static str {
    PINS.iter().find(|(known, ..)| *known == pin).map_or("stay", |(_, code, _)| code)
}

pub fn pin_of(code: &str) -> Option<Pin> {
    PINS.iter().find(|(_, known, _)| *known == code).map(|(pin, ..)| *pin)
}

/// The days of the week in words, Monday first, beside their codes.
pub fn weekdays() -> impl Iterator<Item = (&'static str, &'static str)> {
    WEEKDAYS.into_iter().zip(["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_read_back() {
        for (pin, code, _) in PINS {
            assert_eq!((pin_of(code), pin_code(pin)), (Some(pin), code));
        }
        assert_eq!(pin_of("none"), None);
    }
}

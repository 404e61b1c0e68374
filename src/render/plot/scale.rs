//! From a value to a place on the paper, and the figures along the edge.

use crate::measure::Rounding;
use rust_decimal::Decimal;

/// Where values lie between two edges, in tenths of a pixel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scale {
    low: Decimal,
    high: Decimal,
    step: Decimal,
    from: i64,
    to: i64,
}

/// The powers of ten that a step may have.
const POWERS: std::ops::Range<i32> = -9..16;

impl Scale {
    /// Holds all of `values`, with at most `most` steps of 1, 2 or 5 times a power of ten; values at `low` are drawn at
    /// `from`, the highest at `to`. None for no value and for what no step reaches.
    pub fn over(values: impl Iterator<Item = Decimal> + Clone, most: u32, from: i64, to: i64) -> Option<Scale> {
        let (mut low, mut high) = (values.clone().min()?, values.max()?);
        if low == high {
            // One value alone still needs a room around it.
            let around = if low.is_zero() { Decimal::ONE } else { low.abs().checked_div(Decimal::TEN)? };
            (low, high) = (low.checked_sub(around)?, high.checked_add(around)?);
        }
        steps().find_map(|step| {
            let first = low.checked_div(step)?.floor();
            let last = high.checked_div(step)?.ceil();
            let enough = last.checked_sub(first)? <= Decimal::from(most);
            enough.then(|| Some(Scale { low: first.checked_mul(step)?, high: last.checked_mul(step)?, step, from, to }))?
        })
    }

    /// In tenths of a pixel; none for what lies beyond the edges or cannot be reckoned.
    pub fn place(&self, value: Decimal) -> Option<i64> {
        if value < self.low || value > self.high {
            return None;
        }
        let part = value.checked_sub(self.low)?.checked_div(self.high.checked_sub(self.low)?)?;
        let along = part.checked_mul(Decimal::from(self.to - self.from))?;
        Some(self.from + i64::try_from(Rounding::HalfEven.decimal(along, 0)).ok()?)
    }

    /// The values at the steps, written with as many decimals as the step has.
    pub fn ticks(&self) -> Vec<(i64, String)> {
        let places = self.step.normalize().scale();
        let count = (0_u32..).map(|index| self.low.saturating_add(self.step.saturating_mul(Decimal::from(index))));
        let inside = count.take_while(|value| *value <= self.high).take(64);
        let mut ticks = Vec::new();
        for mut value in inside {
            if let Some(place) = self.place(value) {
                value.rescale(places);
                ticks.push((place, value.to_string()));
            }
        }
        ticks
    }

    /// Where nothing lies, or the edge that is nearest to it.
    pub fn base(&self) -> i64 {
        self.place(Decimal::ZERO.clamp(self.low, self.high)).unwrap_or(self.from)
    }
}

/// 1, 2 and 5 times every power of ten, upwards.
fn steps() -> impl Iterator<Item = Decimal> {
    POWERS.flat_map(|power| {
        [1_i64, 2, 5].map(|digit| match u32::try_from(power) {
            Ok(up) => Decimal::from(digit * 10_i64.pow(up)),
            Err(_) => Decimal::new(digit, power.unsigned_abs()),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn scale(values: &[&str]) -> Scale {
        let values: Vec<Decimal> = values.iter().map(|value| value.parse().unwrap()).collect();
        Scale::over(values.iter().copied(), 5, 0, 1000).unwrap()
    }

    fn written(scale: &Scale) -> Vec<String> {
        scale.ticks().into_iter().map(|(_, text)| text).collect()
    }

    #[test]
    fn steps_are_what_a_person_would_take() {
        assert_eq!(written(&scale(&["0", "97"])), ["0", "20", "40", "60", "80", "100"]);
        assert_eq!(written(&scale(&["-0.03", "0.011"])), ["-0.03", "-0.02", "-0.01", "0.00", "0.01", "0.02"]);
        assert_eq!(written(&scale(&["8.5"])), ["7.5", "8.0", "8.5", "9.0", "9.5"]);
        assert_eq!(written(&scale(&["0"])), ["-1.0", "-0.5", "0.0", "0.5", "1.0"]);
    }

    #[test]
    fn what_lies_beyond_has_no_place() {
        let scale = scale(&["0", "10"]);
        let place = |value: &str| scale.place(value.parse().unwrap());
        assert_eq!((place("0"), place("5"), place("10")), (Some(0), Some(500), Some(1000)));
        assert_eq!((place("-0.1"), place("10.1")), (None, None));
        assert!(Scale::over(std::iter::empty(), 5, 0, 1000).is_none());
        assert!(Scale::over([Decimal::MIN, Decimal::MAX].into_iter(), 5, 0, 1000).is_none());
    }

    proptest! {
        #[test]
        fn every_value_has_a_place_in_their_order(
            mut raw in prop::collection::vec(-1_000_000_000_i64..1_000_000_000, 1..20),
            places in 0_u32..9,
            most in 2_u32..8,
        ) {
            raw.sort();
            let values: Vec<Decimal> = raw.iter().map(|raw| Decimal::new(*raw, places)).collect();
            let scale = Scale::over(values.iter().copied(), most, 3000, 100).unwrap();
            let ticks = scale.ticks();
            prop_assert!((2..=most as usize + 1).contains(&ticks.len()));
            let drawn: Vec<i64> = values.iter().map(|value| scale.place(*value).unwrap()).collect();
            prop_assert!(drawn.is_sorted_by(|one, next| one >= next));
            prop_assert!(drawn.iter().all(|place| (100..=3000).contains(place)));
        }
    }
}

//! Does a grade earn a bin of its own, or does it go in with a coarser one?

use super::number::{hours, kilograms};
use super::quotes::{MONEY_PLACES, MONEY_RULE, Terms};
use crate::facts::{BuyerId, GradeId};
use crate::measure::{Currency, Mass, Money, Span};
use rust_decimal::Decimal;

/// What a kilogram brings at one buyer, after minimum lots, breaks and deductions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PerKilogram {
    pub buyer: BuyerId,
    pub price: Money,
}

impl PerKilogram {
    /// At these terms for what one trip brings of the grade; none where the buyer takes no less than more.
    pub fn at(terms: &Terms, buyer: BuyerId, trip: Mass) -> Option<PerKilogram> {
        Some(PerKilogram { buyer, price: terms.per_kilogram(trip)? })
    }
}

/// A grade that stands at the bench, or might.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    pub grade: GradeId,
    /// The grade that it can go in with; none where nobody has said.
    pub coarser: Option<GradeId>,
    /// What collects in a month; none where too little was recorded.
    pub month: Option<Mass>,
    /// Sorted out and sold as itself; none below the minimum lot or without a quote.
    pub own: Option<PerKilogram>,
    /// In the coarser grade, on the same trip.
    pub fallback: Option<PerKilogram>,
    /// What sorting it out takes more, a month; none where nobody has said.
    pub extra_sorting: Option<Span>,
    /// Places that it takes at the bench, one at the least.
    pub places: u32,
    /// What a full bin holds.
    pub full_bin: Option<Mass>,
    /// Days from empty to the tap "full", each time that it was tapped.
    pub days_to_full: Vec<u32>,
}

/// One grade, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    pub grade: GradeId,
    pub verdict: PlaceVerdict,
    /// A month: kilograms × (own − fallback) − extra sorting × floor, rounded once.
    pub gain: Option<Money>,
    pub days_to_fill: Option<DaysToFill>,
    pub full_bin_value: Option<Money>,
    /// What one wrong piece costs when the full bin is paid as the coarser grade for it.
    pub wrong_piece: Option<Money>,
    /// Single changes that would turn the verdict.
    pub turns: Vec<Turn>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlaceVerdict {
    /// Its rank among those that earn, from 1.
    Earns {
        rank: u32,
    },
    /// It would, but better ones fill the places.
    NoPlaceLeft {
        rank: u32,
    },
    GoesIn,
    CannotTell(Vec<Missing>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// Nobody has said which grade it can go in with.
    Coarser,
    Kilograms,
    OwnPrice,
    FallbackPrice,
    /// The two prices are of different buyers, or in different currencies.
    SameBuyer,
    /// It would gain, and nobody has said how much time sorting it out takes.
    Sorting,
    /// It would gain, and nobody has said what an hour of sorting must bring.
    Floor,
    TooLarge,
}

/// The value of one figure at which gaining and losing meet, the others as they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// The own price of a kilogram.
    OwnPrice(Decimal),
    /// What collects in a month.
    Month(Mass),
    /// Extra sorting in a month.
    Sorting(Span),
}

/// How long a bin takes to fill, from taps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DaysToFill {
    /// Of an even number the lower of the two in the middle.
    pub median: u32,
    pub shortest: u32,
    pub longest: u32,
    pub taps: usize,
}

/// Ranks the candidates by what they gain a place, and gives out the places that the bench has, as many as they like where
/// nobody has counted them. `floor` is what an hour of the owner must bring.
pub fn places(candidates: &[Candidate], floor: Option<Money>, places: Option<u32>) -> Vec<Judged> {
    let mut weighed: Vec<(Decimal, u32, Judged)> = candidates.iter().map(|one| weigh(one, floor)).collect();
    weighed.sort_by(|(one, _, a), (other, _, b)| other.cmp(one).then(a.grade.cmp(&b.grade)));
    let (mut left, mut rank) = (places.unwrap_or(u32::MAX), 0);
    for (_, needs, judged) in &mut weighed {
        if let PlaceVerdict::Earns { .. } = judged.verdict {
            rank += 1;
            judged.verdict = match left.checked_sub(*needs) {
                Some(rest) => {
                    left = rest;
                    PlaceVerdict::Earns { rank }
                }
                None => PlaceVerdict::NoPlaceLeft { rank },
            };
        }
    }
    weighed.into_iter().map(|(_, _, judged)| judged).collect()
}

/// The gain per place, the places needed, and the verdict before places are given out. What cannot be told comes last.
fn weigh(one: &Candidate, floor: Option<Money>) -> (Decimal, u32, Judged) {
    let needs = one.places.max(1);
    let value = |mass: Mass, price: Decimal, currency: Currency| {
        let amount = MONEY_RULE.decimal(kilograms(mass)?.checked_mul(price)?, MONEY_PLACES);
        Some(Money { amount, currency })
    };
    let pair = one.own.zip(one.fallback).filter(|(own, fallback)| one.comparable(own, fallback, floor));
    let mut judged = Judged {
        grade: one.grade,
        verdict: PlaceVerdict::CannotTell(Vec::new()),
        gain: None,
        days_to_fill: days_to_fill(&one.days_to_full),
        full_bin_value: one.own.zip(one.full_bin).and_then(|(own, full)| value(full, own.price.amount, own.price.currency)),
        wrong_piece: pair.zip(one.full_bin).and_then(|((own, fallback), full)| {
            let less = own.price.amount.checked_sub(fallback.price.amount)?.max(Decimal::ZERO);
            value(full, less, own.price.currency)
        }),
        turns: Vec::new(),
    };
    let missing = one.missing(pair.is_some());
    let (Some((own, fallback)), Some(month), true) = (pair, one.month, missing.is_empty()) else {
        judged.verdict = PlaceVerdict::CannotTell(missing);
        return (Decimal::MIN, needs, judged);
    };
    let (time, hour, unknown) = one.time(floor);
    match gain(month, own.price.amount, fallback.price.amount, time, hour) {
        // Time that nobody has told can only make it less.
        Some((gain, turns)) if unknown.is_some() && gain > Decimal::ZERO => {
            judged.turns = turns.into_iter().filter(|turn| matches!(turn, Turn::Sorting(_))).collect();
            judged.verdict = PlaceVerdict::CannotTell(unknown.into_iter().collect());
            (Decimal::MIN, needs, judged)
        }
        Some((gain, turns)) => {
            let amount = MONEY_RULE.decimal(gain, MONEY_PLACES);
            judged.gain = unknown.is_none().then_some(Money { amount, currency: own.price.currency });
            judged.turns = if unknown.is_none() { turns } else { Vec::new() };
            judged.verdict = if gain > Decimal::ZERO { PlaceVerdict::Earns { rank: 0 } } else { PlaceVerdict::GoesIn };
            (gain / Decimal::from(needs), needs, judged)
        }
        None => {
            judged.verdict = PlaceVerdict::CannotTell(vec![Missing::TooLarge]);
            (Decimal::MIN, needs, judged)
        }
    }
}

fn gain(month: Mass, own: Decimal, fallback: Decimal, sorting: Span, floor: Decimal) -> Option<(Decimal, Vec<Turn>)> {
    let kilograms = kilograms(month)?;
    let more = own.checked_sub(fallback)?;
    let earns = kilograms.checked_mul(more)?;
    let costs = hours(sorting).checked_mul(floor)?;
    let mut turns = Vec::new();
    if kilograms > Decimal::ZERO {
        turns.push(Turn::OwnPrice(fallback.checked_add(costs.checked_div(kilograms)?)?));
    }
    if more > Decimal::ZERO && costs > Decimal::ZERO {
        turns.push(Turn::Month(super::number::mass_of_kilograms(costs.checked_div(more)?)?));
    }
    if earns > Decimal::ZERO && floor > Decimal::ZERO {
        turns.push(Turn::Sorting(super::number::span_of_hours(earns.checked_div(floor)?)?));
    }
    Some((earns.checked_sub(costs)?, turns))
}

impl Candidate {
    fn comparable(&self, own: &PerKilogram, fallback: &PerKilogram, floor: Option<Money>) -> bool {
        let with_floor = floor.is_none_or(|floor| floor.currency == own.price.currency);
        own.buyer == fallback.buyer && own.price.currency == fallback.price.currency && with_floor
    }

    /// Sorting, what an hour of it costs, and what of both nobody has told where it matters.
    fn time(&self, floor: Option<Money>) -> (Span, Decimal, Option<Missing>) {
        let hour = floor.map(|floor| floor.amount);
        match (self.extra_sorting, hour) {
            (Some(Span::ZERO), hour) => (Span::ZERO, hour.unwrap_or_default(), None),
            (Some(span), Some(hour)) => (span, hour, None),
            (Some(_), None) => (Span::ZERO, Decimal::ZERO, Some(Missing::Floor)),
            (None, hour) => (Span::ZERO, hour.unwrap_or_default(), Some(Missing::Sorting)),
        }
    }

    fn missing(&self, comparable: bool) -> Vec<Missing> {
        let mut missing = Vec::new();
        if self.coarser.is_none() {
            missing.push(Missing::Coarser);
        }
        if self.month.is_none() {
            missing.push(Missing::Kilograms);
        }
        if self.own.is_none() {
            missing.push(Missing::OwnPrice);
        }
        if self.fallback.is_none() && self.coarser.is_some() {
            missing.push(Missing::FallbackPrice);
        }
        if self.own.is_some() && self.fallback.is_some() && !comparable {
            missing.push(Missing::SameBuyer);
        }
        missing
    }
}

/// None before the first tap.
pub fn days_to_fill(days: &[u32]) -> Option<DaysToFill> {
    let mut sorted = days.to_vec();
    sorted.sort_unstable();
    let (shortest, longest) = (*sorted.first()?, *sorted.last()?);
    Some(DaysToFill { median: sorted[(sorted.len() - 1) / 2], shortest, longest, taps: sorted.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn usd(text: &str) -> Money {
        Money { amount: text.parse().unwrap(), currency: Currency::parse("USD").unwrap() }
    }

    fn candidate(grade: u64, grams: i64, own: &str, fallback: &str, minutes: u64) -> Candidate {
        let at = |text| Some(PerKilogram { buyer: BuyerId(1), price: usd(text) });
        Candidate {
            grade: GradeId(grade),
            coarser: Some(GradeId(99)),
            month: Some(Mass::grams(grams)),
            own: at(own),
            fallback: at(fallback),
            extra_sorting: Some(Span::seconds(60 * minutes)),
            places: 1,
            full_bin: Some(Mass::grams(20_000)),
            days_to_full: vec![30, 10, 20, 40],
        }
    }

    #[test]
    fn gain_a_month_and_what_turns_it() {
        let judged = &places(&[candidate(1, 5000, "8.00", "6.00", 30)], Some(usd("12")), Some(3))[0];
        assert_eq!(judged.verdict, PlaceVerdict::Earns { rank: 1 });
        assert_eq!(judged.gain, Some(usd("4.00")));
        assert_eq!(judged.full_bin_value, Some(usd("160.00")));
        assert_eq!(judged.wrong_piece, Some(usd("40.00")));
        assert_eq!(judged.days_to_fill, Some(DaysToFill { median: 20, shortest: 10, longest: 40, taps: 4 }));
        let turns =
            [Turn::OwnPrice("7.2".parse().unwrap()), Turn::Month(Mass::grams(3000)), Turn::Sorting(Span::seconds(50 * 60))];
        assert_eq!(judged.turns, turns);
    }

    #[test]
    fn places_go_to_the_best_per_place() {
        let mut wide = candidate(1, 10_000, "8.00", "6.00", 0);
        wide.places = 4;
        let all =
            [wide, candidate(2, 3000, "8.00", "6.00", 0), candidate(3, 4000, "8", "6", 0), candidate(4, 1000, "6", "6.10", 0)];
        let verdicts: Vec<_> =
            places(&all, Some(usd("12")), Some(5)).into_iter().map(|judged| (judged.grade.0, judged.verdict)).collect();
        let expected = [
            (3, PlaceVerdict::Earns { rank: 1 }),
            (2, PlaceVerdict::Earns { rank: 2 }),
            (1, PlaceVerdict::NoPlaceLeft { rank: 3 }),
            (4, PlaceVerdict::GoesIn),
        ];
        assert_eq!(verdicts, expected);
        let even = &places(&[candidate(1, 6000, "8.00", "6.00", 60)], Some(usd("12")), Some(5))[0];
        assert_eq!((&even.verdict, even.gain), (&PlaceVerdict::GoesIn, Some(usd("0.00"))), "nothing gained earns no place");
    }

    #[test]
    fn what_is_missing_is_named() {
        let mut bare = candidate(1, 1, "1", "1", 0);
        bare.month = None;
        bare.own = None;
        let verdict = |one: &Candidate| places(std::slice::from_ref(one), Some(usd("12")), Some(1))[0].verdict.clone();
        assert_eq!(verdict(&bare), PlaceVerdict::CannotTell(vec![Missing::Kilograms, Missing::OwnPrice]));
        let mut other = candidate(1, 1, "1", "1", 0);
        other.fallback = Some(PerKilogram { buyer: BuyerId(2), price: usd("1") });
        assert_eq!(verdict(&other), PlaceVerdict::CannotTell(vec![Missing::SameBuyer]));
        assert_eq!(days_to_fill(&[]), None);
    }

    #[test]
    fn time_that_nobody_told_is_not_nothing() {
        let one = |own: &str, sorting: Option<u64>, floor: Option<&str>| {
            let extra_sorting = sorting.map(|minutes| Span::seconds(60 * minutes));
            let candidate = Candidate { extra_sorting, ..candidate(1, 5000, own, "6.00", 0) };
            places(&[candidate], floor.map(usd), None).remove(0)
        };
        let untold = one("8.00", None, Some("12"));
        assert_eq!(untold.verdict, PlaceVerdict::CannotTell(vec![Missing::Sorting]));
        assert_eq!((untold.gain, untold.turns), (None, vec![Turn::Sorting(Span::seconds(50 * 60))]), "10.00 pays fifty minutes");
        assert_eq!(one("8.00", Some(30), None).verdict, PlaceVerdict::CannotTell(vec![Missing::Floor]));
        assert_eq!(one("8.00", Some(0), None).gain, Some(usd("10.00")), "no time needs no price");
        for (sorting, floor) in [(None, Some("12")), (Some(30), None), (None, None)] {
            assert_eq!(one("6.00", sorting, floor).verdict, PlaceVerdict::GoesIn, "whatever the time, it gains nothing");
        }
        let mut lost = candidate(1, 5000, "8.00", "6.00", 30);
        (lost.coarser, lost.fallback) = (None, None);
        assert_eq!(places(&[lost], None, None)[0].verdict, PlaceVerdict::CannotTell(vec![Missing::Coarser]));
    }

    proptest! {
        /// Of the same kilograms, prices and hours in any unit of weight and time the verdict is the same, and a place more
        /// never takes one away.
        #[test]
        fn more_places_hold_no_less(list in proptest::collection::vec((1_i64..50_000, 0_i64..2000, 0_i64..2000, 0_u64..300, 1_u32..4), 1..8), bench in 0_u32..9) {
            let candidates: Vec<Candidate> = list.iter().zip(1..).map(|((grams, own, fallback, minutes, places), grade)| {
                let price = |cents: i64| format!("{}", Decimal::new(cents, 2));
                Candidate { places: *places, ..candidate(grade, *grams, &price(*own), &price(*fallback), *minutes) }
            }).collect();
            let held = |bench: Option<u32>| {
                let judged = places(&candidates, Some(usd("12")), bench);
                let kept = judged.iter().filter(|one| matches!(one.verdict, PlaceVerdict::Earns { .. }));
                let needs = |grade: GradeId| candidates.iter().find(|one| one.grade == grade).map_or(0, |one| one.places);
                kept.map(|one| (one.gain.unwrap().amount, needs(one.grade))).fold((Decimal::ZERO, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
            };
            prop_assert!(held(Some(bench)).1 <= bench);
            let all = held(None);
            prop_assert!(held(Some(bench)).0 <= all.0);
            prop_assert_eq!(held(Some(all.1)), all, "as many places as are needed are enough");
        }

        #[test]
        fn at_each_turn_nothing_is_gained(grams in 1_i64..100_000, own in 1_i64..2000, fallback in 0_i64..2000, minutes in 0_u64..600, floor in 1_i64..5000) {
            let (own, fallback, floor) = (Decimal::new(own, 2), Decimal::new(fallback, 2), Decimal::new(floor, 2));
            let (month, sorting) = (Mass::grams(grams), Span::seconds(60 * minutes));
            let (_, turns) = gain(month, own, fallback, sorting, floor).unwrap();
            for turn in turns {
                let (at, _) = match turn {
                    Turn::OwnPrice(own) => gain(month, own, fallback, sorting, floor),
                    Turn::Month(month) => gain(month, own, fallback, sorting, floor),
                    Turn::Sorting(sorting) => gain(month, own, fallback, sorting, floor),
                }.unwrap();
                prop_assert!(at.abs() < Decimal::new(1, 8), "{turn:?} leaves {at}");
            }
        }
    }
}

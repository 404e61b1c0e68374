//! What comes out of a feed: recovery by grade, and what is missing.
//!
//! Over closed lots only; opening stock and catch-ups are not handed in here, since nobody knows what they came out of.

use super::number::kilograms;
use super::ratio::{Pair, Ratio, ratio};
use super::weighed::{Weighed, of_quotient, total};
use crate::facts::GradeId;
use crate::measure::Mass;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// An intake, and what came out of it so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedLot {
    pub closed: bool,
    pub intake: Weighed,
    pub outputs: Vec<(GradeId, Weighed)>,
}

/// The yields of a feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Yields {
    pub lots: usize,
    pub open_lots: usize,
    pub intake: Mass,
    /// In the order of the grades' identities.
    pub grades: Vec<Recovery>,
    pub loss: Loss,
}

/// How much of the intake came out as one grade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recovery {
    pub grade: GradeId,
    pub mass: Mass,
    /// Output over intake, total over total; the interval shows how lots differ.
    pub ratio: Ratio,
    /// Standard uncertainty of the pooled ratio from the weighing alone; none where the intake is nothing.
    pub weighing: Option<Decimal>,
}

impl Recovery {
    /// Nothing that came out as this grade was weighed before.
    pub fn unknown(grade: GradeId) -> Recovery {
        Recovery { grade, mass: Mass::ZERO, ratio: Ratio::Cannot(super::ratio::Cannot::NothingBelow), weighing: None }
    }
}

/// What went in and did not come out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loss {
    /// Negative when more came out than went in.
    pub mass: Mass,
    pub ratio: Ratio,
    pub weighing: Option<Decimal>,
    pub verdict: LossVerdict,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossVerdict {
    /// More is missing than the scale may err by (k = 2).
    Missing,
    /// In and out agree within what the scale may err by.
    Balanced,
    /// More came out than went in: an intake or an output is booked wrongly.
    Surplus,
}

/// The yields over the closed lots. None when there is none.
pub fn yields(lots: &[FeedLot]) -> Option<Yields> {
    let closed: Vec<&FeedLot> = lots.iter().filter(|lot| lot.closed).collect();
    if closed.is_empty() {
        return None;
    }
    let intake = total(closed.iter().map(|lot| lot.intake));
    let mut by_grade: BTreeMap<GradeId, Vec<Weighed>> = BTreeMap::new();
    for (at, lot) in closed.iter().enumerate() {
        for (grade, output) in &lot.outputs {
            let row = by_grade.entry(*grade).or_insert_with(|| vec![Weighed::NOTHING; closed.len()]);
            row[at] = total([row[at], *output]);
        }
    }
    let over_intake = |masses: &[Mass]| {
        let pairs: Option<Vec<Pair>> = masses
            .iter()
            .zip(&closed)
            .map(|(mass, lot)| Some(Pair { above: kilograms(*mass)?, below: kilograms(lot.intake.mass)? }))
            .collect();
        pairs.map_or(Ratio::Cannot(super::ratio::Cannot::TooLarge), |pairs| ratio(&pairs))
    };
    let grades = by_grade.into_iter().map(|(grade, row)| {
        let all = total(row.iter().copied());
        let masses: Vec<Mass> = row.iter().map(|one| one.mass).collect();
        Recovery { grade, mass: all.mass, ratio: over_intake(&masses), weighing: of_quotient(all, intake) }
    });
    let out = total(closed.iter().flat_map(|lot| lot.outputs.iter().map(|(_, output)| *output)));
    let missing: Vec<Mass> =
        closed.iter().map(|lot| lot.intake.mass - lot.outputs.iter().map(|(_, output)| output.mass).sum()).collect();
    let missing_in_all = intake.mass - out.mass;
    let bound = intake.variance.plus(out.variance).expanded(2);
    Some(Yields {
        lots: closed.len(),
        open_lots: lots.len() - closed.len(),
        intake: intake.mass,
        grades: grades.collect(),
        loss: Loss {
            mass: missing_in_all,
            ratio: over_intake(&missing),
            // The loss is one less the recovery of all together, so its uncertainty is the same.
            weighing: of_quotient(out, intake),
            verdict: match missing_in_all {
                missing if missing > bound => LossVerdict::Missing,
                missing if missing < -bound => LossVerdict::Surplus,
                _ => LossVerdict::Balanced,
            },
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Variance;
    use proptest::prelude::*;

    fn weighed(grams: i64) -> Weighed {
        Weighed { mass: Mass::grams(grams), variance: Variance::of_difference(Mass::grams(1)) }
    }

    fn lot(intake: i64, copper: i64, steel: i64) -> FeedLot {
        FeedLot {
            closed: true,
            intake: weighed(intake),
            outputs: vec![(GradeId(1), weighed(copper)), (GradeId(2), weighed(steel))],
        }
    }

    #[test]
    fn pooled_over_closed_lots() {
        let mut open = lot(5000, 5000, 0);
        open.closed = false;
        let lots = [lot(1000, 200, 700), lot(3000, 500, 2300), lot(2000, 420, 1500), lot(4000, 880, 2900), open];
        let got = yields(&lots).unwrap();
        assert_eq!((got.lots, got.open_lots, got.intake), (4, 1, Mass::grams(10_000)));
        assert_eq!(got.grades[0].ratio.point(), Some(Decimal::new(2, 1)));
        assert!(got.grades[0].ratio.interval().unwrap().holds(Decimal::new(2, 1)));
        assert_eq!((got.loss.mass, got.loss.verdict), (Mass::grams(600), LossVerdict::Missing));
        assert_eq!(got.loss.ratio.point(), Some(Decimal::new(6, 2)));
    }

    #[test]
    fn a_grade_that_one_lot_has_not_counts_nothing_there() {
        let mut without = lot(1000, 0, 900);
        without.outputs.remove(0);
        let got = yields(&[lot(1000, 400, 500), without]).unwrap();
        assert_eq!(got.grades[0].ratio.point(), Some(Decimal::new(2, 1)));
        let Ratio::Points { points, .. } = &got.grades[0].ratio else { panic!("two lots have points only") };
        assert_eq!(points[1], Some(Decimal::ZERO));
    }

    #[test]
    fn in_and_out_within_what_the_scale_may_err_by() {
        assert_eq!(yields(&[lot(1000, 499, 500)]).unwrap().loss.verdict, LossVerdict::Balanced);
        assert_eq!(yields(&[lot(1000, 499, 504)]).unwrap().loss.verdict, LossVerdict::Surplus);
        assert_eq!(yields(&[]), None);
    }

    proptest! {
        #[test]
        fn grades_and_loss_make_up_the_intake(lots in proptest::collection::vec((1_i64..10_000, 0_i64..5000, 0_i64..5000), 1..9)) {
            let lots: Vec<FeedLot> = lots.iter().map(|(intake, copper, steel)| lot(*intake, *copper, *steel)).collect();
            let got = yields(&lots).unwrap();
            let out: Mass = got.grades.iter().map(|grade| grade.mass).sum();
            prop_assert_eq!(out + got.loss.mass, got.intake);
            let parts: Decimal = got.grades.iter().map(|grade| grade.ratio.point().unwrap()).sum();
            prop_assert_eq!((parts + got.loss.ratio.point().unwrap()).round_dp(20), Decimal::ONE);
        }
    }
}

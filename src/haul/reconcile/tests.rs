//! Against published uncertainty examples, and against simulated scales with a known truth.

use super::*;
use crate::measure::Unit;
use proptest::prelude::*;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

fn scale(grams: i64, readings: Variance, ppm: Option<u32>) -> OnOneScale {
    OnOneScale { mass: Mass::grams(grams), readings, calibration_ppm: ppm }
}

fn milligrams(count: i128) -> Mass {
    Mass::from_femtograms(count * 1_000_000_000_000)
}

/// JCGM 100:2008, F.2.2.1: a display of 1 g has u² = 1/12 g²; ours is a difference of two such readings and theirs another,
/// so u² = 4/12 and U = 2·√(1/3) = 1.1547 g.
#[test]
fn two_displays_of_one_gram() {
    let one = Variance::of_difference(Mass::grams(1));
    let got = compare(&[scale(1000, one, Some(0))], Mass::grams(999), one);
    assert_eq!(got.whole.expanded(2).rounded(Unit::Gram, 4, crate::measure::Rounding::HalfEven), "1.1547");
    assert_eq!(got.verdict(), Verdict::Agrees);
    let less = |grams| compare(&[scale(1000, one, Some(0))], Mass::grams(grams), one).verdict();
    assert_eq!([less(998), less(1002)], [Verdict::Short { repeated: false }, Verdict::Over], "three times is 1.732 g");
    let finer = |tenths: i128| compare(&[scale(1000, one, Some(0))], Mass::grams(1000) - milligrams(100 * tenths), one).verdict();
    assert_eq!([finer(11), finer(12), finer(17), finer(18)], {
        let short = Verdict::Short { repeated: false };
        [Verdict::Agrees, Verdict::LooksShort, Verdict::LooksShort, short]
    });
}

/// JCGM 100:2008, 5.2.2, ten resistors that were compared with one standard: ten times 100 mΩ make 1 Ω and not 0.32 Ω. Ten
/// drops on one scale whose calibration is known to 100 ppm are off by 100 ppm of their sum. EA-4/02, S2, as a solver prints
/// it: 22.5, 8.66, 14.2, 5.77 and 5.77 mg make 29.1 mg.
#[test]
fn what_is_common_adds_up_and_what_is_not_does_not() {
    let ten = scale(10_000, Variance::ZERO, Some(100));
    assert_eq!(compare(&[ten], Mass::grams(10_000), Variance::ZERO).whole, Variance::of_standard(Mass::grams(1)));
    let parts =
        [22_500, 8660, 14_200, 5770, 5770].map(|micro| Variance::of_standard(Mass::from_femtograms(micro * 1_000_000_000)));
    let home = parts[..4].iter().fold(Variance::ZERO, |sum, part| sum.plus(*part));
    let got = compare(&[scale(10_000, home, Some(0))], Mass::grams(10_000), parts[4]);
    assert_eq!(got.whole.expanded(1).rounded(Unit::Gram, 4, crate::measure::Rounding::HalfEven), "0.0291");
}

#[test]
fn what_cannot_be_told() {
    let one = Variance::of_difference(Mass::grams(1));
    let verdict = |ours, ppm, theirs| compare(&[scale(ours, one, ppm)], Mass::grams(theirs), one).verdict();
    assert_eq!(verdict(1000, None, 1000), Verdict::Agrees);
    assert_eq!(verdict(1000, None, 900), Verdict::CannotTell(WhyNot::Unchecked));
    assert_eq!(verdict(11, Some(0), 5), Verdict::CannotTell(WhyNot::TooCoarse));
    assert_eq!(compare(&[], Mass::grams(5), one).verdict(), Verdict::CannotTell(WhyNot::NotWeighed));
}

#[test]
fn three_in_a_row() {
    let row = |runs, before: &[bool]| in_a_row(Verdict::LooksShort, runs, before);
    assert_eq!(row(true, &[true, true]), Verdict::Short { repeated: true });
    assert_eq!(row(true, &[true, false, true]), Verdict::LooksShort);
    assert_eq!(row(true, &[true]), Verdict::LooksShort);
    assert_eq!(row(false, &[true, true]), Verdict::LooksShort);
    assert_eq!(in_a_row(Verdict::Agrees, true, &[true, true]), Verdict::Agrees);
}

/// Seeded chance: whole numbers alone.
struct Chance(ChaCha8Rng);

impl Chance {
    fn below(&mut self, n: i64) -> i64 {
        (self.0.next_u64() % n as u64) as i64
    }

    /// Nearly normal with this standard deviation, in micrograms: the sum of twelve rectangles of unit variance each.
    fn normal(&mut self, deviation: i64) -> i64 {
        let sum: i64 = (0..12).map(|_| self.below(2001) - 1000).sum();
        sum * deviation / 2000
    }
}

fn micrograms(count: i64) -> Mass {
    Mass::from_femtograms(i128::from(count) * 1_000_000_000)
}

/// What a display of this division shows, in micrograms.
fn shown(truth: i64, division: i64) -> i64 {
    (truth + division / 2).div_euclid(division) * division
}

const GRAM: i64 = 1_000_000;

/// A load of 2 to 40 kg on our scale (1 g, off by 100 ppm at random from week to week) and on theirs (20 g, off by `bias`
/// ppm), each as the difference of two displays.
fn ticket(chance: &mut Chance, bias: i64) -> (Compared, Mass) {
    let truth = 2000 * GRAM + chance.below(38_000 * GRAM);
    let weigh = |chance: &mut Chance, ppm: i64, division: i64| {
        let empty = chance.below(3000 * GRAM);
        let by_scale = |truth: i64| truth + (i128::from(truth) * i128::from(ppm) / 1_000_000) as i64;
        shown(by_scale(empty + truth), division) - shown(by_scale(empty), division)
    };
    let off = chance.normal(100);
    let (ours, theirs) = (weigh(chance, off, GRAM), weigh(chance, bias, 20 * GRAM));
    let readings = Variance::of_difference(Mass::grams(1));
    let home = OnOneScale { mass: micrograms(ours), readings, calibration_ppm: Some(100) };
    let their_bias = micrograms((i128::from(truth) * i128::from(bias) / 1_000_000) as i64);
    (compare(&[home], micrograms(theirs), Variance::of_difference(Mass::grams(20))), their_bias)
}

/// Of `of`, `hits` at a stated share in ten thousandths: within four standard deviations of the sampling.
fn within_sampling(hits: u64, of: u64, stated: u64) -> bool {
    let (seen, expected) = (i128::from(hits) * 10_000, i128::from(of * stated));
    let spread = i128::from(of) * i128::from(stated) * i128::from(10_000 - stated);
    (seen - expected).pow(2) <= 16 * spread
}

/// Twice the standard uncertainty of a normal distribution holds 95.45 %; that of the sum of a rectangle's rounding errors
/// and a normal holds a little more, since a rectangle has no tails, so the band is from 95 % to 97 %.
#[test]
fn the_stated_share_holds_the_truth() {
    for (seed, bias) in [(1, 0), (2, -4000), (3, 2500)] {
        let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
        let count = 6000;
        let mut held = 0;
        for _ in 0..count {
            let (got, truth) = ticket(&mut chance, bias);
            held += u64::from((got.difference() - truth).abs() <= got.whole.expanded(2));
        }
        let at_least = within_sampling(held, count, 9545) || held * 10_000 > count * 9545;
        assert!(at_least && held * 100 < count * 98, "bias {bias} ppm: {held} of {count}");
    }
}

/// The alarms of a year of tickets, over many years: with a correct buyer no more than stated, and with one who takes one
/// per cent nearly every ticket.
#[test]
fn a_correct_buyer_raises_no_more_alarms_than_stated() {
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(7));
    let (mut looks, mut short, mut repeated, mut caught, mut tickets) = (0_u64, 0_u64, 0_u64, 0_u64, 0_u64);
    for _year in 0..100 {
        let mut before: Vec<bool> = Vec::new();
        for _week in 0..52 {
            let (got, _) = ticket(&mut chance, 0);
            let bound = Mass::from_femtograms(got.ours.femtograms() * 173 / 1_000_000);
            let runs = got.runs_short(bound);
            match in_a_row(got.verdict(), runs, &before) {
                Verdict::LooksShort => looks += 1,
                Verdict::Short { repeated: false } => short += 1,
                Verdict::Short { repeated: true } => repeated += 1,
                _ => {}
            }
            before.insert(0, runs);
            tickets += 1;
        }
    }
    for _ in 0..500 {
        let (got, _) = ticket(&mut chance, -20_000);
        caught += u64::from(matches!(got.verdict(), Verdict::Short { .. } | Verdict::LooksShort));
    }
    // 2.28 % beyond two and 0.135 % beyond three, one side of a normal distribution.
    assert!(looks * 10_000 <= tickets * 228 || within_sampling(looks, tickets, 228), "{looks} of {tickets}");
    assert!(looks > 0 && (short * 10_000 <= tickets * 14 || within_sampling(short, tickets, 14)), "{short} of {tickets}");
    assert_eq!(repeated, 0, "three in a row by chance: one in eighty thousand");
    assert!(caught > 480, "{caught} of 500");
}

proptest! {
    /// More uncertainty never makes a verdict sharper, and no order of scales matters.
    #[test]
    fn doubt_softens(theirs in 900_i64..1100, small in 0_i64..5, more in 0_i64..20) {
        let weight = |verdict: Verdict| match verdict {
            Verdict::Short { .. } => 3,
            Verdict::LooksShort => 2,
            Verdict::Over => 1,
            Verdict::Agrees => 0,
            Verdict::CannotTell(_) => -1,
        };
        let of = |u| compare(&[scale(1000, Variance::of_standard(Mass::grams(u)), Some(0))], Mass::grams(theirs), Variance::ZERO);
        let (sharp, soft) = (of(small), of(small + more));
        prop_assert!(weight(soft.verdict()) <= weight(sharp.verdict()));
        let [a, b] = [scale(400, Variance::ZERO, Some(70)), scale(600, Variance::of_reading(Mass::grams(2)), None)];
        prop_assert_eq!(compare(&[a, b], Mass::grams(theirs), Variance::ZERO), compare(&[b, a], Mass::grams(theirs), Variance::ZERO));
    }
}

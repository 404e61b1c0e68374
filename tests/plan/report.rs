//! The plan of the books: it is the plan of the problem that they tell, to the cent, and what is said beside it holds.

use crate::case::case;
use crate::kept::{DAY, Kept, eur, kept};
use bismar::facts::{BinId, Fact, GradeId, Hold, HoldTold, Pin, RunLoad, RunSetOut, YardTold};
use bismar::haul::plan::{Answer, Budget, nearest, solve};
use bismar::measure::{Mass, Price, PriceUnit};
use bismar::query::{Beyond, Drive, HoldState, HomeWhy, Missing, Outcome, PlanQuestion, PlanReport, Planned, WaitUnknown, plan};
use jiff::civil::date;
use jiff::tz::TimeZone;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rust_decimal::Decimal;

fn question() -> PlanQuestion {
    PlanQuestion {
        today: DAY,
        day: Some(DAY),
        zone: TimeZone::UTC,
        stale_after: 30,
        currency: eur(),
        floor: None,
        by_expected: false,
        effort: 1,
    }
}

fn report(kept: &Kept) -> PlanReport {
    plan(&kept.books, &question(), &mut |_| true)
}

fn planned(report: &PlanReport) -> &Planned {
    match &report.outcome {
        Outcome::Planned(planned) => planned,
        other => panic!("{other:?}"),
    }
}

/// Bins that are on board, by number from 1, with the place of the buyer that they go to.
fn aboard(drive: &Drive) -> Vec<(u32, String)> {
    let mut bins: Vec<(u32, String)> = drive
        .stops
        .iter()
        .flat_map(|stop| stop.lines.iter().flat_map(|line| line.bins.iter().map(|bin| (bin.number, stop.name.clone()))))
        .collect();
    bins.sort();
    bins
}

/// Hundreds of books with every rule in them, against the problem as it is put together by hand.
#[test]
fn the_books_tell_the_same_problem() {
    let (mut impossible, mut stays) = (0, 0);
    for seed in 0..400 {
        let rng = &mut ChaCha8Rng::seed_from_u64(300_000 + seed);
        let (bins, buyers, grades) = (rng.random_range(1..=6), rng.random_range(1..=4), rng.random_range(1..=3));
        let case = case(rng, bins, buyers, grades);
        let problem = case.problem();
        let report = report(&kept(&case));
        match (solve(&problem, Budget::default(), &mut |_| true), &report.outcome) {
            (Answer::Plan(best), Outcome::Planned(planned)) => {
                let drive = &planned.drive;
                assert_eq!((drive.net, drive.value), (best.plan.net, best.plan.value), "seed {seed}");
                assert_eq!((drive.km, drive.minutes), (best.plan.km, best.plan.minutes), "seed {seed}");
                let names: Vec<String> = best.plan.stops.iter().map(|place| format!("buyer {place}")).collect();
                assert_eq!(drive.stops.iter().map(|stop| stop.name.clone()).collect::<Vec<_>>(), names, "seed {seed}");
                let wanted: Vec<(u32, String)> = (1..)
                    .zip(&best.plan.loading)
                    .filter_map(|(number, place)| Some((number, format!("buyer {}", (*place)?))))
                    .collect();
                assert_eq!(aboard(drive), wanted, "seed {seed}");
                let second = best.second.as_ref().map(|plan| plan.net);
                assert_eq!(planned.second.as_ref().map(|drive| drive.net), second, "seed {seed}");
                let near = nearest(&problem, Budget::default()).map(|plan| plan.net);
                assert_eq!(planned.nearest.as_ref().map(|drive| drive.net), near, "seed {seed}");
                let gross: Mass =
                    problem.items.iter().zip(&best.plan.loading).filter(|(_, to)| to.is_some()).map(|(item, _)| item.gross).sum();
                assert_eq!(drive.gross, gross, "seed {seed}");
                let lines: Decimal = drive.stops.iter().flat_map(|stop| &stop.lines).map(|line| line.value.amount).sum();
                assert_eq!(
                    (lines, drive.stops.iter().map(|stop| stop.value.amount).sum()),
                    (drive.value.amount, lines),
                    "seed {seed}"
                );
                let all = aboard(drive).len() + report.home.len();
                assert_eq!(all, case.bins.len(), "seed {seed}: each bin goes or stays");
                stays += usize::from(drive.stops.is_empty());
            }
            (Answer::Infeasible(rules), Outcome::Infeasible(broken)) => {
                impossible += 1;
                assert_eq!(rules.len(), broken.len(), "seed {seed}");
            }
            (Answer::Infeasible(_), Outcome::NowhereToGo) => {}
            (Answer::Plan(best), Outcome::NowhereToGo) => assert!(best.plan.stops.is_empty(), "seed {seed}"),
            (wanted, found) => panic!("seed {seed}: {wanted:?} is {found:?}"),
        }
    }
    assert!(impossible > 10 && stays > 20, "the rare answers are among them: {impossible} impossible, {stays} at home");
}

/// One buyer of one grade, two bins of it: 10 kg and 4 kg at 5.00 a kilogram, twenty kilometres away.
fn small() -> Kept {
    let case = crate::case::Case {
        bins: [(10_000, 11_000), (4000, 4500)]
            .map(|(grams, gross)| crate::case::Bin { grade: 0, grams, gross, litres: 20, pin: None })
            .to_vec(),
        buyers: vec![(20, 25, 15, true)],
        between: Vec::new(),
        offers: vec![crate::case::Offer { grade: 0, place: 0, steps: vec![(0, 500)], minimum: 0, deduction: 0 }],
        holds: Vec::new(),
        payload: Some(100_000),
        litres: Some(500),
        count: None,
        per_km: 30,
        per_minute: 20,
    };
    kept(&case)
}

const COPPER: GradeId = GradeId(2);

fn hold(kept: &mut Kept, cents: i64, by: Option<jiff::civil::Date>, from: Option<i64>) {
    let at = Price { amount: Decimal::new(cents, 2), currency: eur(), per: PriceUnit::Kilogram };
    let hold = Some(Hold { at, by, from: from.map(Mass::grams) });
    kept.keep(Fact::HoldTold(HoldTold { grade: COPPER, hold }));
}

/// By hand: 14 kg at 5.00 is 70.00; forty kilometres at 0.30 are 12.00; 65 minutes at 12.00 an hour are 13.00.
#[test]
fn the_sum_of_a_small_drive() {
    let report = report(&small());
    let planned = planned(&report);
    let drive = &planned.drive;
    let amounts = [drive.value, drive.driving, drive.hours, drive.net].map(|money| money.amount.to_string());
    assert_eq!(amounts, ["70.00", "12.00", "13.00", "45.00"]);
    assert_eq!((drive.gross, drive.litres), (Mass::grams(15_500), 40));
    assert_eq!(planned.over_home.unwrap().amount.to_string(), "45.00");
    assert_eq!(planned.nearest.as_ref().map(|drive| drive.net), Some(drive.net), "there is but one");
    // Without the second bin: 50.00 less 25.00.
    assert_eq!(planned.over(planned.second.as_ref().unwrap()).amount.to_string(), "20.00");
    assert_eq!(planned.waiting, Err(WaitUnknown::TooFewDays { days: 1, of: 28 }));
    assert!(bismar::render::json::PlanView::from(&report).says.ends_with("after the trip."), "nobody knows what waiting brings");
    assert_eq!(report.missing, []);
    assert_eq!(report.day, DAY);
}

#[test]
fn a_hold_holds_until_its_day_or_its_weight() {
    let state = |kept: &Kept| {
        let report = report(kept);
        let goes = matches!(&report.outcome, Outcome::Planned(planned) if !planned.drive.stops.is_empty());
        (report.held[0].state, goes, report.home.iter().filter(|bin| bin.why == HomeWhy::Held).count())
    };
    let mut kept = small();
    hold(&mut kept, 501, None, None);
    assert_eq!(state(&kept), (HoldState::Waits, false, 2));
    let held = report(&kept).held[0].clone();
    // A tenth of 70.00.
    assert_eq!(held.tenth.unwrap().amount.to_string(), "7.00");
    let range = held.range.unwrap();
    assert_eq!((range.quotes, range.low, range.high, range.last_day), (1, range.last, range.last, DAY));
    hold(&mut kept, 500, None, None);
    assert_eq!(state(&kept), (HoldState::Reached, true, 0));
    hold(&mut kept, 900, Some(DAY), None);
    assert_eq!(state(&kept), (HoldState::Day, true, 0));
    hold(&mut kept, 900, Some(date(2026, 3, 3)), None);
    assert_eq!(state(&kept), (HoldState::Waits, false, 2));
    hold(&mut kept, 900, None, Some(14_000));
    assert_eq!(state(&kept), (HoldState::Weight, true, 0));
    hold(&mut kept, 900, None, Some(14_001));
    assert_eq!(state(&kept), (HoldState::Waits, false, 2));
}

#[test]
fn what_nobody_told_is_said() {
    let mut kept = small();
    let other = kept.keep(Fact::BuyerMade { name: "elsewhere".into() });
    let beyond = |report: &PlanReport| report.beyond.iter().map(|buyer| (buyer.name.clone(), buyer.why)).collect::<Vec<_>>();
    assert_eq!(beyond(&report(&kept)), [("elsewhere".to_owned(), Beyond::NoYard)]);
    let buyer = bismar::facts::BuyerId(3);
    let yard = kept.books.yard(buyer).unwrap().clone();
    let untold = bismar::facts::Yard { open: None, ..yard.clone() };
    kept.keep(Fact::YardTold(Box::new(YardTold { buyer, yard: Some(untold) })));
    assert!(report(&kept).missing.contains(&Missing::OpenDays { buyer: "buyer 0".into() }));
    kept.keep(Fact::YardTold(Box::new(YardTold { buyer, yard: None })));
    let nowhere = report(&kept);
    assert_eq!(nowhere.outcome, Outcome::NowhereToGo);
    assert_eq!(beyond(&nowhere), [("buyer 0".to_owned(), Beyond::NoYard), ("elsewhere".to_owned(), Beyond::NoYard)]);
    kept.keep(Fact::YardTold(Box::new(YardTold { buyer: bismar::facts::BuyerId(other), yard: Some(yard) })));
    let elsewhere = report(&kept);
    assert_eq!(beyond(&elsewhere)[1], ("elsewhere".to_owned(), Beyond::NoQuote));
    assert!(elsewhere.home.iter().all(|bin| bin.why == HomeWhy::NoQuote));
}

/// Without a day asked it is the next on which somebody is open: this yard is open on Mondays and Tuesdays.
#[test]
fn the_next_day_on_which_anybody_is_open() {
    let kept = small();
    let day = |today| plan(&kept.books, &PlanQuestion { today, day: None, ..question() }, &mut |_| true).day;
    assert_eq!(day(DAY), DAY);
    assert_eq!(day(date(2026, 3, 3)), date(2026, 3, 3));
    assert_eq!(day(date(2026, 3, 4)), date(2026, 3, 9), "it was a Wednesday");
    let closed = plan(&kept.books, &PlanQuestion { day: Some(date(2026, 3, 4)), ..question() }, &mut |_| true);
    assert_eq!(closed.beyond[0].why, Beyond::Closed);
    assert!(planned(&closed).drive.stops.is_empty());
    assert!(closed.home.iter().all(|bin| bin.why == HomeWhy::NoQuote));
}

#[test]
fn pins_are_held_and_end_when_the_bin_is_loaded() {
    let mut kept = small();
    let bin = *kept.books.bins.iter().find(|(_, bin)| bin.number == 2).unwrap().0;
    let fill = kept.books.bins[&bin].fill;
    let pin = |pin| Fact::BinPinned(bismar::facts::BinPinned { bin, fill, pin });
    kept.keep(pin(Some(Pin::Leave)));
    let report_now = report(&kept);
    assert_eq!(aboard(&planned(&report_now).drive), [(1, "buyer 0".to_owned())]);
    assert_eq!((report_now.home[0].number, report_now.home[0].why), (2, HomeWhy::Pinned));
    kept.keep(pin(Some(Pin::Go)));
    assert_eq!(planned(&report(&kept)).over_home, None, "staying is no choice");
    let loads = vec![RunLoad { bin, fill, whole: false, mass: None }];
    let out = RunSetOut { day: DAY, stops: Vec::new(), loads, distance_km: None, span: None, cost: None };
    kept.keep(Fact::RunSetOut(Box::new(out)));
    assert!(planned(&report(&kept)).over_home.is_some());
}

/// Bin 1 holds 10 kg, and a kilogram a day for twenty-eight days more; bin 2 holds 4 kg. A usual week is 9.5 kg and 1 kg. By
/// hand, at 5.00 a kilogram and a trip of 25.00: once in a week with 52.5 kg brings 237.50; now with 42 kg brings 185.00, and in a
/// week with 10.5 kg 27.50 more. Waiting saves the trip.
#[test]
fn waiting_saves_the_trip() {
    let mut kept = small();
    for ago in (0..28).rev() {
        kept.ago = ago;
        kept.weigh(first(&kept), 1000);
    }
    let report = report(&kept);
    let planned = planned(&report);
    assert_eq!((planned.drive.mass, planned.drive.net.amount.to_string()), (Mass::grams(42_000), "185.00".to_owned()));
    let waiting = planned.waiting.unwrap();
    assert_eq!((waiting.comes, waiting.day), (Mass::grams(10_500), date(2026, 3, 9)));
    let amounts = [waiting.once, waiting.then, waiting.twice, waiting.over()].map(|money| money.amount.to_string());
    assert_eq!(amounts, ["237.50", "27.50", "212.50", "-25.00"]);
    let says = bismar::render::json::PlanView::from(&report).says;
    assert!(says.ends_with("after the trip; going a week later instead would bring 25.00 EUR more."), "{says}");
}

fn first(kept: &Kept) -> BinId {
    *kept.books.bins.iter().find(|(_, bin)| bin.number == 1).unwrap().0
}

/// A vessel gets no more than it takes.
#[test]
fn a_full_bin_gets_no_more() {
    let mut kept = small();
    kept.ago = 40;
    kept.weigh(first(&kept), 1000);
    kept.ago = 0;
    let full = bismar::facts::BinChange {
        capacity: bismar::facts::Set::To(Some(Mass::grams(11_000))),
        ..bismar::facts::BinChange::default()
    };
    kept.keep(Fact::BinChanged { bin: first(&kept), change: full });
    let other = Mass::from_femtograms(Mass::grams(4000 * 7).femtograms() / 41);
    assert_eq!(planned(&report(&kept)).waiting.unwrap().comes, other);
}

#[test]
fn the_vessel_counts_on_the_axle() {
    let mut kept = small();
    let limit = |grams| {
        Fact::VehicleTold(bismar::facts::VehicleTold {
            payload: bismar::facts::Set::To(Some(Mass::grams(grams))),
            ..bismar::facts::VehicleTold::default()
        })
    };
    kept.keep(limit(15_500));
    assert_eq!(aboard(&planned(&report(&kept)).drive).len(), 2);
    kept.keep(limit(15_499));
    assert_eq!(aboard(&planned(&report(&kept)).drive).len(), 1);
}

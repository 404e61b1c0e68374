//! The kinds of tapes and the physics that they need.

use super::*;
use crate::dialect::{Dialect, ReadUnit, Reading, Stability};
use crate::measure::{Displayed, Mass, Moment, Span, Unit};
use crate::settle::Manner;
use std::collections::BTreeSet;

fn deed(seconds: f64, act: Act) -> Deed {
    Deed { at: Moment((seconds * 1e9) as u64), act }
}

fn script(deeds: Vec<Deed>) -> Script {
    Script::new("test", Manner::Heap, deeds)
}

/// Second, reading and grams of what was sent.
fn sent(setup: &Setup, script: &Script) -> Vec<(f64, Reading, f64)> {
    let frames = Scale::new(setup.clone(), script.clone(), 5).unwrap();
    let readings = frames.filter_map(|frame| match frame.what {
        What::Sent { reading, .. } => Some((frame.at.0 as f64 / 1e9, reading)),
        _ => None,
    });
    readings.filter_map(|(at, reading)| Some((at, reading, indicator::grams(reading.mass(None)?)))).collect()
}

/// The grams that were shown from one second to another.
fn between(said: &[(f64, Reading, f64)], from: f64, to: f64) -> Vec<f64> {
    said.iter().filter(|(at, ..)| (from..to).contains(at)).map(|(.., grams)| *grams).collect()
}

fn range(grams: &[f64]) -> f64 {
    let (low, high) = grams.iter().fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(*one), high.max(*one)));
    high - low
}

fn fast() -> Setup {
    Setup { rate: 40, damping: 0.4, ..Setup::default() }.ideal()
}

#[test]
fn every_kind_makes_a_scenario_by_seed() {
    for kind in Kind::ALL {
        assert_eq!(Kind::from_name(kind.name()), Some(kind));
        for seed in 0..36 {
            let scenario = kind.scenario(seed);
            assert_eq!(scenario, kind.scenario(seed), "{} {seed}", kind.name());
            assert_ne!(scenario.script, kind.scenario(seed + 1).script, "{} {seed}", kind.name());
            assert!(Scale::new(scenario.setup.clone(), scenario.script.clone(), seed).is_ok(), "{} {seed}", kind.name());
            let truth = Truth::of(&scenario.setup, &scenario.script, seed);
            assert!(!truth.drops.is_empty(), "{} {seed}", kind.name());
            assert!(truth.rests.iter().all(|rest| !rest.grams.is_negative()), "{} {seed}", kind.name());
            assert!(truth.actions.is_sorted_by_key(|action| action.at));
            let all = truth.bins.iter().map(|bin| bin.grams).sum::<Mass>() + truth.unassigned;
            assert_eq!(all, truth.drops.iter().map(|drop| drop.grams).sum::<Mass>());
        }
    }
    assert_eq!(Kind::from_name("no such kind"), None);
}

#[test]
fn seeds_go_through_every_rate_division_and_dialect() {
    let setups: Vec<Setup> = (0..30).map(|seed| Kind::Heap.scenario(seed).setup).collect();
    let pairs: BTreeSet<_> = setups[..18].iter().map(|setup| (setup.rate, setup.division.count)).collect();
    assert_eq!(pairs.len(), 18);
    let pairs: BTreeSet<_> = setups.iter().map(|setup| (setup.rate, setup.dialect.name())).collect();
    assert_eq!(pairs.len(), 30);
}

#[test]
fn a_shaken_bench_shows_about_the_range_asked_for() {
    for shake in [3.0, 8.0, 14.0] {
        let setup = Setup { shake, rate: 40, zero_tracking: 0.0, ..Setup::default() };
        let shown = range(&between(&sent(&setup, &script(vec![deed(25.0, Act::Knock(Mass::ZERO))])), 2.0, 25.0));
        assert!((shake * 0.6..shake * 1.4 + 1.0).contains(&shown), "{shown} of {shake}");
    }
}

#[test]
fn a_load_creeps_and_the_temperature_wanders() {
    let place = vec![deed(1.0, Act::Place(Mass::grams(5000))), deed(900.0, Act::Knock(Mass::ZERO))];
    let setup = Setup { creep: 0.001, rate: 1, ..Setup::default() }.ideal();
    let said = sent(&setup, &script(place.clone()));
    let at = |second: f64| between(&said, second, second + 1.0)[0];
    assert!((at(30.0) - 5000.0) < 1.0, "creep takes minutes");
    // After the time in which most of it comes, all but 1/e has come.
    assert!((at(301.0) - 5003.16).abs() < 1.0, "{}", at(301.0));
    assert!(at(900.0) > 5004.0);
    let warm = Setup { drift: 60.0, rate: 1, ..Setup::default() }.ideal();
    let said = sent(&warm, &script(place));
    let walked = range(&between(&said, 10.0, 900.0));
    assert!((1.0..=15.0).contains(&walked), "{walked} in a quarter of an hour");
}

#[test]
fn a_held_force_grows_is_still_and_goes() {
    let push = Act::Push { push: Mass::grams(400), rise: Span::millis(1500), lasting: Span::millis(5000) };
    let said = sent(&fast(), &script(vec![deed(1.0, Act::Place(Mass::grams(900))), deed(4.0, push)]));
    let held = between(&said, 6.5, 8.0);
    assert!(held.iter().all(|grams| (grams - 1300.0).abs() <= 5.0), "{held:?}");
    let early = between(&said, 4.4, 4.6);
    assert!(early.iter().all(|grams| (905.0..1200.0).contains(grams)), "{early:?}");
    assert!(between(&said, 10.0, 12.0).iter().all(|grams| *grams == 900.0));
}

#[test]
fn hammering_is_wide_and_leaves_nothing() {
    let hammer = Act::Hammer { push: Mass::grams(300), lasting: Span::seconds(3) };
    let said = sent(&fast(), &script(vec![deed(1.0, Act::Place(Mass::grams(900))), deed(4.0, hammer)]));
    assert!(range(&between(&said, 4.0, 7.0)) > 60.0);
    assert!(between(&said, 9.0, 11.0).iter().all(|grams| *grams == 900.0));
}

#[test]
fn missing_frames_are_missing_and_the_load_goes_on() {
    let deeds = vec![
        deed(1.0, Act::Place(Mass::grams(900))),
        deed(4.0, Act::Mute(Span::seconds(3))),
        deed(5.0, Act::Drop(Mass::grams(50))),
    ];
    let said = sent(&fast(), &script(deeds.clone()));
    assert!(between(&said, 4.0, 7.0).is_empty());
    assert!(between(&said, 7.5, 9.0).iter().all(|grams| *grams == 950.0));
    let truth = Truth::of(&fast(), &script(deeds), 1);
    assert_eq!(truth.rests.last().map(|rest| rest.start), Some(Moment(7_000_000_000)), "nobody sees a rest without frames");
}

#[test]
fn the_unit_key_shows_the_same_load_in_pounds() {
    let deeds = vec![deed(1.0, Act::Place(Mass::grams(900))), deed(4.0, Act::UnitKey), deed(7.0, Act::UnitKey)];
    let said = sent(&fast(), &script(deeds));
    let units = |from, to| said.iter().filter(move |(at, ..)| (from..to).contains(at)).map(|(_, reading, _)| reading.unit);
    assert!(units(4.1, 7.0).all(|unit| unit == ReadUnit::Stated(Unit::Pound)));
    assert!(units(7.1, 9.0).all(|unit| unit == ReadUnit::Stated(Unit::Kilogram)));
    assert!(between(&said, 4.1, 7.0).iter().all(|grams| (grams - 900.0).abs() <= 0.46), "half of 0.002 lb");
    assert!(said.iter().any(|(_, reading, _)| reading.value == Some(Displayed { count: 1984, exponent: -3 })));
}

#[test]
fn the_print_key_prints_once_more() {
    let deeds = vec![deed(1.0, Act::Place(Mass::grams(900))), deed(6.0, Act::PrintKey), deed(9.0, Act::Drop(Mass::grams(50)))];
    let setup = Setup { mode: Mode::OnStable, ..fast() };
    let printed: Vec<f64> = sent(&setup, &script(deeds)).into_iter().map(|(.., grams)| grams).collect();
    assert_eq!(printed, [900.0, 900.0, 950.0]);
}

#[test]
fn a_scale_that_wakes_tells_nobody_and_shows_zero_under_the_bin() {
    let deeds = vec![deed(1.0, Act::Place(Mass::grams(900))), deed(5.0, Act::Sleep), deed(8.0, Act::Wake), deed(12.0, Act::Lift)];
    let setup = Setup { dialect: Dialect::LetterReply, underload: 10_000, ..fast() };
    let said = sent(&setup, &script(deeds.clone()));
    assert!(said.iter().all(|(_, reading, _)| reading.news.is_none()));
    assert!(between(&said, 10.0, 12.0).iter().all(|grams| *grams == 0.0));
    assert!(between(&said, 15.0, 17.0).iter().all(|grams| *grams == -900.0));
    assert!(said.iter().any(|(_, reading, _)| reading.stability == Stability::Stable));
}

fn set_down(bin: u32, grams: i64) -> Act {
    Act::SetDown { bin, gross: Mass::grams(grams), off: Mass::ZERO }
}

#[test]
fn the_truth_knows_the_bin_that_stands_there() {
    let truth = Truth::of(
        &Setup::default(),
        &script(vec![
            deed(1.0, Act::Choose(1)),
            deed(2.0, set_down(1, 700)),
            deed(5.0, Act::Drop(Mass::grams(40))),
            deed(8.0, Act::Lay(Mass::grams(300))),
            deed(12.0, Act::Fetch),
            deed(15.0, Act::Press { push: Mass::grams(2000), lasting: Span::seconds(2) }),
            deed(20.0, Act::Take(Mass::grams(10))),
            deed(25.0, Act::Lift),
            deed(30.0, set_down(2, 900)),
            deed(35.0, Act::Drop(Mass::grams(60))),
            deed(40.0, Act::Lift),
            deed(45.0, set_down(1, 750)),
        ]),
        1,
    );
    let drops: Vec<_> = truth.drops.iter().map(|drop| (drop.grams, drop.bin, drop.sure)).collect();
    let grams = Mass::grams;
    assert_eq!(drops, [(grams(40), Some(1), true), (grams(-10), Some(1), true), (grams(60), Some(2), false)]);
    assert_eq!(truth.bins, [BinTruth { bin: 1, drops: 1, grams: grams(30) }]);
    assert_eq!(truth.unassigned, grams(60));
    assert_eq!(truth.swaps.iter().map(|swap| swap.bin).collect::<Vec<_>>(), [1, 2, 1]);
    let unseen: Vec<_> = truth.unseen.iter().map(|unseen| (unseen.bin, unseen.grams)).collect();
    assert_eq!(unseen, [(1, grams(20))]);
    assert_eq!(truth.presses, [Moment(15_000_000_000)]);
}

#[test]
fn what_nobody_can_see_is_no_rest() {
    let over = vec![deed(2.0, Act::Place(Mass::grams(800))), deed(6.0, Act::Lay(Mass::grams(16_000))), deed(12.0, Act::Fetch)];
    let rests = |setup: &Setup, manner| {
        let truth = Truth::of(setup, &Script::new("test", manner, over.clone()), 1);
        truth.rests.iter().map(|rest| rest.grams).collect::<Vec<_>>()
    };
    let grams = Mass::grams;
    assert_eq!(rests(&Setup::default(), Manner::Heap), [grams(0), grams(800), grams(800)]);
    let prints = Setup { mode: Mode::OnStable, ..Setup::default() };
    assert_eq!(rests(&prints, Manner::Heap), [grams(800), grams(800)], "a printer never tells of the empty platform");
    assert_eq!(rests(&prints, Manner::Pan), []);
}

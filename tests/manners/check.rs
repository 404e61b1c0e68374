//! A check weight that was announced: it is one in every manner, beside whatever stands on the scale, and no drop.

use super::bench::{BENCH, Bench};
use super::{at, clear, drops, put, riddles, visit};
use bismar::command::{CheckOrder, CheckRefusal, Order, Refusal};
use bismar::facts::books::Stretch;
use bismar::facts::{Disturbance, EntryId, Fact, KnownWeight};
use bismar::measure::Mass;
use bismar::query::Riddle;
use bismar::settle::Manner;
use proptest::prelude::*;

fn known(grams: i64) -> KnownWeight {
    KnownWeight { nominal: Mass::grams(grams), within: Some(Mass::ZERO), source: "test weight".to_owned() }
}

fn ask(bench: &mut Bench, grams: i64) {
    bench.order(Order::Checks(CheckOrder::Ask { weight: known(grams) })).expect("it can be announced");
}

/// Nominal and shown, in the order in which they were laid on.
fn checks(bench: &Bench) -> Vec<(Mass, Mass)> {
    let of = |fact: &Fact| match fact {
        Fact::CheckWeighed { nominal, shown, .. } => Some((*nominal, *shown)),
        _ => None,
    };
    bench.core.books().standing_records().filter_map(|record| of(&record.fact)).collect()
}

fn grams(pairs: &[(i64, i64)]) -> Vec<(Mass, Mass)> {
    pairs.iter().map(|(nominal, shown)| (Mass::grams(*nominal), Mass::grams(*shown))).collect()
}

/// What cannot be told apart from the same work without the check weight.
fn kept(bench: &Bench) -> (Mass, Mass, usize, usize) {
    (bench.held(1), bench.held(2), drops(bench), riddles(bench).len())
}

#[derive(Debug, Clone, Copy)]
enum Away {
    First,
    /// After a piece came on top of it.
    Last,
    /// With everything else.
    Together,
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_check_weight_is_no_drop_in_any_manner(
        manner in prop_oneof![Just(Manner::Heap), Just(Manner::Pan), Just(Manner::Tray), Just(Manner::Sort)],
        stands in any::<bool>(),
        error in -20_i64..=20,
        piece in proptest::option::of(30_i64..400),
        away in prop_oneof![Just(Away::First), Just(Away::Last), Just(Away::Together)],
        restart in any::<bool>(),
    ) {
        let work = |checked: bool| {
            let mut bench = at(manner, 2);
            bench.choose(1);
            if stands {
                put(&mut bench, 900);
                bench.rest(6000);
            }
            let shown = if checked { 2000 + error } else { 0 };
            if checked {
                ask(&mut bench, 2000);
                put(&mut bench, shown);
                bench.rest(6000);
            }
            if restart {
                bench.restart();
                bench.rest(3000);
            }
            let off = |bench: &mut Bench| {
                if checked {
                    put(bench, -shown);
                    bench.rest(6000);
                }
            };
            if !matches!(away, Away::Last | Away::Together) || piece.is_none() {
                off(&mut bench);
            }
            if let Some(piece) = piece {
                put(&mut bench, piece);
                bench.rest(6000);
            }
            if matches!(away, Away::Last) && piece.is_some() {
                off(&mut bench);
            }
            clear(&mut bench);
            visit(&mut bench, Some(2), 700, &[60]);
            bench
        };
        let (with, without) = (work(true), work(false));
        prop_assert_eq!(checks(&with), grams(&[(2000, 2000 + error)]));
        prop_assert_eq!(kept(&with), kept(&without));
        prop_assert_eq!(&with.core.books().bench(BENCH).check, &Default::default());
        prop_assert_eq!(&with.folded(), with.core.books());
    }
}

#[test]
fn another_press_withdraws_it_and_another_weight_is_none() {
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    ask(&mut bench, 500);
    put(&mut bench, 230);
    clear(&mut bench);
    assert_eq!((checks(&bench), bench.held(1)), (vec![], Mass::grams(230)), "a piece that is not the weight is a drop");
    bench.order(Order::Checks(CheckOrder::Withdraw)).unwrap();
    let again = bench.order(Order::Checks(CheckOrder::Withdraw));
    assert_eq!(again.unwrap_err(), Refusal::Checks(CheckRefusal::NoCheck));
    put(&mut bench, 500);
    clear(&mut bench);
    assert_eq!((checks(&bench), bench.held(1)), (vec![], Mass::grams(730)));
    // A hand that goes away again leaves it announced.
    ask(&mut bench, 500);
    put(&mut bench, 501);
    let lies = bench.order(Order::Checks(CheckOrder::Ask { weight: known(200) }));
    assert_eq!(lies.unwrap_err(), Refusal::Checks(CheckRefusal::CheckLies));
    clear(&mut bench);
    assert_eq!(checks(&bench), grams(&[(500, 501)]));
    // An intake and a check weight: the next load is what was said last.
    ask(&mut bench, 500);
    bench.order(Order::AskIntake { feed: None }).unwrap();
    assert_eq!(bench.core.books().bench(BENCH).check.asked, None);
    ask(&mut bench, 500);
    assert_eq!(bench.core.books().bench(BENCH).intake, None);
}

fn last(bench: &Bench) -> EntryId {
    bench.core.books().bench(BENCH).last_drop.unwrap().0
}

fn was_a_check(bench: &mut Bench, entry: EntryId) {
    bench.order(Order::Checks(CheckOrder::DropWas { entry, weight: known(500), division: None })).expect("it can be told");
}

#[test]
fn a_drop_can_be_told_to_have_been_a_check_weight() {
    // Taken off before it is told.
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    put(&mut bench, 501);
    clear(&mut bench);
    let entry = last(&bench);
    was_a_check(&mut bench, entry);
    assert_eq!((checks(&bench), bench.held(1), drops(&bench)), (grams(&[(500, 501)]), Mass::ZERO, 0));

    // In a bin, told while it lies there and told when it is out again.
    for told_first in [true, false] {
        let mut bench = at(Manner::Heap, 1);
        visit(&mut bench, Some(1), 900, &[40]);
        put(&mut bench, 940);
        bench.rest(6000);
        put(&mut bench, 499);
        bench.rest(6000);
        let entry = last(&bench);
        if told_first {
            was_a_check(&mut bench, entry);
        }
        put(&mut bench, -499);
        bench.rest(6000);
        if !told_first {
            was_a_check(&mut bench, entry);
        }
        put(&mut bench, 60);
        bench.rest(6000);
        clear(&mut bench);
        assert_eq!(checks(&bench), grams(&[(500, 499)]));
        assert_eq!((bench.held(1), drops(&bench)), (Mass::grams(100), 2), "told first: {told_first}");
        put(&mut bench, 1000);
        bench.rest(6000);
        let asked = riddles(&bench);
        let odd =
            |riddle: &&Riddle| matches!(riddle, Riddle::InHand { .. } | Riddle::CameBackLighter { .. } | Riddle::NoBin { .. });
        assert_eq!(asked.iter().find(odd), None, "told first: {told_first}");
        assert_eq!(&bench.folded(), bench.core.books());
    }

    // What came from elsewhere says nothing of this scale.
    let lot = Order::Checks(CheckOrder::DropWas { entry: EntryId(9999), weight: known(500), division: None });
    assert_eq!(bench.order(lot).unwrap_err(), Refusal::UnknownDrop { entry: EntryId(9999) });
}

/// What was weighed before a move and after it stand under bounds of their own.
#[test]
fn a_disturbed_scale_begins_a_stretch_of_its_own() {
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    put(&mut bench, 300);
    clear(&mut bench);
    let disturb = CheckOrder::Disturb { how: Disturbance::Moved, reason: "swept".to_owned() };
    let moved = bench.order(Order::Checks(disturb)).unwrap().id;
    put(&mut bench, 200);
    clear(&mut bench);
    let books = bench.core.books();
    let fill = &books.fills[&books.bin_by_number(1).unwrap().1.fill];
    let shares: Vec<(Stretch, Mass)> =
        fill.weighed.iter().map(|((bench, change), mass)| (books.stretch_at(*bench, *change), *mass)).collect();
    let of = |since, mass| (Stretch { bench: BENCH, scale: None, since }, Mass::grams(mass));
    assert_eq!(shares, [of(0, 300), of(moved, 200)]);
    // A drop from before that is voided goes from the share of before.
    let first = books.entries.iter().find(|(_, entry)| entry.mass == Mass::grams(300)).map(|(id, _)| *id).unwrap();
    let void = Order::VoidDrop { entry: first, which: bismar::facts::Void::NeverMaterial, reason: "a mug".to_owned() };
    bench.order(void).unwrap();
    let books = bench.core.books();
    let fill = &books.fills[&books.bin_by_number(1).unwrap().1.fill];
    let shares: Vec<Mass> = fill.weighed.values().copied().collect();
    assert_eq!(shares, [Mass::ZERO, Mass::grams(200)]);
}

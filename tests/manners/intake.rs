//! Intakes: the next load is what will be taken apart.

use super::bench::{BENCH, Bench};
use super::{at, clear, drops, put, riddles};
use bismar::command::{BinRef, NameRef, Order, Refusal, Which};
use bismar::facts::books::EntryState;
use bismar::facts::{LotId, SessionId, Void};
use bismar::measure::Mass;
use bismar::query::{self, Riddle};
use bismar::settle::Manner;
use proptest::prelude::*;

fn ask(bench: &mut Bench, feed: Option<&str>) {
    bench.order(Order::AskIntake { feed: feed.map(|feed| NameRef(feed.into())) }).unwrap();
}

/// The lots that stand: their feed and mass in grams.
fn lots(bench: &Bench) -> Vec<(Option<String>, Mass)> {
    let lots = query::lots(bench.core.books());
    lots.into_iter()
        .filter(|lot| lot.state == EntryState::Confirmed)
        .map(|lot| (lot.feed, lot.mass.unwrap_or_default()))
        .collect()
}

#[test]
fn the_next_load_is_an_intake_of_the_feed_at_hand() {
    let mut bench = at(Manner::Pan, 1);
    for feed in ["adapters", "fans"] {
        bench.order(Order::MakeFeed { name: feed.into() }).unwrap();
    }
    bench.order(Order::StartSession { feed: Some(NameRef("adapters".into())) }).unwrap();
    bench.choose(1);
    ask(&mut bench, None);
    let events = bench.events.len();
    ask(&mut bench, None);
    assert_eq!(bench.events.len(), events, "pressed twice it is asked once");
    put(&mut bench, 4100);
    put(&mut bench, 900);
    clear(&mut bench);
    put(&mut bench, 75);
    clear(&mut bench);
    ask(&mut bench, Some("fans"));
    put(&mut bench, 700);
    clear(&mut bench);
    assert_eq!(lots(&bench), [(Some("fans".into()), Mass::grams(700)), (Some("adapters".into()), Mass::grams(5000))]);
    assert_eq!((bench.held(1), drops(&bench)), (Mass::grams(75), 1));
    let session = &bench.core.books().sessions[&SessionId(bench.core.books().bench(BENCH).session.unwrap().0)];
    assert_eq!((session.mass, session.drops), (Mass::grams(75), 1), "an intake is nobody's output");
    assert_eq!(
        bench.core.books().bench(BENCH).last_drop.map(|(id, _)| bench.core.books().entries[&id].mass),
        Some(Mass::grams(75))
    );
}

#[test]
fn an_intake_of_no_feed_is_asked_and_one_answer_settles_it() {
    let mut bench = at(Manner::Heap, 1);
    bench.order(Order::MakeFeed { name: "adapters".into() }).unwrap();
    ask(&mut bench, None);
    put(&mut bench, 2500);
    clear(&mut bench);
    let Some(Riddle::LotWithoutFeed { lot, mass }) =
        riddles(&bench).into_iter().find(|riddle| matches!(riddle, Riddle::LotWithoutFeed { .. }))
    else {
        panic!("an intake of nothing known is asked");
    };
    assert_eq!(mass, Mass::grams(2500));
    let into_a_bin = Order::MoveDrops { which: Which::One(lot.entry()), to: BinRef(1), reason: "x".into() };
    assert_eq!(bench.order(into_a_bin), Err(Refusal::IsIntake { entry: lot.entry() }));
    let nobody = bench.order(Order::TellLot { lot: LotId(9999), feed: NameRef("adapters".into()) });
    assert_eq!(nobody, Err(Refusal::UnknownLot { lot: LotId(9999) }));
    bench.order(Order::TellLot { lot, feed: NameRef("Adapters".into()) }).unwrap();
    assert_eq!(lots(&bench), [(Some("adapters".into()), Mass::grams(2500))]);
    assert!(!riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::LotWithoutFeed { .. })));
    assert_eq!(&bench.folded(), bench.core.books());
}

#[test]
fn an_intake_can_be_withdrawn_and_voided() {
    let mut bench = at(Manner::Pan, 1);
    assert_eq!(bench.order(Order::WithdrawIntake), Err(Refusal::NoIntake));
    ask(&mut bench, None);
    bench.order(Order::WithdrawIntake).unwrap();
    bench.choose(1);
    put(&mut bench, 90);
    clear(&mut bench);
    assert_eq!((bench.held(1), lots(&bench).len()), (Mass::grams(90), 0));
    ask(&mut bench, None);
    put(&mut bench, 500);
    clear(&mut bench);
    let entry = query::lots(bench.core.books())[0].lot.entry();
    bench.order(Order::VoidDrop { entry, which: Void::NeverMaterial, reason: "no intake".into() }).unwrap();
    assert_eq!((lots(&bench).len(), riddles(&bench).len()), (0, 0));
}

/// A piece that lay there before the press is a drop.
#[test]
fn what_landed_before_the_press_is_a_drop() {
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    bench.change(90);
    ask(&mut bench, None);
    bench.rest(3000);
    clear(&mut bench);
    assert_eq!((bench.held(1), lots(&bench).len()), (Mass::grams(90), 0));
    put(&mut bench, 640);
    clear(&mut bench);
    assert_eq!((bench.held(1), lots(&bench).len()), (Mass::grams(90), 1));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// In every manner, on an empty platform or on a bin, through a restart or a pulled cable while it lies there: the
    /// intake is one lot of its mass, and no bin's books know of it.
    #[test]
    fn an_intake_is_one_lot_and_in_no_bin(
        manner in prop_oneof![Just(Manner::Heap), Just(Manner::Pan), Just(Manner::Tray), Just(Manner::Sort)],
        on_a_bin in any::<bool>(),
        mass in 50_i64..4000,
        shift in 0_i64..40,
        trouble in 0..3,
    ) {
        let mut bench = at(manner, 1);
        bench.choose(1);
        let below = if on_a_bin && manner == Manner::Heap { 900 } else { 0 };
        if below > 0 {
            put(&mut bench, below);
            bench.rest(6000);
        }
        ask(&mut bench, None);
        put(&mut bench, mass);
        let shift = if shift >= 3 { shift } else { 0 };
        put(&mut bench, shift);
        bench.rest(7000);
        match trouble {
            1 => bench.restart(),
            2 => {
                bench.unplug();
                bench.plug();
            }
            _ => {}
        }
        bench.rest(3000);
        put(&mut bench, -(mass + shift));
        bench.rest(8000);
        prop_assert_eq!(lots(&bench), [(None, Mass::grams(mass + shift))]);
        prop_assert_eq!((bench.held(1), drops(&bench)), (Mass::ZERO, 0));
        if manner == Manner::Heap {
            let piece = 77;
            if below == 0 {
                put(&mut bench, 900);
                bench.rest(6000);
            }
            put(&mut bench, piece);
            bench.rest(8000);
            prop_assert_eq!(bench.held(1), Mass::grams(piece));
        }
        prop_assert_eq!(&bench.folded(), bench.core.books());
    }
}

/// An intake that is carried off in parts is what was weighed, and what is left behind is no drop and no removal.
#[test]
fn an_intake_is_what_was_weighed_though_something_stays_behind() {
    for manner in [Manner::Heap, Manner::Pan, Manner::Tray, Manner::Sort] {
        for trouble in [false, true] {
            let mut bench = at(manner, 1);
            bench.choose(1);
            ask(&mut bench, None);
            put(&mut bench, 4000);
            put(&mut bench, 77);
            put(&mut bench, -4000);
            bench.rest(7000);
            if trouble {
                bench.restart();
                bench.rest(3000);
            }
            put(&mut bench, -77);
            bench.rest(8000);
            assert_eq!(lots(&bench), [(None, Mass::grams(4077))], "{manner:?}, restarted: {trouble}");
            assert_eq!((bench.held(1), drops(&bench)), (Mass::ZERO, 0), "{manner:?}, restarted: {trouble}");
            assert_eq!(&bench.folded(), bench.core.books());
        }
    }
}

/// What comes on beside a remainder is the next load; beside most of it, it is of the intake.
#[test]
fn what_comes_on_while_an_intake_goes_is_the_next_load_or_of_the_intake() {
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    ask(&mut bench, None);
    put(&mut bench, 4000);
    put(&mut bench, 77);
    put(&mut bench, -4000);
    put(&mut bench, 120);
    clear(&mut bench);
    assert_eq!((lots(&bench), bench.held(1)), (vec![(None, Mass::grams(4077))], Mass::grams(120)));
    ask(&mut bench, None);
    put(&mut bench, 4000);
    put(&mut bench, -900);
    put(&mut bench, 650);
    clear(&mut bench);
    assert_eq!(lots(&bench)[0], (None, Mass::grams(3750)));
    assert_eq!(bench.held(1), Mass::grams(120));
    // A hand that lifts most of it and lets go again has taken nothing off.
    ask(&mut bench, None);
    put(&mut bench, 3000);
    bench.change(-2000);
    bench.rest(900);
    bench.change(2000);
    bench.rest(6000);
    clear(&mut bench);
    assert_eq!((lots(&bench)[0].clone(), lots(&bench).len()), ((None, Mass::grams(3000)), 3));
    assert_eq!(bench.held(1), Mass::grams(120));
    assert_eq!(&bench.folded(), bench.core.books());
}

/// Something is taken out of the bin while an intake is asked for: the bin goes down by it and it opens a lot.
#[test]
fn what_is_drawn_from_a_bin_opens_a_lot() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, Some(350));
    bench.order(Order::MakeFeed { name: "stators".into() }).unwrap();
    bench.rest(3000);
    bench.choose(1);
    put(&mut bench, 350);
    put(&mut bench, 200);
    put(&mut bench, 300);
    ask(&mut bench, Some("stators"));
    // A hand that lifts and lets go again has drawn nothing, and the intake stays asked for.
    bench.change(-120);
    bench.rest(900);
    bench.change(120);
    bench.rest(6000);
    assert_eq!((bench.held(1), lots(&bench)), (Mass::grams(500), vec![]));
    // It weighs what one drop weighed, and is no drop that was thought better of.
    bench.change(-300);
    bench.rest(6000);
    assert_eq!((bench.held(1), lots(&bench)), (Mass::grams(200), vec![(Some("stators".into()), Mass::grams(300))]));
    let books = bench.core.books();
    assert!(books.bench(BENCH).in_hand.is_empty() && books.bench(BENCH).intake.is_none());
    assert_eq!(books.bin_by_number(1).unwrap().1.last_gross, Some(Mass::grams(550)));
    let lot = *books.lots.keys().next().unwrap();
    assert_eq!(query::lots(books)[0].drawn_from, Some(1));
    // The next removal is one as ever, and what was drawn goes back by a word.
    bench.change(-80);
    bench.rest(6000);
    assert_eq!((bench.held(1), lots(&bench).len()), (Mass::grams(120), 1));
    let void = Order::VoidDrop { entry: lot.entry(), which: Void::NeverMaterial, reason: "not drawn".into() };
    bench.order(void).unwrap();
    assert_eq!((bench.held(1), lots(&bench)), (Mass::grams(420), vec![]));
    assert_eq!(*bench.core.books(), bench.folded());
    bench.restart();
    assert_eq!(bench.held(1), Mass::grams(420));
}

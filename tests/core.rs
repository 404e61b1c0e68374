//! The whole core without a port and a disk: every drop once, at its mass, in its bin, whatever the person does.

#[path = "core/anywhere.rs"]
mod anywhere;
#[path = "support/bench.rs"]
mod bench;

use bench::{BENCH, Bench, reading};
use bismar::command::{BinRef, Edit, Input, Made, NameRef, Order, Quoting, Refusal, Which};
use bismar::dialect::{News, Reading};
use bismar::facts::{BinChange, Bridge, Doubt, EntryId, Source, Void};
use bismar::measure::{Currency, Mass, Rate};
use bismar::query::{self, YardRunQuestion};
use bismar::settle::Manner;
use jiff::tz::TimeZone;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// One thing that happens while a bin stands on the scale.
#[derive(Debug, Clone)]
enum Deed {
    Piece(i64),
    /// A hand rests on the bin and goes away.
    Hand(i64),
    Wait(u64),
    /// Somebody takes a piece out again.
    Out(i64),
    Crash,
    Cable,
    Tare,
}

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        6 => (3_i64..900).prop_map(Deed::Piece),
        1 => (30_i64..700).prop_map(Deed::Hand),
        1 => (500_u64..8000).prop_map(Deed::Wait),
        1 => (5_i64..40).prop_map(Deed::Out),
        1 => Just(Deed::Crash),
        1 => Just(Deed::Cable),
        1 => Just(Deed::Tare),
    ]
}

/// Visits of bins to the scale: which of three bins, and what happens during the visit.
fn visits() -> impl Strategy<Value = Vec<(u32, Vec<Deed>)>> {
    proptest::collection::vec((1_u32..4, proptest::collection::vec(deed(), 0..7)), 1..5)
}

const TARE: i64 = 800;

/// Works the visits and returns what each bin truly got.
fn work(bench: &mut Bench, visits: &[(u32, Vec<Deed>)]) -> BTreeMap<u32, i64> {
    let mut truth: BTreeMap<u32, i64> = BTreeMap::new();
    for number in 1..4 {
        bench.make_bin(number, Some(TARE));
        truth.insert(number, 0);
    }
    bench.rest(3000);
    for (bin, deeds) in visits {
        let held = truth.get_mut(bin).unwrap();
        bench.choose(*bin);
        let gross = TARE + *held;
        bench.change(gross);
        bench.rest(2500);
        for deed in deeds {
            match deed {
                Deed::Piece(grams) => {
                    bench.change(*grams);
                    *held += grams;
                    bench.rest(2500);
                }
                Deed::Hand(push) => {
                    bench.change(*push);
                    bench.rest(1200);
                    bench.change(-*push);
                    bench.rest(2500);
                }
                Deed::Wait(millis) => bench.rest(*millis),
                Deed::Out(grams) if *held > *grams => {
                    bench.rest(4000);
                    bench.change(-*grams);
                    *held -= grams;
                    bench.rest(8000);
                }
                Deed::Out(_) => {}
                Deed::Crash => {
                    bench.restart();
                    bench.rest(2500);
                }
                Deed::Cable => {
                    bench.unplug();
                    bench.plug();
                    bench.rest(2500);
                }
                Deed::Tare => {
                    bench.step(Input::Reading(BENCH, Reading { news: Some(News::Zeroed), value: None, ..reading(0) }));
                    bench.rest(2500);
                }
            }
        }
        bench.rest(4000);
        bench.change(-bench.load);
        bench.rest(8000);
    }
    truth
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is done, in whatever order, with crashes and pulled cables in between: each bin's books hold exactly
    /// what lies in it, and nothing is left without a bin.
    #[test]
    fn every_bin_holds_what_was_dropped_into_it(visits in visits()) {
        let mut bench = Bench::new(Manner::Heap);
        let truth = work(&mut bench, &visits);
        for (bin, grams) in &truth {
            prop_assert_eq!(bench.held(*bin), Mass::grams(*grams), "bin {}", bin);
        }
        let folded = bench.folded();
        prop_assert_eq!(&folded, bench.core.books(), "the fold of what was recorded is what was decided");
    }

    /// On a pan each load is one drop, whatever is shifted while it lies there.
    #[test]
    fn every_load_on_a_pan_is_one_drop(loads in proptest::collection::vec((20_i64..900, 0_i64..60, any::<bool>()), 1..8)) {
        let mut bench = Bench::new(Manner::Pan);
        bench.make_bin(1, None);
        bench.choose(1);
        bench.rest(2000);
        for (grams, more, crash) in &loads {
            bench.change(*grams);
            bench.rest(2500);
            if *more >= 5 {
                bench.change(*more);
                bench.rest(2500);
            }
            bench.change(-bench.load);
            bench.rest(4000);
            if *crash {
                bench.restart();
                bench.rest(2500);
            }
        }
        let truth: i64 = loads.iter().map(|(grams, more, _)| grams + if *more >= 5 { *more } else { 0 }).sum();
        prop_assert_eq!(bench.held(1), Mass::grams(truth));
        let drops = bench.core.books().entries.values().filter(|entry| entry.counts()).count();
        prop_assert_eq!(drops, loads.len());
    }
}

fn last_drop(bench: &Bench) -> EntryId {
    *bench.core.books().entries.iter().next_back().expect("a drop").0
}

#[test]
fn without_a_bin_a_drop_is_kept_unassigned_and_placed_later() {
    let mut bench = Bench::new(Manner::Pan);
    bench.rest(2000);
    bench.change(120);
    bench.rest(2500);
    bench.change(-120);
    bench.rest(2500);
    let drop = last_drop(&bench);
    assert_eq!(bench.core.books().entries[&drop].bin, None);
    bench.make_bin(4, None);
    bench.order(Order::MoveDrops { which: Which::One(drop), to: BinRef(4), reason: "forgot to choose".into() }).unwrap();
    assert_eq!(bench.held(4), Mass::grams(120));
}

#[test]
fn what_is_set_down_without_a_choice_is_kept_and_doubted() {
    let mut bench = Bench::new(Manner::Heap);
    bench.rest(2000);
    bench.change(850);
    bench.rest(6000);
    let entry = bench.core.books().entries[&last_drop(&bench)].clone();
    assert_eq!((entry.bin, entry.doubt), (None, Some(Doubt::PerhapsTheBin)));
}

#[test]
fn where_choice_and_weight_disagree_nobody_wins() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, Some(800));
    bench.choose(1);
    bench.rest(2000);
    bench.change(2300);
    bench.rest(3000);
    bench.change(140);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::ZERO);
    let loose: Vec<_> = bench.core.books().entries.values().map(|entry| (entry.mass, entry.doubt)).collect();
    let doubt = Doubt::NotTheBin { expected: Mass::grams(800), perhaps: None };
    assert_eq!(loose, [(Mass::grams(2300), Some(doubt)), (Mass::grams(140), None)]);
}

#[test]
fn an_unknown_tare_is_learned_and_told() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(2, None);
    bench.choose(2);
    bench.rest(2000);
    bench.change(640);
    bench.rest(6000);
    let (_, bin) = bench.core.books().bin_by_number(2).unwrap();
    assert_eq!((bin.tare, bin.tare_learned), (Some(Mass::grams(640)), true));
    assert!(
        query::riddles(bench.core.books()).iter().any(|riddle| matches!(riddle, query::Riddle::LearnedTare { number: 2, .. }))
    );
}

/// A piece belongs to the bin that was chosen when it landed, not when its rest was recognised.
#[test]
fn a_choice_between_landing_and_rest_does_not_take_the_piece() {
    let mut bench = Bench::new(Manner::Pan);
    bench.make_bin(1, None);
    bench.make_bin(2, None);
    bench.choose(1);
    bench.rest(2000);
    bench.change(200);
    bench.choose(2);
    bench.rest(3000);
    bench.change(-200);
    bench.rest(3000);
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(200), Mass::ZERO));
}

#[test]
fn a_scale_found_with_something_on_it_goes_on_by_differences() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, None);
    bench.choose(1);
    bench.load = 3000;
    bench.rest(3000);
    bench.change(75);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(75));
    assert_eq!(bench.core.books().bench(BENCH).bridged, Some(Bridge::Unknown));
}

/// Found by the property above: the crash came before the set-down was confirmed, and the bin was never known again.
#[test]
fn a_crash_right_after_a_bin_was_set_down_forgets_nothing() {
    let mut bench = Bench::new(Manner::Heap);
    let truth = work(&mut bench, &[(1, vec![]), (1, vec![Deed::Crash, Deed::Piece(5)]), (1, vec![Deed::Piece(3)])]);
    assert_eq!(bench.held(1), Mass::grams(truth[&1]));
}

#[test]
fn a_bin_that_stood_through_a_crash_is_known_again() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, Some(800));
    bench.choose(1);
    bench.rest(2000);
    bench.change(800);
    bench.rest(3000);
    bench.change(90);
    bench.rest(6000);
    bench.restart();
    bench.rest(3000);
    assert_eq!(bench.core.books().bench(BENCH).bridged, Some(Bridge::SameLoad));
    bench.change(10);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(100));
}

/// A disk that takes nothing for an hour: the steps of one bin are merged, the memory stays bounded, no gram is lost.
#[test]
fn while_nothing_can_be_stored_the_weight_is_kept() {
    let mut bench = Bench::new(Manner::Heap);
    for number in 1..3 {
        bench.make_bin(number, Some(800));
    }
    bench.choose(1);
    bench.rest(2000);
    bench.change(800);
    bench.rest(3000);
    bench.stuck = true;
    let mut pieces = 0;
    while !bench.core.holding() {
        bench.change(7);
        bench.rest(2500);
        pieces += 1;
        assert!(pieces < 3000, "it must hold at some time");
    }
    let events = bench.events.len();
    assert_eq!(bench.order(Order::ChooseBin { bin: Some(BinRef(2)) }), Err(Refusal::StoreClosed));
    for piece in 0..50 {
        bench.change(11);
        bench.rest(2500);
        if piece % 10 == 0 {
            bench.change(300);
            bench.rest(1200);
            bench.change(-300);
            bench.rest(2500);
        }
    }
    assert!(bench.events.len() <= events + 2, "{} events came while it held", bench.events.len() - events);
    bench.stuck = false;
    bench.rest(8000);
    assert_eq!(bench.held(1), Mass::grams(pieces * 7 + 50 * 11));
    assert_eq!(&bench.folded(), bench.core.books());
}

#[test]
fn a_key_gives_its_receipt_again_and_nothing_is_done_twice() {
    let mut bench = Bench::new(Manner::Heap);
    let first = bench.order_with(Some("tap-1"), Order::StartSession { feed: None }).unwrap();
    let events = bench.events.len();
    let again = bench.order_with(Some("tap-1"), Order::StartSession { feed: None }).unwrap();
    assert_eq!((again.id, again.seq, again.made), (first.id, first.seq, Made::Before));
    assert_eq!(bench.events.len(), events);
    let other = bench.order_with(Some("tap-2"), Order::StartSession { feed: None });
    assert!(matches!(other, Err(Refusal::SessionOpen { .. })));
}

#[test]
fn refusals_leave_no_trace() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, None);
    let events = bench.events.len();
    let source = Source::BenchScale { division: Mass::grams(1) };
    let refused = [
        Order::ChooseBin { bin: Some(BinRef(9)) },
        Order::MakeBin { number: Some(1), name: None, grade: None, tare: None, capacity: None },
        Order::MakeGrade { name: "   ".into() },
        Order::VoidDrop { entry: EntryId(99), which: Void::NeverMaterial, reason: "x".into() },
        Order::EmptyBin { bin: BinRef(1), reason: " ".into() },
        Order::TipBin { from: BinRef(1), to: BinRef(1), reason: "x".into() },
        Order::EnterWeight { bin: Some(BinRef(1)), mass: Mass::grams(-5), source, reason: "x".into() },
    ];
    for order in refused {
        assert!(bench.order(order.clone()).is_err(), "{order:?}");
    }
    assert_eq!(bench.events.len(), events);
}

/// An edit of what somebody else has just changed is refused.
#[test]
fn an_edit_names_the_version_that_it_saw() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, None);
    let seen = query::bins(bench.core.books())[0].version;
    let retire = |edit: Edit| Order::ChangeBin {
        bin: BinRef(1),
        change: BinChange { retired: Some(false), ..BinChange::default() },
        grade: None,
        edit,
    };
    bench.order(retire(Edit { seen: Some(seen) })).unwrap();
    assert!(matches!(bench.order(retire(Edit { seen: Some(seen) })), Err(Refusal::ChangedMeanwhile { .. })));
}

#[test]
fn corrections_change_the_net_and_keep_the_history() {
    let mut bench = Bench::new(Manner::Pan);
    for number in 1..4 {
        bench.make_bin(number, None);
    }
    bench.choose(1);
    bench.rest(2000);
    let mut drops = Vec::new();
    for grams in [100, 200, 300] {
        bench.change(grams);
        bench.rest(2500);
        bench.change(-grams);
        bench.rest(2500);
        drops.push(last_drop(&bench));
    }
    let reason = || "because".to_owned();
    bench.order(Order::VoidDrop { entry: drops[0], which: Void::NeverMaterial, reason: reason() }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(500));
    let again = bench.order(Order::VoidDrop { entry: drops[0], which: Void::NeverMaterial, reason: reason() });
    assert_eq!(again, Err(Refusal::DropGone { entry: drops[0] }));
    bench.order(Order::MoveDrops { which: Which::Since(drops[1]), to: BinRef(2), reason: reason() }).unwrap();
    assert_eq!((bench.held(1), bench.held(2)), (Mass::ZERO, Mass::grams(500)));
    let source = Source::HangingScale { division: Mass::grams(10) };
    bench.order(Order::AdjustDrop { entry: drops[2], mass: Mass::grams(320), source: source.clone(), reason: reason() }).unwrap();
    assert_eq!(bench.held(2), Mass::grams(520));
    bench.order(Order::TipBin { from: BinRef(2), to: BinRef(3), reason: reason() }).unwrap();
    assert_eq!((bench.held(2), bench.held(3)), (Mass::ZERO, Mass::grams(520)));
    bench.order(Order::OpeningStock { bin: BinRef(1), mass: Mass::grams(4000), source, reason: reason() }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(4000));
    bench.order(Order::EmptyBin { bin: BinRef(3), reason: reason() }).unwrap();
    assert_eq!(bench.held(3), Mass::ZERO);
    assert_eq!(&bench.folded(), bench.core.books());
}

/// JCGM 100:2008, F.2.2.1 and 5.1.5: drops that are chained share their readings, so their sum rests on the two end
/// readings; loads that were weighed apart add in quadrature.
#[test]
fn chained_drops_are_as_sure_as_one_and_separate_ones_are_not() {
    let uncertainty = |manner: Manner| {
        let mut bench = Bench::new(manner);
        bench.make_bin(1, Some(500));
        bench.choose(1);
        bench.rest(2000);
        if manner == Manner::Heap {
            bench.change(500);
            bench.rest(4000);
        }
        for _ in 0..10 {
            bench.change(50);
            bench.rest(4000);
            if manner == Manner::Pan {
                bench.change(-50);
                bench.rest(4000);
            }
        }
        bench.rest(8000);
        assert_eq!(bench.held(1), Mass::grams(500));
        bench.core.books().fills[&bench.core.books().bin_by_number(1).unwrap().1.fill].variance.expanded(2)
    };
    let grams = |mass: Mass| mass.rounded(bismar::measure::Unit::Gram, 3, bismar::measure::Rounding::HalfEven);
    assert_eq!(grams(uncertainty(Manner::Heap)), "0.816", "2/sqrt(6) g");
    assert_eq!(grams(uncertainty(Manner::Pan)), "2.582", "2*sqrt(10/6) g");
}

#[test]
fn prices_that_come_later_apply_to_what_lies_there() {
    let mut bench = Bench::new(Manner::Pan);
    bench.make_bin(1, None);
    bench.choose(1);
    bench.rest(2000);
    bench.change(800);
    bench.rest(2500);
    bench.change(-800);
    bench.rest(2500);
    let report = |bench: &Bench| {
        let question =
            YardRunQuestion { today: jiff::civil::date(2026, 3, 12), as_of: None, zone: TimeZone::UTC, stale_after: 7 };
        query::yard_run(bench.core.books(), &question)
    };
    assert!(!report(&bench).rows[0].has_quote());
    bench.order(Order::MakeGrade { name: "Yellow brass".into() }).unwrap();
    bench.order(Order::MakeBuyer { name: "Anyone".into() }).unwrap();
    let change = Order::ChangeBin {
        bin: BinRef(1),
        change: BinChange::default(),
        grade: Some(Some(NameRef("yellow BRASS".into()))),
        edit: Edit::default(),
    };
    bench.order(change).unwrap();
    let quote = |day: i8, price: &str| {
        Order::GiveQuote(Quoting {
            buyer: NameRef("anyone".into()),
            grade: NameRef("yellow brass".into()),
            rate: Rate::parse(price, Currency::parse("EUR").unwrap()).unwrap(),
            day: jiff::civil::date(2026, 3, day),
            stale_after: None,
            breaks: Vec::new(),
            minimum: None,
            deduction: None,
        })
    };
    bench.order(quote(1, "4.00/kg")).unwrap();
    bench.order(quote(3, "4.25/kg")).unwrap();
    bench.order(quote(20, "9.99/kg")).unwrap();
    let offer = report(&bench).rows[0].offers[0].clone().unwrap();
    assert_eq!(offer.value.unwrap().amount.to_string(), "3.40", "0.8 kg at 4.25, not at the price of next week");
    assert_eq!((offer.age_days, offer.stale), (9, true));
}

//! What is asked or suggested, and intakes: the next load is what will be taken apart.

use super::bench::{BENCH, Bench, reading};
use super::{at, clear, drops, put, riddles, visit};
use bismar::command::{Advice, BinRef, Input, Live, NameRef, Order, Refusal, Which, Why};
use bismar::facts::books::EntryState;
use bismar::facts::{Doubt, EntryId, LotId, SessionId, Void};
use bismar::measure::{Mass, Span};
use bismar::query::{self, Riddle};
use bismar::render::json::{BenchView, BinView, LiveView, RiddleView};
use bismar::render::page::{self, Frame};
use bismar::settle::Manner;
use proptest::prelude::*;

/// One line from a scale that prints when it stands still, and the silence after it.
fn print(bench: &mut Bench, grams: i64) {
    bench.forward(Span::millis(100));
    bench.step(Input::Reading(BENCH, reading(grams)));
    // Even distances would be a slow stream.
    for _ in 0..30 + (bench.at.mono.0 / 1_000_000_000 * 13) % 40 {
        bench.forward(Span::millis(100));
        bench.step(Input::Tick);
    }
}

/// A pan on a scale that prints one line a load and tells of no empty pan.
fn printing(bins: u32) -> Bench {
    let mut bench = Bench::new(Manner::Pan);
    for number in 1..=bins {
        bench.make_bin(number, None);
    }
    bench.choose(1);
    print(&mut bench, 0);
    print(&mut bench, 40);
    bench
}

fn twice(bench: &Bench) -> Vec<(EntryId, Mass, Option<u32>)> {
    let twice = |riddle| match riddle {
        Riddle::SentTwice { entry, mass, number } => Some((entry, mass, number)),
        _ => None,
    };
    riddles(bench).into_iter().filter_map(twice).collect()
}

#[test]
fn an_equal_line_again_is_kept_as_doubtful_and_asked() {
    let mut bench = printing(2);
    print(&mut bench, 57);
    assert_eq!(twice(&bench), []);
    let first = bench.core.books().bench(BENCH).last_drop.unwrap().0;
    print(&mut bench, 57);
    let asked = twice(&bench);
    assert_eq!(asked.len(), 1);
    let (second, mass, number) = asked[0];
    assert_eq!((mass, number), (Mass::grams(57), Some(1)));
    let entry = bench.core.books().entries[&second].clone();
    assert_eq!((entry.bin, entry.doubt), (None, Some(Doubt::PerhapsRepeated { of: Some(first) })));
    // A second piece: it goes where the first went. The same again: it was none.
    bench.order(Order::MoveDrops { which: Which::One(second), to: BinRef(1), reason: "a second piece".into() }).unwrap();
    print(&mut bench, 57);
    let third = twice(&bench)[0].0;
    bench.order(Order::VoidDrop { entry: third, which: Void::NeverMaterial, reason: "the same again".into() }).unwrap();
    assert_eq!(twice(&bench), []);
    print(&mut bench, 90);
    bench.unplug();
    assert_eq!(bench.held(1), Mass::grams(40 + 57 + 57 + 90));
    assert_eq!(&bench.folded(), bench.core.books());
}

/// The bench page as it is sent.
fn page(bench: &Bench) -> String {
    let books = bench.core.books();
    let live = Live { advice: bench.core.advice(BENCH), suggestion: bench.core.suggestion(BENCH), ..Live::default() };
    let view = BenchView::new(&query::bench(books, BENCH, &bench.now(), 8), LiveView::new(&live, None, books.seq));
    let bins: Vec<BinView> = query::bins(books).iter().map(BinView::from).collect();
    let riddles: Vec<RiddleView> = riddles(bench).iter().map(RiddleView::from).collect();
    let beside = page::Beside { bins: &bins, feeds: &[], riddles: &riddles, lots: &[] };
    page::bench(&Frame { title: "Bench", token: "t", key: "k", said: None, live: true }, &view, &beside)
}

#[test]
fn the_page_asks_with_an_answer_to_press() {
    let mut bench = printing(2);
    print(&mut bench, 57);
    assert!(!page(&bench).contains("A second piece"));
    print(&mut bench, 57);
    let (entry, ..) = twice(&bench)[0];
    let shown = page(&bench);
    let form = shown.split("<form").find(|form| form.contains("A second piece")).expect("a form that asks");
    assert!(form.contains(&format!("/drops/{entry}\"")), "{form}");
    assert!(form.contains("<option value=\"1\" selected>"), "the bin of the first is the one at hand: {form}");
    assert!(form.contains("value=\"move\"") && form.contains("value=\"void\">The same again"), "{form}");

    let mut bench = at(Manner::Heap, 1);
    assert!(page(&bench).contains("id=\"suggestion\" hidden"));
    bench.choose(1);
    put(&mut bench, 13_000);
    let shown = page(&bench);
    let form = shown.split("id=\"suggestion\"").nth(1).unwrap().split("</form>").next().unwrap();
    assert!(form.contains("value=\"tray\"") && form.contains("/benches/1/manner"), "{form}");
    clear(&mut bench);
    ask(&mut bench, None);
    assert!(page(&bench).contains("The next load is weighed before it is taken apart"));
    put(&mut bench, 700);
    clear(&mut bench);
    let lot = query::lots(bench.core.books())[0].lot;
    assert!(page(&bench).contains(&format!("action=\"/lots/{lot}\"")));
}

/// What stays on the scale is sent again without anything having come.
#[test]
fn where_things_stay_on_the_scale_an_equal_line_is_nothing() {
    let mut bench = Bench::new(Manner::Heap);
    bench.make_bin(1, None);
    bench.choose(1);
    for grams in [0, 900, 957, 957, 957] {
        print(&mut bench, grams);
    }
    bench.unplug();
    assert_eq!((twice(&bench).len(), bench.held(1)), (0, Mass::grams(57)));
}

#[test]
fn an_equal_line_while_nothing_can_be_stored_is_kept_too() {
    let mut bench = printing(1);
    print(&mut bench, 57);
    bench.stuck = true;
    while !bench.core.holding() {
        bench.choose(1);
    }
    print(&mut bench, 57);
    assert_eq!(twice(&bench), [], "nothing is recorded while it holds");
    bench.stuck = false;
    bench.step(Input::Tick);
    assert_eq!(twice(&bench).len(), 1);
    bench.unplug();
    assert_eq!(bench.held(1), Mass::grams(40 + 57));
    assert_eq!(&bench.folded(), bench.core.books());
}

/// What comes on and goes off again while nothing can be stored is no nought.
#[test]
fn loads_and_piles_are_kept_while_nothing_can_be_stored() {
    let mut pan = at(Manner::Pan, 1);
    pan.choose(1);
    put(&mut pan, 40);
    stick(&mut pan);
    put(&mut pan, 5);
    clear(&mut pan);
    for load in [300, 120] {
        put(&mut pan, load);
        clear(&mut pan);
    }
    put(&mut pan, 77);
    pan.stuck = false;
    pan.rest(1000);
    assert_eq!(pan.held(1), Mass::grams(45 + 420), "the last one lies there still");
    clear(&mut pan);
    put(&mut pan, 10);
    clear(&mut pan);
    assert_eq!(pan.held(1), Mass::grams(45 + 420 + 77 + 10));
    assert_eq!(&pan.folded(), pan.core.books());

    let mut pile = at(Manner::Sort, 1);
    pile.choose(1);
    put(&mut pile, 500);
    pile.rest(6000);
    stick(&mut pile);
    for piece in [60, 80, 70] {
        put(&mut pile, -piece);
        pile.rest(6000);
    }
    pile.stuck = false;
    pile.rest(1000);
    assert_eq!(pile.held(1), Mass::grams(210));
    assert_eq!(&pile.folded(), pile.core.books());
}

fn stick(bench: &mut Bench) {
    bench.stuck = true;
    while !bench.core.holding() {
        bench.choose(1);
    }
}

#[test]
fn a_container_is_advised_once_an_epoch_until_one_stands_there() {
    let mut bench = at(Manner::Heap, 1);
    let dribble = |bench: &mut Bench| {
        for _ in 0..3 {
            bench.change(2);
            bench.rest(3500);
            bench.load = 0;
            bench.rest(3500);
        }
    };
    assert_eq!(bench.core.advice(BENCH), None);
    dribble(&mut bench);
    assert_eq!(bench.core.advice(BENCH), Some(Advice::TareContainer));
    assert!(page(&bench).contains("put a container on the scale first"));
    put(&mut bench, 150);
    assert_eq!(bench.core.advice(BENCH), None, "one stands there");
    clear(&mut bench);
    dribble(&mut bench);
    assert_eq!(bench.core.advice(BENCH), None, "it was said");
    bench.rest(3_700_000);
    bench.unplug();
    bench.plug();
    bench.rest(3000);
    dribble(&mut bench);
    assert_eq!(bench.core.advice(BENCH), Some(Advice::TareContainer), "another epoch");
}

fn suggested(bench: &Bench) -> Option<(Manner, Why)> {
    bench.core.suggestion(BENCH).map(|suggestion| (suggestion.manner, suggestion.why))
}

#[test]
fn load_after_load_on_the_bare_platform_suggests_the_pan() {
    let mut bench = at(Manner::Heap, 1);
    bench.order(Order::StartSession { feed: None }).unwrap();
    for load in [300, 120, 450] {
        put(&mut bench, load);
        clear(&mut bench);
    }
    assert_eq!(suggested(&bench), None);
    put(&mut bench, 210);
    clear(&mut bench);
    assert_eq!(suggested(&bench), Some((Manner::Pan, Why::OneAtATime)));
    assert_eq!(bench.core.books().bench(BENCH).manner, Manner::Heap, "it is never changed without an order");
    bench.order(Order::ChooseManner { manner: Manner::Heap }).unwrap();
    for load in [300, 120, 450, 220, 310] {
        put(&mut bench, load);
        clear(&mut bench);
    }
    assert_eq!(suggested(&bench), None, "once a session, and it was answered");
    let session = bench.core.books().bench(BENCH).session.unwrap();
    bench.order(Order::EndSession { session }).unwrap();
    bench.order(Order::StartSession { feed: None }).unwrap();
    for load in [300, 120, 450, 220] {
        put(&mut bench, load);
        clear(&mut bench);
    }
    assert_eq!(suggested(&bench), Some((Manner::Pan, Why::OneAtATime)));
    bench.order(Order::ChooseManner { manner: Manner::Pan }).unwrap();
    assert_eq!(suggested(&bench), None);
}

/// Bins that are filled and swapped are heaps, and a pan that is loaded in a few goes is a pan.
#[test]
fn plain_work_suggests_nothing() {
    let mut bench = at(Manner::Heap, 2);
    for round in 0..6 {
        visit(&mut bench, Some(round % 2 + 1), 600 + 900 * i64::from(round % 2), &[60, 70]);
        assert_eq!(suggested(&bench), None);
    }
    let mut bench = at(Manner::Pan, 1);
    for _ in 0..6 {
        for piece in [40, 55, 30] {
            put(&mut bench, piece);
        }
        clear(&mut bench);
        assert_eq!(suggested(&bench), None);
    }
}

#[test]
fn a_load_on_the_pan_that_stays_and_grows_suggests_the_heap() {
    let mut bench = at(Manner::Pan, 1);
    for piece in [800, 40, 50, 60, 70, 80] {
        put(&mut bench, piece);
    }
    assert_eq!(suggested(&bench), None);
    put(&mut bench, 30);
    assert_eq!(suggested(&bench), Some((Manner::Heap, Why::StaysAndGrows)));
}

#[test]
fn a_heap_near_what_the_scale_can_bear_suggests_the_tray() {
    let mut bench = at(Manner::Heap, 1);
    bench.choose(1);
    put(&mut bench, 12_000);
    assert_eq!(suggested(&bench), None);
    put(&mut bench, 800);
    assert_eq!(suggested(&bench), Some((Manner::Tray, Why::NearCapacity)));
}

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

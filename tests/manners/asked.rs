//! What is asked or suggested.

use super::bench::{BENCH, Bench, reading};
use super::{at, clear, put, riddles, visit};
use bismar::command::{Advice, BinRef, Input, Live, Order, Which, Why};
use bismar::facts::{Doubt, EntryId, Void};
use bismar::measure::{Mass, Span};
use bismar::query::{self, Riddle};
use bismar::render::json::{BenchView, BinView, LiveView, RiddleView};
use bismar::render::page::{self, Frame};
use bismar::settle::Manner;

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
    bench.order(Order::AskIntake { feed: None }).unwrap();
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

#[test]
fn a_display_that_swings_slowly_is_said() {
    let mut bench = at(Manner::Heap, 1);
    put(&mut bench, 500);
    let still = bench.load;
    for reading in 0..400 {
        // Up and down by eight grams in four seconds, as a triangle.
        let turn = i64::from(reading) % 40;
        bench.load = still + (turn - 20).abs() * 4 / 5 - 8;
        bench.rest(100);
    }
    assert_eq!(bench.core.advice(BENCH), Some(Advice::StillTheBench));
    assert!(page(&bench).contains("the display swings slowly"));
    bench.load = still;
    bench.rest(6000);
    assert_eq!(bench.core.advice(BENCH), None, "it stands still");
    assert!(bench.held(1).abs() <= Mass::grams(1), "{:?} in it, and nothing was put on", bench.held(1));
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

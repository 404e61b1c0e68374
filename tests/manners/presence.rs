//! Whether somebody is at the bench, and what a hand on the pan means.

use super::bench::{BENCH, Bench};
use super::{at, drops, put, riddles};
use bismar::command::{Order, Refusal};
use bismar::facts::books::PressUse;
use bismar::measure::Span;
use bismar::query::{self, Riddle};
use bismar::settle::Manner;

/// A slow thing gives no drop for a long time, but the bench trembles; only real stillness is asked, and until it is told
/// both figures stand.
#[test]
fn stillness_is_asked_and_trembling_is_work() {
    let mut bench = at(Manner::Heap, 1);
    bench.order(Order::StartSession { feed: None }).unwrap();
    let line = |bench: &Bench| query::sessions(bench.core.books(), &bench.now()).remove(0);
    let shake = |bench: &mut Bench| {
        for _ in 0..30 {
            bench.rest(60_000);
            bench.load += 3;
            bench.rest(100);
            bench.load -= 3;
            bench.rest(100);
        }
    };
    shake(&mut bench);
    assert!(!riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::WorkingOrAway { .. })), "it trembled all the time");
    let worked = line(&bench).hands_on;
    bench.rest(25 * 60_000);
    put(&mut bench, 80);
    let Some(Riddle::WorkingOrAway { session, stillness, span }) =
        riddles(&bench).into_iter().find(|riddle| matches!(riddle, Riddle::WorkingOrAway { .. }))
    else {
        panic!("twenty-five minutes without a tremble are asked");
    };
    assert!(span >= Span::seconds(25 * 60) && span < Span::seconds(27 * 60));
    let both = line(&bench);
    assert_eq!(both.hands_on.0 - both.hands_on_least.0, span.0);
    assert!(both.hands_on_least >= worked);
    bench.order(Order::TellStillness { session, stillness, away: true }).unwrap();
    let told = line(&bench);
    assert_eq!(told.hands_on, told.hands_on_least);
    assert!(told.hands_on.0 - both.hands_on_least.0 < Span::seconds(1).0);
    assert_eq!(told.legs[0].hands_on, told.hands_on);
    bench.order(Order::TellStillness { session, stillness, away: false }).unwrap();
    assert!(line(&bench).hands_on.0 - both.hands_on.0 < Span::seconds(1).0, "a slip of the finger is mended");
    bench.order(Order::EndSession { session }).unwrap();
    assert_eq!(&bench.folded(), bench.core.books());
}

/// A hand on the pan for so many tenths of a second, never steady.
fn press(bench: &mut Bench, tenths: i64) {
    let rest = bench.load;
    for tenth in 0..tenths {
        bench.load = rest + 900 + (tenth * 37) % 90;
        bench.rest(100);
    }
    bench.load = rest;
    bench.rest(9000);
}

#[test]
fn a_long_press_chooses_the_next_bin_after_a_trial_of_ten() {
    let mut bench = at(Manner::Heap, 3);
    bench.choose(1);
    put(&mut bench, 900);
    bench.rest(8000);
    let chosen = |bench: &Bench| {
        let books = bench.core.books();
        books.bench(BENCH).chosen.and_then(|bin| books.bins.get(&bin)).map(|bin| bin.number)
    };
    let untried = bench.order(Order::UsePress { on: true });
    assert_eq!(untried, Err(Refusal::PressUntried { felt: 0, needed: 10 }));
    bench.order(Order::TryPress).unwrap();
    for _ in 0..10 {
        press(&mut bench, 26);
    }
    press(&mut bench, 9);
    assert_eq!(bench.core.books().bench(BENCH).press, PressUse::Trial { felt: 10 }, "a short one is none");
    assert_eq!(chosen(&bench), Some(1), "in a trial nothing is chosen");
    bench.order(Order::UsePress { on: true }).unwrap();
    press(&mut bench, 26);
    assert_eq!(chosen(&bench), Some(2));
    press(&mut bench, 26);
    press(&mut bench, 26);
    assert_eq!(chosen(&bench), Some(1), "behind the last comes the first");
    let held = bench.held(1);
    put(&mut bench, 640);
    bench.rest(1500);
    put(&mut bench, -640);
    bench.rest(9000);
    assert_eq!((chosen(&bench), bench.held(1)), (Some(1), held), "a piece that is lifted out again is no press");
    assert_eq!(drops(&bench), 0, "and no press is mass");
}

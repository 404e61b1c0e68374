//! The four manners, and whose mass it is: bins that come and go, are swapped, come back changed, or are not the ones
//! that were chosen.

#[path = "manners/asked.rs"]
mod asked;
#[path = "support/bench.rs"]
mod bench;
#[path = "manners/beside.rs"]
mod beside;
#[path = "manners/check.rs"]
mod check;
#[path = "manners/intake.rs"]
mod intake;
#[path = "manners/leaving.rs"]
mod leaving;
#[path = "manners/presence.rs"]
mod presence;

use bench::{BENCH, Bench};
use bismar::command::{Advice, BinRef, Order, Refusal, Which};
use bismar::facts::books::{EntryState, Origin};
use bismar::facts::{Doubt, EntryId, KnownBy};
use bismar::measure::Mass;
use bismar::query::{self, Riddle};
use bismar::settle::Manner;
use proptest::prelude::*;

fn at(manner: Manner, bins: u32) -> Bench {
    let mut bench = Bench::new(manner);
    for number in 1..=bins {
        bench.make_bin(number, None);
    }
    bench.rest(2000);
    bench
}

fn put(bench: &mut Bench, grams: i64) {
    bench.change(grams);
    bench.rest(3000);
}

fn clear(bench: &mut Bench) {
    put(bench, -bench.load);
    bench.rest(5000);
}

fn drops(bench: &Bench) -> usize {
    bench.core.books().entries.values().filter(|entry| entry.counts() && entry.is_drop()).count()
}

fn riddles(bench: &Bench) -> Vec<Riddle> {
    query::riddles(bench.core.books())
}

/// Stands a bin on the scale, drops pieces into it, lifts it off; returns its gross weight.
fn visit(bench: &mut Bench, bin: Option<u32>, gross: i64, pieces: &[i64]) -> i64 {
    if let Some(bin) = bin {
        bench.choose(bin);
    }
    put(bench, gross);
    bench.rest(3000);
    for piece in pieces {
        put(bench, *piece);
    }
    bench.rest(6000);
    let last = bench.load;
    clear(bench);
    last
}

/// A longer look at what was set down cancels its step and puts it anew.
#[test]
fn a_strange_load_that_is_looked_at_longer_stays_strange() {
    let mut bench = at(Manner::Heap, 1);
    bench.change(1000);
    bench.rest(500);
    bench.load += 2;
    bench.rest(8000);
    let entries: Vec<_> = bench.core.books().entries.values().collect();
    assert!(entries.iter().any(|entry| entry.state != EntryState::Confirmed), "it was put anew");
    let kept: Vec<_> = entries.iter().filter(|entry| entry.counts()).map(|entry| (entry.mass, entry.doubt)).collect();
    assert_eq!(kept, [(Mass::grams(1002), Some(Doubt::PerhapsTheBin))]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever sticks in the tray stays in the tray's account, not in the bin's.
    #[test]
    fn a_tray_credits_what_was_tipped(tips in proptest::collection::vec((proptest::collection::vec(20_i64..400, 1..4), 0_i64..15, 1_u32..3), 1..6)) {
        let mut bench = at(Manner::Tray, 2);
        let tray = 310;
        put(&mut bench, tray);
        let mut truth = [0, 0];
        for (pieces, sticks, bin) in &tips {
            for piece in pieces {
                put(&mut bench, *piece);
            }
            bench.choose(*bin);
            bench.rest(6000);
            let full = bench.load;
            put(&mut bench, -full);
            bench.rest(4000);
            put(&mut bench, tray + sticks);
            truth[*bin as usize - 1] += full - (tray + sticks);
        }
        bench.rest(6000);
        prop_assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(truth[0]), Mass::grams(truth[1])));
        prop_assert_eq!(drops(&bench), tips.len());
    }

    /// Everything that is sorted from a pile is in the bin that was chosen when it went.
    #[test]
    fn a_pile_is_sorted_out(pieces in proptest::collection::vec((20_i64..250, 1_u32..4), 2..10)) {
        let mut bench = at(Manner::Sort, 3);
        put(&mut bench, pieces.iter().map(|(grams, _)| grams).sum());
        bench.rest(6000);
        let mut truth = [0; 3];
        for (grams, bin) in &pieces {
            bench.choose(*bin);
            put(&mut bench, -*grams);
            truth[*bin as usize - 1] += grams;
        }
        bench.rest(6000);
        let held: Vec<Mass> = (1..4).map(|bin| bench.held(bin)).collect();
        let doubted: Mass = bench.core.books().entries.values().filter(|entry| entry.bin.is_none()).map(|entry| entry.mass).sum();
        let total: Mass = held.iter().copied().sum::<Mass>() + doubted;
        prop_assert_eq!(total, Mass::grams(truth.iter().sum::<i64>()), "nothing is lost");
        if doubted.is_zero() {
            prop_assert_eq!(held, truth.map(Mass::grams).to_vec());
        }
    }

    /// Bins that are swapped on one scale through a session, with nobody pressing anything, come out right as long as
    /// they weigh differently.
    #[test]
    fn swapped_bins_come_out_right_without_a_choice(turns in proptest::collection::vec((0_usize..3, proptest::collection::vec(30_i64..300, 0..3)), 1..8)) {
        let mut bench = at(Manner::Heap, 3);
        let mut gross = [600, 1900, 3300];
        for (index, gross) in gross.iter_mut().enumerate() {
            *gross = visit(&mut bench, Some(index as u32 + 1), *gross, &[200]);
        }
        let mut truth = [200; 3];
        for (index, pieces) in &turns {
            gross[*index] = visit(&mut bench, None, gross[*index], pieces);
            truth[*index] += pieces.iter().sum::<i64>();
        }
        let close = |a: i64, b: i64| (a - b).abs() < 200;
        prop_assume!(!close(gross[0], gross[1]) && !close(gross[1], gross[2]));
        let held: Vec<Mass> = (1..4).map(|bin| bench.held(bin)).collect();
        prop_assert_eq!(held, truth.map(Mass::grams).to_vec());
    }
}

#[test]
fn a_tray_that_comes_back_as_it_went_was_not_tipped() {
    let mut bench = at(Manner::Tray, 1);
    bench.choose(1);
    put(&mut bench, 300);
    put(&mut bench, 150);
    bench.rest(6000);
    put(&mut bench, -450);
    bench.rest(3000);
    put(&mut bench, 450);
    bench.rest(6000);
    assert_eq!((bench.held(1), drops(&bench)), (Mass::ZERO, 0));
    put(&mut bench, -450);
    bench.rest(3000);
    put(&mut bench, 300);
    bench.rest(6000);
    assert_eq!((bench.held(1), drops(&bench)), (Mass::grams(150), 1));
}

#[test]
fn a_full_tray_asks_to_be_tipped() {
    let mut bench = at(Manner::Tray, 1);
    bench.choose(1);
    put(&mut bench, 300);
    put(&mut bench, 12_000);
    assert_eq!(bench.core.advice(BENCH), None);
    put(&mut bench, 600);
    assert_eq!(bench.core.advice(BENCH), Some(Advice::TipTheTray), "12.9 of 15 kg is 86 per cent");
}

/// A mug that stands on the platform among the drops is paired with its own removal.
#[test]
fn a_mug_is_paired_with_its_own_removal() {
    let mut bench = at(Manner::Heap, 1);
    bench.choose(1);
    put(&mut bench, 900);
    bench.rest(6000);
    for grams in [120, 352, 80, 95] {
        put(&mut bench, grams);
    }
    bench.rest(8000);
    put(&mut bench, -352);
    bench.rest(8000);
    assert_eq!(bench.held(1), Mass::grams(295));
    assert_eq!(drops(&bench), 3, "the mug is no drop");
    assert!(!riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::InHand { .. })));
}

/// A handful is taken out of one bin and put into another: it moves, and earns nothing a second time.
#[test]
fn what_is_in_hand_and_lands_elsewhere_is_a_transfer() {
    let mut bench = at(Manner::Heap, 2);
    bench.order(Order::StartSession { feed: None }).unwrap();
    let first = visit(&mut bench, Some(1), 900, &[150, 140, 130]);
    let second = visit(&mut bench, Some(2), 1400, &[100]);
    bench.choose(1);
    put(&mut bench, first);
    bench.rest(8000);
    put(&mut bench, -260);
    bench.rest(8000);
    assert!(riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::InHand { mass, .. } if *mass == Mass::grams(260))));
    clear(&mut bench);
    visit(&mut bench, Some(2), second, &[260]);
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(160), Mass::grams(360)));
    let books = bench.core.books();
    let session = books.sessions.values().next().unwrap();
    assert_eq!(session.drops, 4);
    assert!(books.bench(BENCH).in_hand.is_empty());
    assert!(books.entries.values().any(|entry| matches!(entry.origin, Origin::Transfer(_)) && entry.session.is_none()));
}

#[test]
fn what_is_in_hand_can_be_settled() {
    let mut bench = at(Manner::Heap, 1);
    let gross = visit(&mut bench, Some(1), 900, &[150, 140]);
    bench.choose(1);
    put(&mut bench, gross);
    bench.rest(8000);
    put(&mut bench, -60);
    bench.rest(8000);
    let Some(Riddle::InHand { removal, .. }) = riddles(&bench).into_iter().find(|riddle| matches!(riddle, Riddle::InHand { .. }))
    else {
        panic!("something is in hand");
    };
    bench.order(Order::SettleHand { removal, reason: "into the vice".into() }).unwrap();
    assert!(bench.core.books().bench(BENCH).in_hand.is_empty());
    let again = bench.order(Order::SettleHand { removal, reason: "into the vice".into() });
    assert_eq!(again, Err(Refusal::NotInHand { removal }));
}

#[test]
fn an_old_choice_gives_way_to_the_weight_and_a_fresh_one_does_not() {
    let mut bench = at(Manner::Heap, 2);
    let first = visit(&mut bench, Some(1), 700, &[250]);
    let second = visit(&mut bench, Some(2), 1500, &[250]);
    // The choice of bin 2 is from before: bin 1 is known by its weight, and that is announced.
    put(&mut bench, first);
    bench.rest(6000);
    assert_eq!(bench.core.books().bench(BENCH).known_by, Some(KnownBy::Weight));
    assert!(riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::KnownByWeight { number: 1, .. })));
    put(&mut bench, 40);
    bench.rest(6000);
    clear(&mut bench);
    assert_eq!(bench.held(1), Mass::grams(290));
    // Bin 1 is chosen now, and bin 2 is set down: nobody wins.
    bench.choose(2);
    bench.choose(1);
    put(&mut bench, second);
    put(&mut bench, 33);
    bench.rest(6000);
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(290), Mass::grams(250)));
    let doubt = bench.core.books().entries.values().find_map(|entry| entry.doubt);
    assert!(matches!(doubt, Some(Doubt::NotTheBin { perhaps: Some(_), .. })), "{doubt:?}");
}

/// What was kept apart is answered late or never: the next time the same choice and the weight agree again.
#[test]
fn a_bin_that_was_kept_apart_is_known_when_it_comes_back() {
    let mut bench = at(Manner::Heap, 2);
    visit(&mut bench, Some(1), 700, &[250]);
    let second = visit(&mut bench, Some(2), 1500, &[250]);
    // Bin 1 is chosen and bin 2 is set down: kept apart.
    let second = visit(&mut bench, Some(1), second, &[64]);
    assert_eq!(bench.held(2), Mass::grams(250));
    bench.choose(2);
    put(&mut bench, second);
    put(&mut bench, 33);
    bench.rest(6000);
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(250), Mass::grams(283)));
    assert_eq!(bench.core.books().bench(BENCH).known_by, Some(KnownBy::Choice));
    assert_eq!(&bench.folded(), bench.core.books());
}

/// A bin that was never weighed is chosen, and one that was is set down: nobody wins.
#[test]
fn a_fresh_choice_of_a_bin_never_weighed_does_not_take_another() {
    let mut bench = at(Manner::Heap, 2);
    let first = visit(&mut bench, Some(1), 700, &[250]);
    bench.choose(2);
    put(&mut bench, first);
    put(&mut bench, 33);
    bench.rest(6000);
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(250), Mass::ZERO));
    let set_down =
        bench.core.books().entries.iter().find(|(_, entry)| entry.doubt.is_some()).map(|(id, entry)| (*id, entry.doubt));
    let (set_down, doubt) = set_down.expect("it is kept apart");
    assert!(matches!(doubt, Some(Doubt::PerhapsAnother { .. })), "{doubt:?}");
    bench.order(Order::WasTheBin { entry: set_down, bin: BinRef(1) }).unwrap();
    assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(283), Mass::ZERO));
    // Something that weighs like no other is the new bin.
    clear(&mut bench);
    visit(&mut bench, Some(2), 1800, &[44]);
    assert_eq!(bench.held(2), Mass::grams(44));
}

/// The rest of a pile that is carried away, and a pile that nothing was taken from, are asked; the last piece is none.
#[test]
fn what_goes_last_from_a_pile_is_asked_where_it_weighs_like_no_piece() {
    let doubts = |bench: &Bench| {
        let doubts = bench.core.books().entries.values().filter(|entry| entry.doubt == Some(Doubt::PerhapsThePile));
        doubts.map(|entry| (entry.bin, entry.mass)).collect::<Vec<_>>()
    };
    for (sorted, held, doubted) in [
        (vec![60, 80, 70], 210, vec![]),
        (vec![60, 80, 210], 140, vec![(None, Mass::grams(210))]),
        (vec![300], 0, vec![(None, Mass::grams(300))]),
        (vec![60, 130], 60, vec![(None, Mass::grams(130))]),
    ] {
        let mut bench = at(Manner::Sort, 1);
        bench.choose(1);
        put(&mut bench, sorted.iter().sum());
        bench.rest(6000);
        for piece in &sorted {
            put(&mut bench, -piece);
            bench.rest(6000);
        }
        assert_eq!((bench.held(1), doubts(&bench)), (Mass::grams(held), doubted), "{sorted:?}");
    }
    // The pile was lifted and put back: that was no piece, and does not make the rest of it one.
    let mut bench = at(Manner::Sort, 1);
    bench.choose(1);
    put(&mut bench, 500);
    bench.rest(6000);
    put(&mut bench, -60);
    bench.rest(6000);
    for grams in [-300, 300] {
        bench.change(grams);
        bench.rest(1500);
    }
    bench.rest(6000);
    put(&mut bench, -440);
    bench.rest(6000);
    assert_eq!((bench.held(1), doubts(&bench)), (Mass::grams(60), vec![(None, Mass::grams(440))]));
}

#[test]
fn one_answer_settles_what_was_set_down_and_all_that_landed_in_it() {
    let mut bench = at(Manner::Heap, 1);
    put(&mut bench, 820);
    put(&mut bench, 75);
    put(&mut bench, 60);
    bench.rest(6000);
    let set_down = *bench.core.books().entries.iter().next().unwrap().0;
    bench.order(Order::WasTheBin { entry: set_down, bin: BinRef(1) }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(135));
    bench.choose(1);
    put(&mut bench, 20);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(155));
    let (_, bin) = bench.core.books().bin_by_number(1).unwrap();
    assert_eq!(bin.last_gross, Some(Mass::grams(975)), "what the scale shows");
    assert_eq!(bin.tare, Some(Mass::grams(820)));
    let gone = bench.order(Order::WasTheBin { entry: set_down, bin: BinRef(1) });
    assert_eq!(gone, Err(Refusal::DropGone { entry: set_down }));
}

#[test]
fn a_bin_that_comes_back_heavier_is_caught_up_outside_pay() {
    let mut bench = at(Manner::Heap, 1);
    bench.order(Order::StartSession { feed: None }).unwrap();
    let gross = visit(&mut bench, Some(1), 900, &[300]);
    bench.choose(1);
    bench.order(Order::ChooseBin { bin: None }).unwrap();
    bench.choose(1);
    put(&mut bench, gross + 240);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(540));
    let unseen: Vec<_> = bench.core.books().entries.values().filter(|entry| entry.origin == Origin::Unseen).collect();
    assert_eq!((unseen.len(), unseen[0].mass, unseen[0].session), (1, Mass::grams(240), None));
    assert_eq!(bench.core.books().sessions.values().next().unwrap().mass, Mass::grams(300));
}

/// A little lighter it is the bin that was chosen, and the books wait for a word; much lighter it may be another.
#[test]
fn a_bin_that_comes_back_a_little_lighter_is_listed() {
    let mut bench = at(Manner::Heap, 1);
    let gross = visit(&mut bench, Some(1), 900, &[700]);
    bench.choose(1);
    put(&mut bench, gross - 150);
    put(&mut bench, 44);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(744));
    let lighter = |bench: &Bench| {
        riddles(bench)
            .into_iter()
            .any(|riddle| matches!(riddle, Riddle::CameBackLighter { mass, .. } if mass == Mass::grams(150)))
    };
    assert!(lighter(&bench));
    bench.order(Order::SettleMissing { bin: BinRef(1) }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(594));
    assert!(!lighter(&bench));
    assert_eq!(bench.order(Order::SettleMissing { bin: BinRef(1) }), Err(Refusal::NothingMissing { number: 1 }));
}

#[test]
fn a_bin_that_comes_back_much_lighter_is_asked() {
    let mut bench = at(Manner::Heap, 1);
    let gross = visit(&mut bench, Some(1), 900, &[700]);
    bench.order(Order::ChooseBin { bin: None }).unwrap();
    bench.choose(1);
    put(&mut bench, gross - 500);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(700));
    assert!(matches!(
        bench.core.books().entries.values().next_back().unwrap().doubt,
        Some(Doubt::NotTheBin { perhaps: None, .. })
    ));
}

/// Set-backs off the middle of the platform are no catch-up, and this bench's scatter widens the match.
#[test]
fn the_scatter_of_set_backs_is_learned() {
    let mut bench = at(Manner::Heap, 1);
    let mut gross = visit(&mut bench, Some(1), 3000, &[500]);
    for off in [4, -5, 5, -4, 6, -6, 7, -7, 8, -8] {
        bench.choose(1);
        put(&mut bench, gross + off);
        bench.rest(6000);
        gross = bench.load;
        clear(&mut bench);
    }
    assert_eq!(bench.held(1), Mass::grams(500), "no set-back was taken for material");
    assert!(bench.core.books().bench(BENCH).scatter >= Mass::grams(3));
}

#[test]
fn a_load_far_above_the_usual_is_held() {
    let mut bench = at(Manner::Heap, 1);
    bench.choose(1);
    put(&mut bench, 900);
    bench.rest(6000);
    for _ in 0..8 {
        put(&mut bench, 90);
    }
    bench.rest(6000);
    put(&mut bench, 6200);
    bench.rest(6000);
    assert_eq!(bench.held(1), Mass::grams(720));
    let held = *bench.core.books().entries.iter().next_back().unwrap().0;
    assert!(matches!(bench.core.books().entries[&held].doubt, Some(Doubt::FarAbove { .. })));
    bench.order(Order::MoveDrops { which: Which::One(held), to: BinRef(1), reason: "it was a radiator".into() }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(6920));
}

#[test]
fn a_bin_chosen_right_after_a_drop_offers_the_last_one_too() {
    let mut bench = at(Manner::Pan, 2);
    bench.choose(1);
    put(&mut bench, 210);
    put(&mut bench, -210);
    bench.choose(2);
    let offered: Vec<EntryId> = riddles(&bench)
        .into_iter()
        .filter_map(|riddle| match riddle {
            Riddle::LastOneToo { entry, number: 2 } => Some(entry),
            _ => None,
        })
        .collect();
    assert_eq!(offered.len(), 1);
    bench.order(Order::MoveDrops { which: Which::One(offered[0]), to: BinRef(2), reason: "yes".into() }).unwrap();
    assert_eq!((bench.held(1), bench.held(2)), (Mass::ZERO, Mass::grams(210)));
    assert!(!riddles(&bench).iter().any(|riddle| matches!(riddle, Riddle::LastOneToo { .. })));
}

#[test]
fn a_marked_drop_stays_in_its_bin_and_is_listed() {
    let mut bench = at(Manner::Pan, 1);
    bench.choose(1);
    put(&mut bench, 210);
    put(&mut bench, -210);
    let (id, entry) = bench.core.books().entries.iter().next_back().map(|(id, entry)| (*id, entry.clone())).unwrap();
    assert_eq!(entry.state, EntryState::Confirmed);
    bench.order(Order::DoubtDrop { entry: Some(id) }).unwrap();
    assert_eq!(bench.held(1), Mass::grams(210));
    assert!(riddles(&bench).contains(&Riddle::Marked { entry: id, mass: Mass::grams(210) }));
}

//! The design's own use: choose a bin, start a session, drop twenty pieces, lift the bin, pull the report.

use super::bench::play_script;
use super::daemon::Daemon;
use super::forms;
use super::scratch::{Scratch, until};
use bismar::dialect::Dialect;
use bismar::link::pty::Pty;
use bismar::measure::{Displayed, Mass, Moment, Span, Unit};
use bismar::settle::Manner;
use bismar::sim::{Act, Deed, Flag, Mode, Script, Setup, Truth};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

const PIECES: usize = 20;

/// One bench: its scale, and what the daemon must be told of it.
struct Card {
    setup: Setup,
    bench: &'static str,
    manner: Manner,
    seed: u64,
}

fn cards() -> Vec<Card> {
    let plain = |dialect| Setup { dialect, ..Setup::default() };
    let heap = |setup, bench, seed| Card { setup, bench, manner: Manner::Heap, seed };
    let pan = |setup, bench, seed| Card { setup, bench, manner: Manner::Pan, seed };
    // Two thousandths of a pound: a unit, a division and a count by two that are not the usual ones.
    let pounds = Setup {
        unit: Unit::Pound,
        division: Displayed { count: 2, exponent: -3 },
        capacity: Mass::grams(13_000),
        ..plain(Dialect::StxStatusWords)
    };
    let bare = Setup {
        unit: Unit::Gram,
        division: Displayed { count: 1, exponent: 0 },
        flag: Flag::Absent,
        ..plain(Dialect::BareNumber)
    };
    let polled = Setup { mode: Mode::Polled, ..plain(Dialect::LetterReply) };
    let stx = "dialect = \"stx-status-words\"\ndivision = \"0.002 lb\"";
    let bare_bench = "dialect = \"bare-number\"\nunit = \"g\"\ndivision = \"1 g\"";
    vec![
        heap(plain(Dialect::HeaderComma), "dialect = \"header-comma\"", 11),
        heap(pounds.clone(), stx, 12),
        heap(polled, "dialect = \"letter-reply\"\npoll_ms = 100", 13),
        heap(plain(Dialect::LfStatusChars), "dialect = \"lf-status-chars\"", 14),
        heap(bare.clone(), bare_bench, 15),
        pan(plain(Dialect::HeaderComma), "dialect = \"header-comma\"\nmanner = \"pan\"", 16),
        pan(pounds, "dialect = \"stx-status-words\"\ndivision = \"0.002 lb\"\nmanner = \"pan\"", 17),
        pan(bare, "dialect = \"bare-number\"\nunit = \"g\"\ndivision = \"1 g\"\nmanner = \"pan\"", 18),
    ]
}

/// The person: the stretch begins, the bin is chosen, twenty pieces, the bin is lifted, the stretch ends.
fn script(setup: &Setup, manner: Manner, seed: u64) -> Script {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut at = Moment::default().plus(Span::millis(1000));
    let mut deeds = Vec::new();
    let mut act = |after: Span, act: Act| {
        at = at.plus(after);
        deeds.push(Deed { at, act });
    };
    let step = setup.step().unwrap();
    act(Span::ZERO, Act::Say("start".into()));
    act(Span::millis(300), Act::Choose(1));
    let mut gross = Mass::ZERO;
    if manner == Manner::Heap {
        gross = draw(&mut rng, 700_000..999_999, |bin| clear(bin, step));
        act(Span::millis(700), Act::Place(gross));
    }
    for number in 1..=PIECES {
        let most = [40_000, 150_000, 380_000][rng.random_range(0..3)];
        let piece = draw(&mut rng, 12_000..most, |piece| number < PIECES || clear(gross + piece, step));
        gross += piece;
        let pause = if manner == Manner::Heap { 2000..2800 } else { 1500..2000 };
        act(Span::millis(rng.random_range(pause)), Act::Drop(piece));
        if manner == Manner::Pan {
            act(Span::millis(rng.random_range(1500..1900)), Act::Lift);
        }
    }
    if manner == Manner::Heap {
        act(Span::millis(2500), Act::Lift);
    }
    act(Span::millis(2500), Act::Say("end".into()));
    Script::new("card", manner, deeds)
}

/// A mass of whole milligrams within this range that will do.
fn draw(rng: &mut ChaCha8Rng, milligrams: std::ops::Range<i64>, will_do: impl Fn(Mass) -> bool) -> Mass {
    loop {
        let count = rng.random_range(milligrams.clone());
        let mass = Mass::parse(&format!("0.{count:06}"), Unit::Kilogram).unwrap();
        if will_do(mass) {
            return mass;
        }
    }
}

/// Not on the verge between two displayed values, where the cell's noise alone says which of them is shown: the empty
/// and the full bin must not be there, or two displays could be more than one division off together.
fn clear(load: Mass, step: Mass) -> bool {
    let over = load.femtograms().rem_euclid(step.femtograms());
    over.min(step.femtograms() - over) * 10 <= step.femtograms() * 3
}

#[test]
fn twenty_pieces_stand_in_every_form_of_the_report() {
    std::thread::scope(|scope| {
        let name = |card: &Card| format!("{} {:?}", card.setup.dialect.name(), card.manner);
        let runs: Vec<_> = cards().into_iter().map(|card| (name(&card), scope.spawn(move || run(&card)))).collect();
        let failed: Vec<_> = runs.into_iter().filter_map(|(name, run)| run.join().err().map(|_| name)).collect();
        assert!(failed.is_empty(), "{failed:?}");
    });
}

fn run(card: &Card) {
    let Card { setup, bench, manner, seed } = card;
    let scratch = Scratch::new(bench);
    let mut pty = Pty::open(Some(&scratch.scale())).unwrap();
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "red brass" }));
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "red brass" }));
    web.done("POST", "/v1/bins", &json!({ "number": 2 }));
    for (buyer, price) in [("Quayside", "5.35/kg"), ("Millrace", "2.61/lb")] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
        web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": "red brass", "price": price }));
    }

    let script = script(setup, *manner, *seed);
    let truth = Truth::of(setup, &script, *seed);
    let mut session = None;
    play_script(&mut pty, setup, &script, *seed, |words| match words {
        "start" => session = web.done("POST", "/v1/benches/1/sessions", &json!({}))["id"].as_u64(),
        "end" => _ = web.done("POST", &format!("/v1/sessions/{}/end", session.unwrap()), &json!({})),
        choose => {
            let number: u32 = choose.strip_prefix("choose ").unwrap().parse().unwrap();
            web.done("PUT", "/v1/benches/1/bin", &json!({ "number": number }));
        }
    });
    until("nothing is provisional", || (web.json("/v1/reports/yard-run.json")["provisional_drops"] == 0).then_some(()));

    let step = setup.step().unwrap();
    let drops = drops(&web.json("/v1/drops?limit=100"));
    let dropped: Vec<Mass> = truth.actions.iter().filter(|action| action.act == "drop").map(|action| action.grams).collect();
    let told = || format!("{drops:#?}\n{}\n{}", web.get("/v1/drops").body, daemon.said());
    assert_eq!(drops.len(), PIECES, "{}", told());
    for (mass, truth) in drops.iter().map(|drop| drop.1).zip(&dropped) {
        // One and a half divisions, in halves.
        assert!((mass - *truth).abs() * 2 <= step * 3, "{mass:?} for {truth:?}: {}", told());
    }
    assert!(drops.iter().all(|drop| drop.2 == session && drop.3 == Some(1)), "{}", told());

    let (view, figures) = forms::from_json(&web);
    let bin = view.bins.iter().find(|bin| bin.number == 1).unwrap();
    let booked = Mass::parse(&bin.mass.grams, Unit::Gram).unwrap();
    if *manner == Manner::Heap {
        let off = (booked - truth.bins[0].grams).abs();
        assert!(off <= step, "{off:?} in all: {}", told());
        let learned = web.json("/v1/bins/1")["tare_learned"] == true;
        assert!(learned, "the bin was set down before the first piece");
    }
    assert_eq!(booked, drops.iter().map(|drop| drop.1).sum::<Mass>() + crumbs(&web.json("/v1/drops?limit=100")));
    assert_eq!((bin.drops, view.unassigned.drops), (PIECES, 0));
    assert_eq!(forms::from_csv(&web), figures);
    assert_eq!(forms::from_page(&web), figures);
    assert_eq!(forms::from_terminal("--at", &scratch.socket()), figures);
    assert_eq!(figures.bins.len(), view.bins.len());
    assert_eq!(figures.bins[0].len(), 8, "both buyers: {figures:?}");

    let ended = &web.json("/v1/sessions")[0];
    assert!(ended["ended"].is_object() && ended["drops"] == PIECES, "{ended}");
    assert!(daemon.stop().0.success());
    assert_eq!(forms::from_terminal("--store", &scratch.store()), figures, "with no daemon");
}

/// Confirmed drops in the order in which they landed: id, mass, session, bin.
fn drops(list: &Value) -> Vec<(u64, Mass, Option<u64>, Option<u64>)> {
    let confirmed = list.as_array().unwrap().iter().filter(|drop| drop["origin"] == "drop" && drop["state"] == "confirmed");
    let read = |drop: &Value| (drop["id"].as_u64().unwrap(), grams(drop), drop["session"].as_u64(), drop["bin"].as_u64());
    let mut drops: Vec<_> = confirmed.map(read).collect();
    drops.sort_by_key(|drop| drop.0);
    drops
}

fn crumbs(list: &Value) -> Mass {
    list.as_array().unwrap().iter().filter(|drop| drop["origin"] == "crumbs").map(grams).sum()
}

fn grams(drop: &Value) -> Mass {
    Mass::parse(drop["mass"]["grams"].as_str().unwrap(), Unit::Gram).unwrap()
}

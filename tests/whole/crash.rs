//! kill -9 at random moments, fifty times over one growing store.
//!
//! Acknowledged is what a page was shown and what a write was answered. A scale goes on all the while, each piece with
//! a mass of its own, so that a piece that was booked twice would be seen.

use super::bench::Hand;
use super::daemon::{Daemon, bismar};
use super::scratch::{PATIENCE, Scratch};
use super::web::Web;
use bismar::facts::books::{EntryState, Origin};
use bismar::facts::{Books, EntryId};
use bismar::query::{self, DropQuestion, YardRunQuestion};
use bismar::render::json::{DropView, YardRunView};
use bismar::store::{RealDisk, books_at, fold_roll};
use jiff::tz::TimeZone;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Receiver;
use std::time::{Duration, Instant};

const ROUNDS: u64 = 50;
const CLERKS: u32 = 3;

/// A write, its key and what it was answered.
struct Write {
    key: String,
    path: &'static str,
    body: Value,
    receipt: Option<(u64, u64)>,
}

/// What was acknowledged so far.
#[derive(Default)]
struct Witness {
    writes: Vec<Write>,
    /// By its id, each drop as it was last shown: state, grams, bin.
    shown: BTreeMap<u64, (String, String, Option<u64>)>,
    seq: u64,
}

impl Witness {
    fn see(&mut self, bench: &Value) {
        self.seq = self.seq.max(bench["live"]["seq"].as_u64().unwrap());
        for drop in bench["last_drops"].as_array().unwrap() {
            let word = |value: &Value| value.as_str().unwrap().to_owned();
            let state = (word(&drop["state"]), word(&drop["mass"]["grams"]), drop["bin"].as_u64());
            self.shown.insert(drop["id"].as_u64().unwrap(), state);
        }
    }

    /// Until the page shows a drop from the scale that it did not show before.
    fn wait_for_drop(&mut self, live: &Receiver<Value>) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            let bench = live.recv_timeout(PATIENCE).expect("the stream goes on");
            let weighed = |drop: &&Value| drop["origin"] == "drop";
            let new = |drop: &Value| !self.shown.contains_key(&drop["id"].as_u64().unwrap());
            let found = bench["last_drops"].as_array().unwrap().iter().filter(weighed).any(new);
            self.see(&bench);
            if found {
                return;
            }
        }
        panic!("no drop was ever shown");
    }

    /// Holds the books that were folded after a kill against what had been acknowledged.
    fn check(&self, books: &Books, clerks: &[Vec<Write>]) {
        assert!(books.seq >= self.seq, "events up to {} were shown, {} are there", self.seq, books.seq);
        for writes in clerks {
            let mut last = 0;
            for write in writes {
                let Some((id, seq)) = write.receipt else { continue };
                assert_eq!(books.caused_by(&write.key), Some((id, seq)), "{}", write.key);
                assert!(id > last && seq >= id, "in the order in which they were answered");
                last = seq;
            }
        }
        for (id, (state, grams, bin)) in &self.shown {
            let entry = books.entries.get(&EntryId(*id)).unwrap_or_else(|| panic!("drop {id} of {grams} g is gone"));
            if state == "confirmed" {
                let number = entry.bin.and_then(|bin| books.bins.get(&bin)).map(|bin| u64::from(bin.number));
                let found = (entry.state, entry.mass.exact_grams(), number);
                assert_eq!(found, (EntryState::Confirmed, grams.clone(), *bin), "drop {id}");
            }
        }
    }
}

#[test]
fn what_was_acknowledged_is_there_once_after_every_kill() {
    let seed = rand::random::<u64>();
    println!("seed {seed}");
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let scratch = Scratch::new("manner = \"pan\"\ndivision = \"1 g\"");
    let hand = Hand::new(&scratch.scale(), 80);
    let over = AtomicBool::new(false);
    let mut witness = Witness::default();
    std::thread::scope(|scope| {
        let pieces = scope.spawn(|| weigh(&hand, &over));
        let rounds = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            for round in 0..ROUNDS {
                crash(&scratch, &mut rng, round, &mut witness);
            }
        }));
        over.store(true, Ordering::Relaxed);
        let pieces = pieces.join().unwrap();
        rounds.unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        finish(&scratch, &witness, &pieces);
    });
}

/// Pieces of 100, 103, 106 … grams, one by one; gives all that were put on.
fn weigh(hand: &Hand, over: &AtomicBool) -> Vec<String> {
    let mut pieces = Vec::new();
    for grams in (100..).step_by(3) {
        if over.load(Ordering::Relaxed) {
            break;
        }
        hand.put(grams);
        pieces.push(grams.to_string());
        std::thread::sleep(Duration::from_millis(900));
        hand.lift();
        std::thread::sleep(Duration::from_millis(500));
    }
    pieces
}

fn crash(scratch: &Scratch, rng: &mut ChaCha8Rng, round: u64, witness: &mut Witness) {
    if round % 5 == 4 {
        // In the middle of starting.
        let mut child = bismar().arg("serve").arg("--config").arg(scratch.config()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(rng.random_range(0..150)));
        child.kill().unwrap();
        child.wait().unwrap();
    } else {
        let daemon = Daemon::start(scratch);
        let web = daemon.web();
        repeat(&web, &mut witness.writes, rng);
        if round == 0 {
            web.done("POST", "/v1/bins", &json!({ "number": 1 }));
            web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 1 }));
        }
        same_as_fold(&web, &scratch.store());
        let live = web.live("/v1/benches/1/live");
        // A piece takes two rests of the scale to be booked; writes only need a daemon.
        if round.is_multiple_of(4) {
            witness.wait_for_drop(&live);
        }
        std::thread::sleep(Duration::from_millis(rng.random_range(0..400)));
        let clerks: Vec<Vec<Write>> = std::thread::scope(|scope| {
            // Together they keep the disk busy without a pause, so that a kill finds it in the middle of something.
            let clerks: Vec<_> = (0..CLERKS)
                .map(|clerk| {
                    scope.spawn({
                        let web = &web;
                        move || keep_writing(web, round, clerk)
                    })
                })
                .collect();
            std::thread::sleep(Duration::from_millis(rng.random_range(10..90)));
            daemon.kill();
            clerks.into_iter().map(|clerk| clerk.join().unwrap()).collect()
        });
        // The stream ends with the daemon, and what it showed until then was acknowledged.
        live.iter().for_each(|bench| witness.see(&bench));
        let (books, _) = fold_roll(&scratch.store(), &RealDisk).unwrap();
        witness.check(&books, &clerks);
        witness.writes.extend(clerks.into_iter().flatten());
    }
}

/// One write after the other, each with a key of its own, until the daemon is gone.
fn keep_writing(web: &Web, round: u64, clerk: u32) -> Vec<Write> {
    let mut writes = Vec::new();
    for count in 0.. {
        let key = format!("round-{round}-{clerk}-{count}");
        let (path, body) = if count % 2 == 0 {
            ("/v1/grades", json!({ "name": format!("grade {round} {clerk} {count}") }))
        } else {
            let source = json!({ "from": "label" });
            ("/v1/benches/1/drops", json!({ "mass": { "grams": "7" }, "source": source, "reason": "off the label" }))
        };
        let answer = web.try_write("POST", path, &[("Idempotency-Key", &key)], &body);
        let receipt = answer.ok().filter(|answer| answer.status == 201).map(|answer| receipt(&answer.json()));
        let gone = receipt.is_none();
        writes.push(Write { key, path, body, receipt });
        if gone {
            break;
        }
    }
    writes
}

fn receipt(json: &Value) -> (u64, u64) {
    (json["id"].as_u64().unwrap(), json["seq"].as_u64().unwrap())
}

/// Whoever got no answer asks again with the same key; whoever got one and asks again gets the same one.
fn repeat(web: &Web, writes: &mut [Write], rng: &mut ChaCha8Rng) {
    let again = |write: &Write| {
        let answer = web.write_with("POST", write.path, &[("Idempotency-Key", &write.key)], &write.body);
        assert!([200, 201].contains(&answer.status), "{}: {answer:?}", write.key);
        (answer.status, receipt(&answer.json()))
    };
    let lately = writes.len().saturating_sub(1000);
    let mut answered = None;
    for write in &mut writes[lately..] {
        match write.receipt {
            None => write.receipt = Some(again(write).1),
            Some(_) if answered.is_none() || rng.random_bool(0.1) => answered = Some(&*write),
            Some(_) => {}
        }
    }
    if let Some(write) = answered {
        assert_eq!(again(write), (200, write.receipt.unwrap()), "{}", write.key);
    }
}

/// The daemon answers from the same books as the roll gives.
fn same_as_fold(web: &Web, store: &Path) {
    let seq = || web.json("/v1/benches/1")["live"]["seq"].as_u64().unwrap();
    let (report, drops, at) = loop {
        let before = seq();
        let (report, drops) = (web.json("/v1/reports/yard-run.json"), web.json("/v1/drops?limit=10000"));
        if seq() == before {
            break (report, drops, before);
        }
    };
    let books = books_at(store, &RealDisk, at).unwrap();
    let zone = TimeZone::get("Europe/Lisbon").unwrap();
    let today = report["day"].as_str().unwrap().parse().unwrap();
    let question = YardRunQuestion { today, as_of: None, zone, stale_after: 14 };
    let folded = YardRunView::from(&query::yard_run(&books, &question));
    assert_eq!(serde_json::to_value(folded).unwrap(), report);
    let lines = query::drops(&books, &DropQuestion { limit: 10_000, ..DropQuestion::default() });
    let views: Vec<DropView> = lines.iter().map(DropView::from).collect();
    assert_eq!(serde_json::to_value(views).unwrap(), drops);
}

fn finish(scratch: &Scratch, witness: &Witness, pieces: &[String]) {
    let daemon = Daemon::start(scratch);
    same_as_fold(&daemon.web(), &scratch.store());
    assert!(daemon.stop().0.success());

    let mut caused: BTreeMap<String, u32> = BTreeMap::new();
    for file in std::fs::read_dir(scratch.store().join("roll")).unwrap() {
        for line in std::fs::read_to_string(file.unwrap().path()).unwrap().lines().filter(|line| line.starts_with('{')) {
            let event: Value = serde_json::from_str(line.split('\t').next().unwrap()).unwrap();
            if let Some(key) = event["cause"].as_str() {
                *caused.entry(key.to_owned()).or_default() += 1;
            }
        }
    }
    for write in &witness.writes {
        // A write of the last round without an answer may have been lost together with it.
        let times = caused.get(&write.key).copied().unwrap_or(0);
        assert!(times == 1 || times == 0 && write.receipt.is_none(), "{}: {times} times", write.key);
    }

    let (books, _) = fold_roll(&scratch.store(), &RealDisk).unwrap();
    let mut booked: BTreeMap<String, u32> = BTreeMap::new();
    for entry in books.entries.values() {
        if matches!(entry.origin, Origin::Drop(_)) && entry.state != EntryState::Cancelled {
            *booked.entry(entry.mass.exact_grams()).or_default() += 1;
        }
    }
    for (grams, times) in &booked {
        assert!(pieces.contains(grams), "nobody put {grams} g on");
        assert_eq!(*times, 1, "the piece of {grams} g");
    }
    let seen = witness.shown.len();
    println!("{} writes, {} drops booked, {seen} shown, {} events", witness.writes.len(), booked.len(), books.seq);
    assert!(witness.writes.len() > 200 && booked.len() > 5, "the test must have something to lose");
}

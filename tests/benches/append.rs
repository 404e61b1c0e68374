//! What an acknowledged append costs above the bare append and `fdatasync` of this disk, and how long opening takes.
//!
//! `cargo bench --bench append [-- EVENTS]`; with `--features sqlite-bench` SQLite is measured beside it. The files are
//! made in the current directory's `target`, so that it is a real disk that is measured.

#[path = "../support/events.rs"]
mod events;

use bismar::facts::Event;
use bismar::store::{RealDisk, Setup, Store};
use events::Life;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

const APPENDS: usize = 2000;

fn main() {
    // cargo passes --bench; a number is how many events are opened.
    let count = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(100_000);
    std::fs::create_dir_all("target").expect("a target directory");
    let dir = tempfile::tempdir_in("target").expect("a directory to work in");
    appends(dir.path());
    openings(&dir.path().join("long"), count);
}

fn open(dir: &Path, index: bool) -> Store {
    let setup = Setup { index, ..Setup::default() };
    Store::open_with(dir, Arc::new(RealDisk), &setup, &mut |_| {}).expect("an open store").store
}

/// One event each, in turn, so that what else the machine does falls on all alike.
fn appends(dir: &Path) {
    let mut whole = open(&dir.join("whole"), true);
    let mut roll = open(&dir.join("roll-only"), false);
    let mut bare = std::fs::OpenOptions::new().append(true).create(true).open(dir.join("bare")).expect("a file");
    #[cfg(feature = "sqlite-bench")]
    let sqlite = sqlite(dir);
    let mut times: [Vec<Duration>; 4] = Default::default();
    let mut lives = [&whole, &roll].map(|store| Life::new(store.store_id(), store.books().clone(), 1).batches(APPENDS).concat());
    for (a, b) in std::mem::take(&mut lives[0]).into_iter().zip(std::mem::take(&mut lives[1])) {
        let mut text = serde_json::to_vec(&a).expect("JSON");
        text.push(b'\n');
        times[0].push(time(|| {
            bare.write_all(&text).and_then(|()| bare.sync_data()).expect("a write");
        }));
        times[1].push(time(|| roll.append(&[b]).expect("an append")));
        #[cfg(feature = "sqlite-bench")]
        times[3].push(time(|| {
            sqlite.execute("insert into events values (?1, ?2)", (a.seq as i64, &text)).expect("an insert");
        }));
        times[2].push(time(|| whole.append(&[a]).expect("an append")));
    }
    println!("one durable event, {APPENDS} times      median       p99");
    let names = ["bare append + fdatasync", "roll alone", "roll, books and index", "SQLite, WAL, synchronous=FULL"];
    for (name, times) in names.iter().zip(&mut times).filter(|(_, times)| !times.is_empty()) {
        times.sort_unstable();
        let at = |percent: usize| times[(times.len() - 1) * percent / 100].as_secs_f64() * 1e6;
        println!("{name:32} {:8.1} us {:7.1} us", at(50), at(99));
    }
}

#[cfg(feature = "sqlite-bench")]
fn sqlite(dir: &Path) -> rusqlite::Connection {
    let connection = rusqlite::Connection::open(dir.join("sqlite")).expect("a database");
    let set_up = "pragma journal_mode=wal; pragma synchronous=full; create table events (seq integer primary key, line blob)";
    connection.execute_batch(set_up).expect("a table");
    connection
}

fn openings(dir: &Path, count: usize) {
    let store = open(dir, true);
    let batches = Life::new(store.store_id(), store.books().clone(), 2).batches(count);
    drop(store);
    write_roll(dir, &batches);
    let bytes: u64 =
        std::fs::read_dir(dir.join("roll")).expect("segments").map(|file| file.unwrap().metadata().unwrap().len()).sum();
    println!("\n{} events, {:.1} MB of roll", batches.concat().len(), bytes as f64 / 1e6);
    let show = |name: &str, took: Duration| println!("{name:32} {:8.3} s", took.as_secs_f64());
    let mut store = None;
    show("open, the index made anew", time(|| store = Some(open(dir, true))));
    show("barrier", time(|| store.as_mut().expect("a store").barrier()));
    show("close", time(|| store = None));
    show("open, roll and index compared", time(|| store = Some(open(dir, true))));
    drop(store.take());
    show("open, no index", time(|| store = Some(open(dir, false))));
    drop(store.take());
    show("fold of the roll", time(|| _ = bismar::store::fold_roll(dir, &RealDisk).expect("books")));
}

/// Writes the lines without waiting for the disk after each: the opening is what is measured.
fn write_roll(dir: &Path, batches: &[Vec<Event>]) {
    use bismar::store::line::{LineHash, encode};
    let mut prev = LineHash::genesis(batches[0][0].store);
    let mut text: Vec<u8> = Vec::new();
    let mut first = 1;
    for batch in batches {
        for (k, event) in (1..).zip(batch) {
            let line = encode(event, prev, (k, batch.len() as u32)).expect("a line");
            prev = LineHash::of(&line);
            text.extend(line);
            text.push(b'\n');
        }
        if text.len() >= 8 << 20 {
            std::fs::write(dir.join(format!("roll/{first:012}.roll")), &text).expect("a segment");
            first = batch.last().map_or(first, |event| event.seq + 1);
            text.clear();
        }
    }
    std::fs::write(dir.join(format!("roll/{first:012}.roll")), &text).expect("a segment");
}

fn time(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

//! The scoreboard: made-up tapes of every kind, rate and division against their truth, beside two floors.
//!
//! `cargo test --test scoreboard -- --nocapture` prints the tables; `BISMAR_SCORE=all` takes the larger set, and
//! `BISMAR_SCORE=N` so many seeds of each kind. The simulator is this program's own: tests/tapes.rs has tapes of
//! another.

#[path = "support/deeds.rs"]
mod deeds;
#[path = "support/labelled.rs"]
mod labelled;
#[path = "support/score.rs"]
mod score;

use bismar::sim::Kind;
use labelled::Labelled;
use score::{Drops, Score, by_flag, by_window};
use std::sync::atomic::{AtomicUsize, Ordering};

/// One tape's result.
struct Row {
    kind: Kind,
    seed: u64,
    ours: Score,
    flag: Score,
    window: Score,
    drops: Drops,
}

impl Row {
    fn of(kind: Kind, seed: u64) -> Row {
        let tape = Labelled::of(kind, seed);
        let score = |found: Vec<labelled::Found>| Score::of(&tape.truth, &found);
        Row {
            kind,
            seed,
            ours: score(tape.steps()),
            flag: score(by_flag(&tape)),
            window: score(by_window(&tape)),
            drops: Drops::of(&tape.truth, &tape.work()),
        }
    }

    /// The command that writes this tape.
    fn command(&self) -> String {
        let (kind, seed) = (self.kind.name(), self.seed);
        format!("bismar simulate --kind {kind} --seed {seed} --once --tape {kind}-{seed}.tape --truth {kind}-{seed}.json")
    }
}

/// All tapes of the set, made on as many threads as there are cores.
fn rows(seeds: u64) -> Vec<Row> {
    let jobs: Vec<(Kind, u64)> = Kind::ALL.into_iter().flat_map(|kind| (0..seeds).map(move |seed| (kind, seed))).collect();
    let next = AtomicUsize::new(0);
    let work = || {
        let mut rows = Vec::new();
        while let Some((kind, seed)) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            rows.push(Row::of(*kind, *seed));
        }
        rows
    };
    let mut rows: Vec<Row> = std::thread::scope(|scope| {
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        workers.into_iter().flat_map(|worker| worker.join().expect("no tape makes it panic")).collect()
    });
    rows.sort_by_key(|row| (row.kind, row.seed));
    rows
}

#[test]
fn the_scoreboard() {
    let seeds = match std::env::var("BISMAR_SCORE").as_deref() {
        Ok("all") => 36,
        Ok(number) => number.parse().expect("BISMAR_SCORE is \"all\" or a number of seeds"),
        Err(_) => 3,
    };
    let rows = rows(seeds);
    println!("steps, by kind of tape ({seeds} tapes each); delays in seconds, errors in divisions");
    println!("{:12}|{:^44}|{:^24}|{:^24}", "", "bismar", "the scale's flag", "one second");
    println!(
        "{:12}|{:>6}{:>7}{:>7}{:>8}{:>8}{:>8}|{:>8}{:>8}{:>8}|{:>8}{:>8}{:>8}",
        "kind", "rests", "missed", "spur.", "worst", "median", "95 %", "missed", "spur.", "median", "missed", "spur.", "median"
    );
    for kind in Kind::ALL {
        let (mut ours, mut flag, mut window) = (Score::default(), Score::default(), Score::default());
        for row in rows.iter().filter(|row| row.kind == kind) {
            ours.add(&row.ours);
            flag.add(&row.flag);
            window.add(&row.window);
        }
        println!(
            "{:12}|{:>6}{:>7}{:>7}{:>8.2}{:>8.2}{:>8.2}|{:>8}{:>8}{:>8.2}|{:>8}{:>8}{:>8.2}",
            kind.name(),
            ours.rests,
            ours.missed,
            ours.spurious,
            ours.worst,
            ours.delay(0.5),
            ours.delay(0.95),
            flag.missed,
            flag.spurious,
            flag.delay(0.5),
            window.missed,
            window.spurious,
            window.delay(0.5)
        );
    }
    println!("drops, by kind of tape; books in shares of what is allowed");
    println!(
        "{:12}|{:>6}{:>8}{:>8}{:>8}{:>7}{:>8}{:>8}{:>8}{:>8}",
        "kind", "drops", "missed", "mass", "bin", "extra", "doubted", "unsure", "known", "books"
    );
    for kind in Kind::ALL {
        let mut drops = Drops::default();
        rows.iter().filter(|row| row.kind == kind).for_each(|row| drops.add(&row.drops));
        println!(
            "{:12}|{:>6}{:>8}{:>8}{:>8}{:>7}{:>8}{:>8}{:>8}{:>8.2}",
            kind.name(),
            drops.expected,
            drops.missed,
            drops.wrong_mass,
            drops.wrong_bin,
            drops.extra,
            drops.doubted,
            drops.unsure,
            drops.known,
            drops.books
        );
    }
    for row in rows.iter().filter(|row| row.ours.faults() + row.drops.faults() > 0 || row.drops.books > 1.0) {
        let (steps, drops) = (&row.ours, &row.drops);
        println!(
            "{} {}: steps missed {} spurious {}, drops missed {} mass {} bin {} extra {} books {:.2}: {}",
            row.kind.name(),
            row.seed,
            steps.missed,
            steps.spurious,
            drops.missed,
            drops.wrong_mass,
            drops.wrong_bin,
            drops.extra,
            drops.books,
            row.command()
        );
    }
}

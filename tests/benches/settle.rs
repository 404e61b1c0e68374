//! Readings a second through settling, and through settling, attribution and the books, on one core; and a whole year of
//! a bench, fed reading by reading: `cargo bench --bench settle [-- HOURS]`, where 2920 hours are a year of eight hours
//! a day.

use bismar::command::{BenchSetup, Core, Input, LinkNews};
use bismar::dialect::{Flags, Kind, ReadUnit, Reading, Stability};
use bismar::facts::{BenchId, Books, StoreId};
use bismar::measure::{BootId, Displayed, Mass, Moment, Stamp, Unit};
use bismar::settle::{Finding, Manner, Settle, Setup};
use std::time::Instant;

const BENCH: BenchId = BenchId(1);
const SETUP: Setup = Setup { division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap };
/// Eight hours a day.
const YEAR: u64 = 8 * 365;

/// A piece every seven seconds, that rings for half a second; `shaking` divisions of a compressor all the time.
fn shown(second: f64, shaking: f64) -> i64 {
    let pieces = (second / 7.0).floor();
    let since = second - pieces * 7.0;
    let ringing = -40.0 * (-8.0 * since).exp() * (30.0 * since).cos();
    let shaken = shaking * (second * 107.0).sin() + 0.3 * (second * 977.0).sin();
    (1200.0 + pieces % 500.0 * 40.0 + ringing + shaken).round() as i64
}

fn hour(rate: u64, shaking: f64) -> Vec<Reading> {
    let reading = |count| Reading {
        value: Some(Displayed { count, exponent: 0 }),
        unit: ReadUnit::Stated(Unit::Gram),
        kind: Kind::Gross,
        stability: Stability::Unknown,
        flags: Flags::default(),
        division: None,
        news: None,
    };
    (0..3600 * rate).map(|index| reading(shown(index as f64 / rate as f64, shaking))).collect()
}

/// Every reading of so many hours, each in its own time; seconds, readings and steps.
fn settle(hour: &[Reading], rate: u64, hours: u64) -> (f64, u64, u64) {
    let mut settle = Settle::new(SETUP);
    let (mut number, mut steps) = (0, 0);
    let began = Instant::now();
    for _ in 0..hours {
        for reading in hour {
            settle.reading(Moment(number * 1_000_000_000 / rate), reading, &mut |finding| {
                steps += u64::from(matches!(finding, Finding::Stepped(_)));
            });
            number += 1;
        }
    }
    (began.elapsed().as_secs_f64(), number, steps)
}

/// The same through the whole core in memory: what is booked counts as stored at once.
fn book(hour: &[Reading], rate: u64) -> (f64, usize) {
    let stamp = |at| Stamp { boot: BootId(0), mono: at, wall: jiff::Timestamp::UNIX_EPOCH, trusted: false };
    let setup = BenchSetup { id: BENCH, division: SETUP.division, unit: SETUP.unit, manner: SETUP.manner, capacity: None };
    let (mut core, _) = Core::resume(Books::default(), StoreId(7), &[setup], stamp(Moment(0)), "bench");
    core.step(Input::Link(BENCH, LinkNews::Up { scale: None }), stamp(Moment(0)));
    let began = Instant::now();
    for (number, reading) in (0..).zip(hour) {
        let at = stamp(Moment(number * 1_000_000_000 / rate));
        if !core.step(Input::Reading(BENCH, *reading), at).is_empty() {
            core.step(Input::Durable(core.books().seq), at);
        }
    }
    (began.elapsed().as_secs_f64(), core.books().entries.len())
}

fn main() {
    // cargo passes --bench; a number is how many hours of readings are fed for the year's figure.
    let hours = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(YEAR);
    for (rate, shaking) in [(10, 0.0), (80, 0.0), (10, 8.0), (80, 8.0)] {
        let readings = hour(rate, shaking);
        let bench = if shaking > 0.0 { "shaken" } else { "calm" };
        let (seconds, count, steps) = settle(&readings, rate, 1);
        let alone = count as f64 / seconds;
        let (seconds, entries) = book(&readings, rate);
        let booked = count as f64 / seconds;
        println!(
            "{bench:7} {rate:3} a second: settling {alone:10.0} readings a second ({steps} steps an hour), with attribution and books {booked:10.0} ({entries} entries)"
        );
    }
    let (seconds, count, steps) = settle(&hour(10, 0.0), 10, hours);
    println!(
        "{hours} hours at 10 a second: {count} readings and {steps} steps settled in {seconds:.1} s (goal for a year: seconds)"
    );
}

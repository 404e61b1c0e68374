//! Readings a second through settling, on one core, and what a year of a bench would take: `cargo bench --bench settle`.

use bismar::dialect::{Flags, Kind, ReadUnit, Reading, Stability};
use bismar::measure::{Displayed, Mass, Moment, Unit};
use bismar::settle::{Manner, Settle, Setup};
use std::time::Instant;

/// A piece every seven seconds, that rings for half a second; `shaking` divisions of a compressor all the time.
fn shown(second: f64, shaking: f64) -> i64 {
    let pieces = (second / 7.0).floor();
    let since = second - pieces * 7.0;
    let ringing = -40.0 * (-8.0 * since).exp() * (30.0 * since).cos();
    let shaken = shaking * (second * 107.0).sin() + 0.3 * (second * 977.0).sin();
    (1200.0 + pieces % 500.0 * 40.0 + ringing + shaken).round() as i64
}

fn hour(rate: f64, shaking: f64) -> (f64, u32) {
    let reading = |count| Reading {
        value: Some(Displayed { count, exponent: 0 }),
        unit: ReadUnit::Stated(Unit::Gram),
        kind: Kind::Gross,
        stability: Stability::Unknown,
        flags: Flags::default(),
        division: None,
        news: None,
    };
    let readings: Vec<Reading> = (0..(3600.0 * rate) as u64).map(|index| reading(shown(index as f64 / rate, shaking))).collect();
    let mut settle = Settle::new(Setup { division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap });
    let mut found = 0;
    let began = Instant::now();
    for (index, reading) in readings.iter().enumerate() {
        settle.reading(Moment((index as f64 / rate * 1e9) as u64), reading, &mut |_| found += 1);
    }
    (began.elapsed().as_secs_f64(), found)
}

fn main() {
    for (rate, shaking) in [(10.0, 0.0), (80.0, 0.0), (10.0, 8.0), (80.0, 8.0)] {
        let (seconds, found) = hour(rate, shaking);
        let bench = if shaking > 0.0 { "shaken" } else { "calm" };
        println!(
            "{bench:7} {rate:3} a second: {:10.0} readings a second, {found} findings an hour; a year of 8 hours a day: {:.1} s (goal: seconds, at 10 a second)",
            3600.0 * rate / seconds,
            seconds * 8.0 * 365.0
        );
    }
}

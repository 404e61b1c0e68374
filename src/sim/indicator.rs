//! The indicator: filter, zero, tare, rounding to the division, its word about standing still.

use super::platform::SAMPLES;
use super::setup::{Filter, Flag, Setup};
use super::shaking::Shaking;
use crate::dialect::{Flags, Kind, ReadUnit, Reading, Stability};
use crate::measure::{Displayed, Mass, Unit};
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::collections::VecDeque;

/// Grams, for the inside of the physics only.
pub fn grams(mass: Mass) -> f64 {
    mass.femtograms() as f64 / Mass::grams(1).femtograms() as f64
}

/// Works on samples of the load cell, 80 a second.
pub struct Indicator {
    setup: Setup,
    /// The step of the display and its unit now: a key changes them.
    shown: (Displayed, Unit),
    /// Grams of one division.
    division: f64,
    shaking: Shaking,
    capacity: f64,
    window: VecDeque<f64>,
    smooth: Option<f64>,
    zero: f64,
    /// Divisions; a tare key takes what is displayed.
    tare: Option<i64>,
    /// Newest last; long enough for the slowest flag.
    recent: VecDeque<f64>,
    steady_for: u64,
}

impl Indicator {
    /// Switched on with so many grams on the platform: they become its zero.
    pub fn new(setup: &Setup, on_it: f64) -> Indicator {
        Indicator {
            division: setup.step().map_or(1.0, grams),
            capacity: grams(setup.capacity),
            shown: (setup.division, setup.unit),
            shaking: Shaking::new(setup.shake, setup.shake_hz),
            setup: setup.clone(),
            window: VecDeque::new(),
            smooth: None,
            zero: on_it,
            tare: None,
            recent: VecDeque::new(),
            steady_for: 0,
        }
    }

    /// Takes one sample, in grams.
    pub fn take(&mut self, deflection: f64, rng: &mut ChaCha8Rng) {
        let noise: f64 = StandardNormal.sample(rng);
        let value = deflection + noise * self.setup.noise * self.division;
        let smooth = match self.setup.filter {
            Filter::None => value,
            Filter::Average { samples } => {
                self.window.push_back(value);
                if self.window.len() > samples {
                    self.window.pop_front();
                }
                self.window.iter().sum::<f64>() / self.window.len() as f64
            }
            Filter::Exponential { samples } => {
                let before = self.smooth.unwrap_or(value);
                before + (value - before) / samples
            }
        };
        self.smooth = Some(smooth);
        self.shaking.go(rng);
        self.watch(smooth + self.shaking.divisions() * self.division);
        self.follow_zero();
    }

    /// The zero key. It works near zero only (4 % of capacity, as is usual).
    /// Returns whether it did.
    pub fn press_zero(&mut self) -> bool {
        let gross = self.gross();
        let works = self.steady() && gross.abs() <= self.capacity * 0.04;
        if works {
            self.zero += gross;
            self.tare = None;
        }
        works
    }

    /// The tare key: what is displayed becomes the container's weight; on an empty platform it ends net weighing.
    /// Returns whether it did anything: not while the load moves.
    pub fn press_tare(&mut self) -> bool {
        let steady = self.steady();
        if steady {
            let count = self.count();
            self.tare = (count > 0).then_some(count);
        }
        steady
    }

    /// The unit key: kilograms, pounds and kilograms again, each with its own division.
    pub fn press_unit(&mut self) -> bool {
        let first = (self.setup.division, self.setup.unit);
        let tared = self.tare.map(|tare| tare as f64 * self.division);
        self.shown = if self.shown == first { other_face(first) } else { first };
        self.division = Mass::of(self.shown.0, self.shown.1).map_or(1.0, grams);
        self.tare = tared.map(|tared| (tared / self.division).round() as i64);
        true
    }

    /// What the display shows now.
    pub fn reading(&self, rng: &mut ChaCha8Rng) -> Reading {
        let gross = self.gross();
        let kind = if self.tare.is_some() { Kind::Net } else { Kind::Gross };
        let over = gross > self.capacity + 9.0 * self.division;
        let under = gross < -f64::from(self.setup.underload) * self.division;
        if over || under {
            let flags = Flags { overload: over, underload: under, ..Flags::default() };
            return Reading { stability: Stability::Motion, kind, ..Reading::without_weight(flags) };
        }
        let divisions = self.count() - self.tare.unwrap_or(0);
        let (division, unit) = self.shown;
        let value = Displayed { count: divisions * division.count, exponent: division.exponent };
        Reading {
            value: Some(value),
            unit: ReadUnit::Stated(unit),
            kind,
            stability: self.word(rng),
            flags: Flags { zero: gross.abs() <= 0.25 * self.division, ..Flags::default() },
            division: Some(division),
            news: None,
        }
    }

    /// The honest verdict, whatever the scale says.
    pub fn steady(&self) -> bool {
        self.spread(SAMPLES / 2) <= 1.0
    }

    fn word(&self, rng: &mut ChaCha8Rng) -> Stability {
        let stable = match self.setup.flag {
            Flag::Honest => self.steady(),
            Flag::Early => self.spread(SAMPLES / 10) <= 3.0,
            Flag::Late => self.steady_for > SAMPLES + SAMPLES / 2,
            Flag::Lying => rng.random_bool(0.6),
            Flag::Absent => return Stability::Unknown,
        };
        if stable { Stability::Stable } else { Stability::Motion }
    }

    fn gross(&self) -> f64 {
        self.smooth.unwrap_or(0.0) + self.shaking.divisions() * self.division - self.zero
    }

    /// Whole divisions displayed before tare.
    fn count(&self) -> i64 {
        (self.gross() / self.division).round() as i64
    }

    fn watch(&mut self, smooth: f64) {
        self.recent.push_back(smooth);
        if self.recent.len() as u64 > SAMPLES {
            self.recent.pop_front();
        }
        self.steady_for = if self.steady() { self.steady_for + 1 } else { 0 };
    }

    /// How far the last so many samples lie apart, in divisions; without limit before there are as many.
    fn spread(&self, samples: u64) -> f64 {
        let samples = samples as usize;
        if self.recent.len() < samples {
            return f64::INFINITY;
        }
        let last = self.recent.iter().rev().take(samples);
        let (low, high) = last.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| (low.min(value), high.max(value)));
        (high - low) / self.division
    }

    /// An empty platform that stands still within half a division of zero is taken to be empty.
    fn follow_zero(&mut self) {
        let gross = self.gross();
        if self.tare.is_none() && gross.abs() < 0.5 * self.division && self.steady() {
            let most = self.setup.zero_tracking * self.division / SAMPLES as f64;
            self.zero += gross.clamp(-most, most);
        }
    }
}

/// The face that the unit key leads to: the nearest usual division of the other system.
fn other_face(first: (Displayed, Unit)) -> (Displayed, Unit) {
    let (division, unit) = first;
    if unit != Unit::Kilogram {
        return (Displayed { count: 1, exponent: -3 }, Unit::Kilogram);
    }
    let (count, shift) = match division.count {
        ..=1 => (2, 0),
        2 => (5, 0),
        _ => (1, 1),
    };
    (Displayed { count, exponent: division.exponent + shift }, Unit::Pound)
}

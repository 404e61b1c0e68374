//! What the load cell adds to the load: creep under load and the slow walk of its zero with temperature.

use super::platform::SAMPLES;
use super::setup::Setup;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Seconds in which most of the creep comes.
const CREEP_TIME: f64 = 300.0;
/// Seconds in which the temperature's pace may turn.
const WEATHER: f64 = 600.0;

pub struct Cell {
    share: f64,
    crept: f64,
    /// Grams in a sample, at most.
    most: f64,
    /// Share of that, about −1 to 1.
    pace: f64,
    walked: f64,
}

impl Cell {
    /// `division` in grams.
    pub fn new(setup: &Setup, division: f64) -> Cell {
        let most = setup.drift * division / (3600 * SAMPLES) as f64;
        Cell { share: setup.creep, crept: 0.0, most, pace: 0.5, walked: 0.0 }
    }

    /// Moves on by one sample under a load of so many grams, and returns what comes to it, in grams.
    pub fn sample(&mut self, load: f64, rng: &mut ChaCha8Rng) -> f64 {
        if self.share > 0.0 {
            self.crept += (load * self.share - self.crept) / (CREEP_TIME * SAMPLES as f64);
        }
        if self.most > 0.0 {
            let samples = WEATHER * SAMPLES as f64;
            let push: f64 = StandardNormal.sample(rng);
            self.pace = (self.pace * (1.0 - 1.0 / samples) + push * (0.7 / samples).sqrt()).clamp(-1.0, 1.0);
            self.walked += self.pace * self.most;
        }
        self.crept + self.walked
    }
}

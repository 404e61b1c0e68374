//! The platform: a mass on a spring with a damper, and what falls on it, leans on it and knocks it.

use super::setup::Setup;
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Length of one step of the physics in seconds: well under a tenth of the fastest swing.
const STEP: f64 = 1.0 / 2000.0;
/// Steps of the physics for one sample of the load cell.
const STEPS: u32 = 25;
/// Samples of the load cell a second.
pub const SAMPLES: u64 = 80;

/// Deflection is kept in grams: at rest it equals the load. Only sums and products, so that a seed gives the same
/// bytes on every machine.
pub struct Platform {
    /// Radians a second.
    omega: f64,
    damping: f64,
    deflection: f64,
    speed: f64,
    load: f64,
    hand: Option<Hand>,
    /// Grams of the hammering, and for how many samples it goes on.
    hammer: (f64, u64),
}

/// A hand on the platform.
pub struct Hand {
    pub grams: f64,
    /// How restless it is, as a share of its force: none is quite still.
    pub restless: f64,
    /// Samples until its force is full; it goes in half of them.
    pub rise: u64,
    /// Samples until it is gone.
    pub left: u64,
    /// Samples since it came.
    pub age: u64,
    /// Wanders between about −1 and 1.
    pub tremble: f64,
}

impl Hand {
    /// The share of its force that it bears now.
    fn share(&self) -> f64 {
        let rising = (self.age as f64 / self.rise.max(1) as f64).min(1.0);
        let falling = (self.left as f64 / (self.rise / 2).max(1) as f64).min(1.0);
        let share = rising.min(falling);
        share * share * (3.0 - 2.0 * share)
    }
}

impl Platform {
    pub fn new(setup: &Setup) -> Platform {
        let omega = std::f64::consts::TAU * setup.swing_hz;
        Platform { omega, damping: setup.damping, deflection: 0.0, speed: 0.0, load: 0.0, hand: None, hammer: (0.0, 0) }
    }

    /// The load from now on, in grams.
    pub fn carry(&mut self, load: f64) {
        self.load = load;
    }

    /// A piece has fallen from a hand's height: it brings momentum besides its weight.
    pub fn hit(&mut self, grams: f64, rng: &mut ChaCha8Rng) {
        self.speed += grams * self.omega * rng.random_range(0.2..1.2);
    }

    /// The bench was knocked: a push of so many grams.
    pub fn knock(&mut self, grams: f64) {
        self.speed += grams * self.omega;
    }

    /// A hand comes onto the platform.
    pub fn lean(&mut self, hand: Hand) {
        self.hand = Some(hand);
    }

    /// The bench is hammered with so many grams for so many samples.
    pub fn hammer(&mut self, grams: f64, samples: u64) {
        self.hammer = (grams, samples);
    }

    /// Moves on by one sample (1/80 s) and returns the deflection in grams.
    pub fn sample(&mut self, rng: &mut ChaCha8Rng) -> f64 {
        let mut force = self.load;
        if let Some(hand) = &mut self.hand {
            let push: f64 = StandardNormal.sample(rng);
            hand.tremble = hand.tremble * 0.97 + push * 0.1;
            force += hand.grams * hand.share() * (1.0 + hand.restless * hand.tremble);
            hand.age += 1;
            hand.left = hand.left.saturating_sub(1);
        }
        self.hand.take_if(|hand| hand.left == 0);
        if self.hammer.1 > 0 {
            self.hammer.1 -= 1;
            let rattle: f64 = StandardNormal.sample(rng);
            force += self.hammer.0 * 0.3 * rattle;
            // About three blows a second.
            if rng.random_bool(3.0 / SAMPLES as f64) {
                self.speed += self.hammer.0 * self.omega * rng.random_range(-1.0..1.0);
            }
        }
        for _ in 0..STEPS {
            let pull = self.omega * self.omega * (force - self.deflection) - 2.0 * self.damping * self.omega * self.speed;
            self.speed += pull * STEP;
            self.deflection += self.speed * STEP;
        }
        self.deflection
    }
}

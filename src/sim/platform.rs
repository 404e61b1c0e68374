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
}

struct Hand {
    grams: f64,
    /// Wanders between about −1 and 1: a hand is never still.
    tremble: f64,
}

impl Platform {
    pub fn new(setup: &Setup) -> Platform {
        let omega = std::f64::consts::TAU * setup.swing_hz;
        Platform { omega, damping: setup.damping, deflection: 0.0, speed: 0.0, load: 0.0, hand: None }
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

    /// A hand rests on the platform, or leaves it.
    pub fn lean(&mut self, grams: Option<f64>) {
        self.hand = grams.map(|grams| Hand { grams, tremble: 0.0 });
    }

    /// Moves on by one sample (1/80 s) and returns the deflection in grams.
    pub fn sample(&mut self, rng: &mut ChaCha8Rng) -> f64 {
        let mut force = self.load;
        if let Some(hand) = &mut self.hand {
            let push: f64 = StandardNormal.sample(rng);
            hand.tremble = hand.tremble * 0.97 + push * 0.1;
            force += hand.grams * (1.0 + 0.15 * hand.tremble);
        }
        for _ in 0..STEPS {
            let pull = self.omega * self.omega * (force - self.deflection) - 2.0 * self.damping * self.omega * self.speed;
            self.speed += pull * STEP;
            self.deflection += self.speed * STEP;
        }
        self.deflection
    }
}

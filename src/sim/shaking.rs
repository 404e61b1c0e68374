//! A machine that shakes the bench without pause, as far as the indicator's filter lets it through.

use super::platform::SAMPLES;
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

pub struct Shaking {
    /// Divisions that the display's values lie apart.
    range: f64,
    /// How far the swing turns in a sample.
    turn: f64,
    swing: (f64, f64),
    /// Machines do not shake evenly: wanders between about −1 and 1.
    swell: f64,
    rattle: f64,
}

impl Shaking {
    pub fn new(range: f64, hz: f64) -> Shaking {
        // Twice the sine of half the angle, by its series: only sums and products, the same on every machine.
        let half = std::f64::consts::PI * hz / SAMPLES as f64;
        let square = half * half;
        let turn = 2.0 * half * (1.0 - square / 6.0 * (1.0 - square / 20.0));
        Shaking { range, turn, swing: (1.0, 0.0), swell: 0.0, rattle: 0.0 }
    }

    /// Moves on by one sample.
    pub fn go(&mut self, rng: &mut ChaCha8Rng) {
        if self.range == 0.0 {
            return;
        }
        self.swing.0 -= self.turn * self.swing.1;
        self.swing.1 += self.turn * self.swing.0;
        let push: f64 = StandardNormal.sample(rng);
        self.swell = self.swell * 0.99 + push * 0.04;
        self.rattle = rng.random_range(-0.5..0.5);
    }

    pub fn divisions(&self) -> f64 {
        if self.range == 0.0 {
            return 0.0;
        }
        let swell = (0.8 + 0.2 * self.swell).clamp(0.4, 1.1);
        self.range * (0.4 * swell * self.swing.0 + 0.2 * self.rattle)
    }
}

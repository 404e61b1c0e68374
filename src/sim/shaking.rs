//! A machine that shakes the bench without pause, as far as the indicator's filter lets it through.

use super::platform::SAMPLES;
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

pub struct Shaking {
    /// Divisions that the display's values lie apart.
    range: f64,
    /// Radians a sample, about: no machine runs so evenly that frames could show one point of its swing for long.
    turn: f64,
    swing: (f64, f64),
    /// Machines do not shake evenly: wanders between about −1 and 1.
    swell: f64,
    rattle: f64,
}

impl Shaking {
    pub fn new(range: f64, hz: f64) -> Shaking {
        let turn = std::f64::consts::TAU * hz / SAMPLES as f64;
        Shaking { range, turn, swing: (1.0, 0.0), swell: 0.0, rattle: 0.0 }
    }

    /// Moves on by one sample.
    pub fn go(&mut self, rng: &mut ChaCha8Rng) {
        if self.range == 0.0 {
            return;
        }
        let uneven: f64 = StandardNormal.sample(rng);
        let push: f64 = StandardNormal.sample(rng);
        self.swing = turned(self.swing, self.turn * 0.5 * (1.0 + 0.15 * uneven));
        self.swing = turned(self.swing, self.turn * 0.5 * (1.0 + 0.15 * uneven));
        self.swell = self.swell * 0.99 + push * 0.04;
        self.rattle = rng.random_range(-0.5..0.5);
    }

    pub fn divisions(&self) -> f64 {
        let swell = (0.8 + 0.2 * self.swell).clamp(0.4, 1.1);
        self.range * (0.4 * swell * self.swing.0 + 0.2 * self.rattle)
    }
}

/// A unit vector turned by an angle of up to about 1.5, by series: only sums and products, the same on every machine.
fn turned((x, y): (f64, f64), angle: f64) -> (f64, f64) {
    let square = angle * angle;
    let sine = angle * (1.0 - square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0)));
    let cosine = 1.0 - square / 2.0 * (1.0 - square / 12.0 * (1.0 - square / 30.0));
    let (x, y) = (x * cosine - y * sine, x * sine + y * cosine);
    // Keeps its length at one, whatever the series leave out.
    let length = 1.5 - 0.5 * (x * x + y * y);
    (x * length, y * length)
}

//! Makes up a person's deeds, by seed.

use super::script::{Act, Deed};
use crate::measure::{Mass, Moment, Span};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// One milligram: made-up masses are whole numbers of it.
const MILLIGRAM: i128 = 1_000_000_000_000;

pub struct Maker {
    pub rng: ChaCha8Rng,
    pub at: Moment,
    pub deeds: Vec<Deed>,
    /// The lightest piece in grams: nobody weighs lighter ones on this scale, but in a dribble.
    pub lightest: i64,
}

impl Maker {
    pub fn new(seed: u64) -> Maker {
        Maker { rng: ChaCha8Rng::seed_from_u64(seed), at: Moment::default(), deeds: Vec::new(), lightest: 15 }
    }

    pub fn choose(&mut self, bin: u32) {
        self.act(Act::Choose(bin));
        self.wait(300, 900);
    }

    pub fn act(&mut self, act: Act) {
        self.deeds.push(Deed { at: self.at, act });
    }

    /// Waits for so many milliseconds.
    pub fn wait(&mut self, least: u64, most: u64) {
        self.at = self.at.plus(self.span(least, most));
    }

    pub fn span(&mut self, least: u64, most: u64) -> Span {
        Span::millis(self.rng.random_range(least..=most))
    }

    /// Small pieces are far more common than large ones.
    pub fn piece(&mut self) -> Mass {
        let most = [60, 150, 400, 900][self.rng.random_range(0..4)];
        self.between(self.lightest, most)
    }

    /// A mass between so many grams, in whole milligrams.
    pub fn between(&mut self, least: i64, most: i64) -> Mass {
        Mass::from_femtograms(i128::from(self.rng.random_range(least * 1000..=most * 1000)) * MILLIGRAM)
    }

    /// So many thousandths of a mass, between two bounds.
    pub fn thousandths(&mut self, of: Mass, least: i64, most: i64) -> Mass {
        let part = of.femtograms() * i128::from(self.rng.random_range(least..=most)) / 1000;
        Mass::from_femtograms(part / MILLIGRAM * MILLIGRAM)
    }
}

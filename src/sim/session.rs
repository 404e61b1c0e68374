//! Made-up stretches of bench work, by seed.

use super::maker::Maker;
use super::script::{Act, Script};
use crate::measure::{Mass, Span};
use crate::settle::Manner;
use rand::Rng;

impl Script {
    /// A session of so many pieces in the given manner: bins 1 to 3 in turn, now and then a resting hand or a knock.
    /// A load stays under 15 kg. The same seed gives the same script.
    pub fn session(seed: u64, pieces: u32, manner: Manner) -> Script {
        let mut maker = Maker::new(seed ^ 0x5e55_1011);
        maker.wait(3000, 5000);
        maker.act(Act::Say("start".into()));
        maker.wait(200, 400);
        let name = match manner {
            Manner::Heap => maker.heap(pieces),
            Manner::Tray => maker.tray(pieces),
            Manner::Pan => maker.pan(pieces),
            Manner::Sort => maker.sort(pieces),
        };
        maker.wait(3000, 5000);
        maker.act(Act::Say("end".into()));
        Script::new(name, manner, maker.deeds)
    }
}

impl Maker {
    /// Three bins stand on the scale in turn and keep what was dropped into them; a full one is emptied in between.
    fn heap(&mut self, pieces: u32) -> &'static str {
        let empty: [Mass; 3] = std::array::from_fn(|_| self.between(600, 2000));
        let mut gross = empty;
        let mut left = pieces;
        for bin in (0..3).cycle() {
            if gross[bin] > Mass::grams(9000) {
                gross[bin] = empty[bin];
            }
            self.choose(bin as u32 + 1);
            self.act(Act::Place(gross[bin]));
            for _ in 0..6.min(left) {
                self.wait(2500, 6000);
                self.disturb();
                let piece = self.piece();
                self.act(Act::Drop(piece));
                gross[bin] += piece;
                left -= 1;
            }
            self.wait(3000, 5000);
            self.act(Act::Lift);
            if left == 0 {
                break;
            }
            self.wait(3000, 5000);
        }
        "heap"
    }

    fn tray(&mut self, pieces: u32) -> &'static str {
        let tray = self.between(200, 500);
        self.act(Act::Place(tray));
        let mut left = pieces;
        let mut bin = 0;
        while left > 0 {
            bin = bin % 3 + 1;
            self.wait(2500, 4000);
            self.choose(bin);
            for _ in 0..4.min(left) {
                let piece = self.piece();
                self.act(Act::Drop(piece));
                left -= 1;
                self.wait(2500, 6000);
            }
            self.act(Act::Lift);
            self.wait(2500, 5000);
            let stuck = if self.rng.random_bool(0.2) { self.between(2, 20) } else { Mass::ZERO };
            self.act(Act::Place(tray + stuck));
        }
        self.wait(2500, 4000);
        "tray"
    }

    fn pan(&mut self, pieces: u32) -> &'static str {
        for number in 0..pieces {
            if number % 5 == 0 {
                self.choose(number / 5 % 3 + 1);
            }
            let piece = self.piece();
            self.act(Act::Drop(piece));
            self.wait(2500, 4000);
            self.disturb();
            self.act(Act::Lift);
            self.wait(2500, 4000);
        }
        "pan"
    }

    fn sort(&mut self, pieces: u32) -> &'static str {
        let masses: Vec<Mass> = (0..pieces.min(40)).map(|_| self.between(20, 250)).collect();
        self.act(Act::Place(masses.iter().copied().sum()));
        for (number, mass) in masses.into_iter().enumerate() {
            self.wait(2500, 5000);
            self.choose(number as u32 / 3 % 3 + 1);
            self.act(Act::Take(mass));
        }
        self.wait(2500, 4000);
        "sort"
    }

    /// A hand that rests on the platform, or a knock: no material.
    fn disturb(&mut self) {
        if self.rng.random_bool(0.08) {
            let lasting = Span::millis(self.rng.random_range(1000..2500));
            let push = self.between(100, 800);
            self.act(Act::Lean { push, lasting });
            self.at = self.at.plus(lasting);
            self.wait(2500, 4000);
        } else if self.rng.random_bool(0.08) {
            let push = self.between(20, 200);
            self.act(Act::Knock(push));
            self.wait(2500, 4000);
        }
    }
}

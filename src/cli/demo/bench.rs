//! The invented person's bench: what each bin truly weighs, and the deeds of a stretch of work.

use super::plan::{Plan, WorkPlan};
use crate::measure::{Mass, Moment, Span};
use crate::settle::Manner;
use crate::sim::{Act, Deed, Script};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// A vessel that nobody has weighed weighs this.
const UNKNOWN_TARE: Mass = Mass::grams(900);
/// What the person says before a known weight is laid on.
pub const CHECK: &str = "check";
const MILLIGRAM: i128 = 1_000_000_000_000;

/// The true gross weight of each bin.
#[derive(Debug, Clone)]
pub struct Bench {
    gross: BTreeMap<u32, Mass>,
    empty: BTreeMap<u32, Mass>,
}

impl Bench {
    pub fn new(plan: &Plan) -> Bench {
        let empty: BTreeMap<u32, Mass> = plan.bins.iter().map(|bin| (bin.number, bin.tare.unwrap_or(UNKNOWN_TARE))).collect();
        let mut gross = empty.clone();
        for stock in &plan.stocks {
            *gross.entry(stock.bin).or_default() += stock.mass;
        }
        Bench { gross, empty }
    }

    /// All that was in it went to a buyer.
    pub fn emptied(&mut self, bin: u32) {
        self.gross.insert(bin, self.empty.get(&bin).copied().unwrap_or_default());
    }

    /// A known weight on the bare platform, announced before and taken off again.
    pub fn checked(felt: Mass, seed: u64) -> Script {
        let mut maker = Maker::new(seed);
        maker.wait(1800, 2500);
        maker.act(Act::Say(CHECK.into()));
        maker.wait(800, 1200);
        maker.act(Act::Place(felt));
        maker.wait(3200, 4200);
        maker.act(Act::Lift);
        Script::new("check", Manner::Heap, maker.deeds)
    }

    /// A stretch of work in the manner heap: each bin is chosen, set down, filled and lifted off.
    pub fn stretch(&mut self, name: &str, work: &[WorkPlan], seed: u64) -> Script {
        let mut maker = Maker::new(seed);
        maker.wait(1800, 2500);
        maker.act(Act::Say("start".into()));
        for part in work {
            let gross = self.gross.entry(part.bin).or_default();
            maker.wait(300, 600);
            maker.act(Act::Choose(part.bin));
            maker.wait(600, 1200);
            maker.act(Act::Place(*gross));
            for _ in 0..part.pieces {
                maker.wait(2200, 4200);
                let piece = maker.piece(part.from, part.to);
                maker.act(Act::Drop(piece));
                *gross += piece;
            }
            maker.wait(2400, 3200);
            maker.act(Act::Lift);
            maker.wait(1800, 2600);
        }
        maker.act(Act::Say("end".into()));
        Script::new(name, Manner::Heap, maker.deeds)
    }
}

struct Maker {
    rng: ChaCha8Rng,
    at: Moment,
    deeds: Vec<Deed>,
}

impl Maker {
    fn new(seed: u64) -> Maker {
        Maker { rng: ChaCha8Rng::seed_from_u64(seed), at: Moment::default(), deeds: Vec::new() }
    }

    fn wait(&mut self, least: u64, most: u64) {
        self.at = self.at.plus(Span::millis(self.rng.random_range(least..=most)));
    }

    fn act(&mut self, act: Act) {
        self.deeds.push(Deed { at: self.at, act });
    }

    fn piece(&mut self, from: Mass, to: Mass) -> Mass {
        let milligrams = |mass: Mass| mass.femtograms() / MILLIGRAM;
        Mass::from_femtograms(self.rng.random_range(milligrams(from)..=milligrams(to)) * MILLIGRAM)
    }
}

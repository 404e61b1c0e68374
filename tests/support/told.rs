//! How what a person tells the program without touching a page is scored: long presses on the pan, and intakes.

use super::labelled::{Station, grams, seconds};
use bismar::facts::books::Origin;
use bismar::sim::Truth;

/// Long presses on one tape, or on all of a kind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Presses {
    pub made: usize,
    pub missed: usize,
    /// Felt where nobody pressed: a piece, a hand, scrap that is pushed down.
    pub invented: usize,
}

impl Presses {
    pub fn of(truth: &Truth, station: &Station) -> Presses {
        // It is felt when it has ended: after two seconds at least, and up to eight with what settles after it.
        let (soonest, latest) = (2.0, 9.5);
        let mut felt: Vec<f64> = station.felt.iter().map(|at| seconds(*at)).collect();
        let mut presses = Presses { made: truth.presses.len(), ..Presses::default() };
        for press in truth.presses.iter().map(|at| seconds(*at)) {
            match felt.iter().position(|at| (press + soonest..press + latest).contains(at)) {
                Some(at) => _ = felt.remove(at),
                None => presses.missed += 1,
            }
        }
        presses.invented = felt.len();
        presses
    }

    pub fn add(&mut self, other: &Presses) {
        self.made += other.made;
        self.missed += other.missed;
        self.invented += other.invented;
    }
}

/// Loads that the program was told are intakes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Intakes {
    pub expected: usize,
    pub missed: usize,
    /// Lots that no intake accounts for, by their mass and their moment.
    pub extra: usize,
}

impl Intakes {
    pub fn of(truth: &Truth, station: &Station) -> Intakes {
        let tolerance = 1.5 * grams(truth.division);
        let lots =
            station.books().entries.iter().filter(|(_, entry)| entry.counts() && matches!(entry.origin, Origin::Intake(_)));
        let mut lots: Vec<(f64, f64)> =
            lots.map(|(id, entry)| (station.recognised.get(id).map_or(f64::MAX, |at| seconds(*at)), grams(entry.mass))).collect();
        let mut intakes = Intakes { expected: truth.intakes.len(), ..Intakes::default() };
        for intake in &truth.intakes {
            let (at, mass) = (seconds(intake.at), grams(intake.grams));
            let same = |lot: &(f64, f64)| lot.0 > at && lot.0 < at + 5.0 && (lot.1 - mass).abs() <= tolerance;
            match lots.iter().position(same) {
                Some(at) => _ = lots.remove(at),
                None => intakes.missed += 1,
            }
        }
        intakes.extra = lots.len();
        intakes
    }

    pub fn add(&mut self, other: &Intakes) {
        self.expected += other.expected;
        self.missed += other.missed;
        self.extra += other.extra;
    }
}

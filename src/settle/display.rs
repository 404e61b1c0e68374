//! What the display is: its unit, decimals and kind, and the division in counts of it.

use crate::dialect::{Kind, Reading};
use crate::measure::{Displayed, Mass, Unit};

/// What must stay the same for two readings to be comparable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Face {
    pub unit: Unit,
    pub kind: Kind,
    pub exponent: i8,
    /// As the frame transmits it.
    pub division: Option<Displayed>,
}

/// A reading as a count on a face.
#[derive(Debug, Clone, Copy)]
pub struct Sight {
    pub face: Face,
    pub count: i64,
}

impl Sight {
    /// No scale shows more; beyond it sums and differences could overflow.
    const COUNT_MAX: i64 = 1_000_000_000_000_000;
    /// A million tonnes.
    pub const LOAD_MAX: Mass = Mass::grams(1_000_000_000_000);

    /// The weight of `reading`; nothing where it carries none that can be used.
    pub fn of(reading: &Reading, configured: Option<Unit>) -> Option<Sight> {
        let marked = reading.flags.overload || reading.flags.underload || reading.flags.error;
        if marked || reading.kind == Kind::Tare {
            return None;
        }
        let shown = reading.value?;
        let unit = reading.unit_or(configured)?;
        let load = Mass::of(shown, unit)?;
        if shown.count.unsigned_abs() > Sight::COUNT_MAX.unsigned_abs() || load.abs() > Sight::LOAD_MAX {
            return None;
        }
        let face = Face { unit, kind: reading.kind, exponent: shown.exponent, division: reading.division };
        face.count().map(|_| Sight { face, count: shown.count })
    }
}

impl Face {
    /// Mass of one count of the display.
    pub fn count(&self) -> Option<Mass> {
        Mass::of(Displayed { count: 1, exponent: self.exponent }, self.unit).filter(|one| *one <= Sight::LOAD_MAX)
    }
}

/// The display's step as seen: many displays count by twos or fives and do not say so.
#[derive(Debug, Clone, Copy)]
pub struct Grid {
    divides: [bool; Grid::STEPS.len()],
    last: Option<i64>,
    changes: u32,
}

impl Grid {
    const STEPS: [i64; 6] = [1, 2, 5, 10, 20, 50];
    /// So many changes without an exception prove each step: by chance a finer display keeps to it once in 10⁹.
    const CHANGES_MIN: [u32; 6] = [0, 30, 13, 30, 30, 30];

    pub const fn new() -> Grid {
        Grid { divides: [true; Grid::STEPS.len()], last: None, changes: 0 }
    }

    pub fn see(&mut self, count: i64) {
        if self.last.replace(count).is_some_and(|last| last != count) {
            self.changes = self.changes.saturating_add(1);
        }
        for (divides, step) in self.divides.iter_mut().zip(Grid::STEPS) {
            *divides &= count % step == 0;
        }
    }

    /// The step in counts, one until more is known.
    pub fn step(&self) -> i64 {
        let proofs = self.divides.iter().zip(Grid::CHANGES_MIN).zip(Grid::STEPS).rev();
        let known = proofs.into_iter().find(|((divides, needed), _)| **divides && self.changes >= *needed);
        known.map_or(1, |(_, step)| step)
    }
}

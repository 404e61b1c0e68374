//! What was loaded by our scale against what the ticket says by theirs.
//!
//! Readings are independent and add in quadrature (JCGM 100:2008, 5.1.5); the error of our own calibration is common to all
//! that our scale has shown and adds linearly within it (5.2.2). Their calibration is not in the budget: it is what the
//! comparison is about. The stated rates of a correct buyer: k = 2 leaves 2.3 % on each side, k = 3 leaves 0.14 %
//! (JCGM 100:2008, G.6.6, of a normal distribution).

use crate::economy::uncertainty::{OnOneScale, combined};
use crate::measure::{Mass, Variance};

/// Of the load: a comparison that knows it no better than this share says nothing either way.
const COARSE_SHARE: i128 = 10;

/// Tickets in a row that run short before that counts as much as one far beyond doubt.
pub const REPEATED: usize = 3;

/// Two weights of one load with all that is uncertain about them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Compared {
    pub ours: Mass,
    pub theirs: Mass,
    /// Of the readings of both.
    pub readings: Variance,
    /// With our own calibration.
    pub whole: Variance,
    /// Of ours, what was weighed where no check weight bounds the calibration.
    pub unbounded: Mass,
}

/// What to think of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    Agrees,
    /// Beyond twice the standard uncertainty.
    LooksShort,
    /// Beyond three times, or running short again and again.
    Short {
        repeated: bool,
    },
    Over,
    CannotTell(WhyNot),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNot {
    /// Nobody weighed it at home.
    NotWeighed,
    /// They differ by more than the readings, and no check weight says how far our own scale is off.
    Unchecked,
    /// A tenth of the load could be missing unseen.
    TooCoarse,
    /// The line is tied to no bin.
    NoBin,
}

/// Puts both sides together.
pub fn compare(ours: &[OnOneScale], theirs: Mass, their_readings: Variance) -> Compared {
    let home = combined(ours);
    let readings = ours.iter().fold(their_readings, |sum, scale| sum.plus(scale.readings));
    let whole = home.variance.plus(their_readings);
    Compared { ours: home.mass, theirs, readings, whole, unbounded: home.unbounded }
}

impl Compared {
    /// Negative where they have less.
    pub fn difference(&self) -> Mass {
        self.theirs - self.ours
    }

    /// By this load alone.
    pub fn verdict(&self) -> Verdict {
        let (difference, twice) = (self.difference(), self.whole.expanded(2));
        if self.ours <= Mass::ZERO {
            return Verdict::CannotTell(WhyNot::NotWeighed);
        }
        if twice * COARSE_SHARE > self.ours {
            return Verdict::CannotTell(WhyNot::TooCoarse);
        }
        if difference.abs() <= twice {
            return Verdict::Agrees;
        }
        if self.unbounded > Mass::ZERO {
            return Verdict::CannotTell(WhyNot::Unchecked);
        }
        match (difference.is_negative(), difference.abs() > self.whole.expanded(3)) {
            (false, _) => Verdict::Over,
            (true, true) => Verdict::Short { repeated: false },
            (true, false) => Verdict::LooksShort,
        }
    }

    /// Short by more than twice the readings of both and the whole bound of our own scale beside them. Our calibration pushes
    /// every ticket the same way, so only what lies beyond all of it makes a row of tickets into evidence.
    pub fn runs_short(&self, own_bound: Mass) -> bool {
        self.unbounded.is_zero() && -self.difference() > self.readings.expanded(2) + own_bound
    }
}

/// The verdict on a load after those of the same buyer before it, the last one first.
pub fn in_a_row(alone: Verdict, runs_short: bool, before: &[bool]) -> Verdict {
    let row = runs_short && before.len() + 1 >= REPEATED && before.iter().take(REPEATED - 1).all(|short| *short);
    match alone {
        Verdict::LooksShort if row => Verdict::Short { repeated: true },
        other => other,
    }
}

#[cfg(test)]
mod tests;

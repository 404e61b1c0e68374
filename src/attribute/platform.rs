//! What stands on the platform, as far as it is known.

use crate::dialect::Kind;
use crate::facts::{BinId, Books, Bridge, Doubt, Fact, StepId};
use crate::measure::Mass;
use crate::settle::{EpochCause, Rest, Step};

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Platform {
    /// Something may stand there; weighing goes on by differences.
    Unknown,
    Empty,
    Bin(BinId),
    /// Something was set down that is not the chosen bin, or no bin was chosen.
    Stranger,
}

impl Platform {
    pub fn found(verdict: Bridge, standing: Option<BinId>) -> Platform {
        match (verdict, standing) {
            (Bridge::Empty, _) => Platform::Empty,
            (_, Some(bin)) => Platform::Bin(bin),
            (_, None) => Platform::Unknown,
        }
    }

    pub fn bin(self) -> Option<BinId> {
        match self {
            Platform::Bin(bin) => Some(bin),
            Platform::Unknown | Platform::Empty | Platform::Stranger => None,
        }
    }
}

/// The first rest of an epoch.
pub(super) struct Level<'a> {
    pub rest: &'a Rest,
    pub division: Mass,
    pub display: Kind,
    pub cause: EpochCause,
}

impl Level<'_> {
    /// Compares what is shown with what stood there before.
    pub fn verdict(&self, something_stood: bool, expected: Option<Mass>) -> Bridge {
        let near = |level: Mass| (self.rest.load - level).abs() <= self.division * 2;
        match self.cause {
            // Pressed under our eyes: the load did not move, only its number.
            EpochCause::Zeroed | EpochCause::Tared | EpochCause::Display if something_stood => Bridge::SameLoad,
            // A tare was taken before we looked, so a container stands there or was taken off.
            EpochCause::Tared => Bridge::Unknown,
            _ if self.display == Kind::Net => Bridge::Unknown,
            _ if expected.is_some_and(near) => Bridge::SameLoad,
            // A scale that woke up under a standing bin shows zero too: it is asked, not taken for cleared.
            EpochCause::PowerUp if something_stood => Bridge::Unknown,
            _ if near(Mass::ZERO) => Bridge::Empty,
            _ => Bridge::Unknown,
        }
    }
}

/// What came onto an empty platform in the manner heap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Arrival {
    TheBin(SetDown),
    Doubtful(Doubt),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SetDown {
    pub step: StepId,
    pub bin: BinId,
    pub gross: Mass,
    pub learned: bool,
}

impl SetDown {
    pub fn fact(&self) -> Fact {
        Fact::SetDown { step: self.step, bin: self.bin, gross: self.gross, learned: self.learned }
    }
}

/// The chosen bin is known by its last seen gross, or by its tare and what is booked in it. One that was never seen
/// and has no tare is taken to be what is set down, which is announced, listed and can be taken back.
pub(super) fn arrival(step: StepId, seen: &Step, chosen: Option<BinId>, division: Mass, books: &Books) -> Arrival {
    let Some((bin, state)) = chosen.and_then(|bin| Some((bin, books.bins.get(&bin)?))) else {
        return Arrival::Doubtful(Doubt::PerhapsTheBin);
    };
    let gross = seen.delta;
    // No bin weighs so little: the zero wandered, or a crumb fell on the bare platform.
    if gross <= division * 2 {
        return Arrival::Doubtful(Doubt::PerhapsTheBin);
    }
    let booked = books.fills.get(&state.fill).map_or(Mass::ZERO, |fill| fill.mass);
    let expected = state.last_gross.or(state.tare.map(|tare| tare + booked));
    let set_down = |learned| Arrival::TheBin(SetDown { step, bin, gross, learned });
    match expected {
        None => set_down(true),
        Some(expected) if (gross - expected).abs() <= allowance(expected, division) => set_down(false),
        Some(expected) => Arrival::Doubtful(Doubt::NotTheBin { expected }),
    }
}

/// How far a bin may be from what it should weigh: a set-back off the middle of the platform shifts a bench scale by a
/// few divisions and up to about a thousandth of the load. Common practice, no source.
fn allowance(expected: Mass, division: Mass) -> Mass {
    let thousandth = Mass::from_femtograms(expected.abs().femtograms() / 1000);
    division * 4 + thousandth
}

//! An entry in a fill: the unit of record.

use crate::facts::{BenchId, BinId, Doubt, EntryId, FillId, SessionId, StepId};
use crate::measure::{Mass, Moment, Stamp, Variance};

/// A drop, a removal, or a weight that came another way.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    pub origin: Origin,
    pub bench: BenchId,
    pub epoch: u64,
    pub bin: Option<BinId>,
    pub fill: Option<FillId>,
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    /// Positive for what went in, negative for what came out.
    pub mass: Mass,
    /// Of this entry alone.
    pub variance: Variance,
    /// The two rests that it lies between: entries of one fill that share a reading are chained, and a chain's
    /// uncertainty is that of its two end readings.
    pub between: Option<(Moment, Moment)>,
    pub state: EntryState,
    pub doubt: Option<Doubt>,
    pub at: Stamp,
    /// Somebody corrected it by hand: the last event that did.
    pub corrected: Option<u64>,
    /// For a weight that was told by hand: whether the bench's own scale had shown all of it.
    pub told_here: Option<bool>,
    /// The drop that was taken back, or the removal that took it.
    pub paired: Option<EntryId>,
    /// Voided because it is being taken out, and not yet seen to leave: it still lies in the bin, and counts no more.
    pub leaving: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Weighed on the bench.
    Drop(StepId),
    TakenOut(StepId),
    /// What is to be taken apart, weighed before: in no bin, and no drop. No step where it was weighed elsewhere.
    Intake(Option<StepId>),
    /// Drawn from a bin to be taken apart further: it lowers the fill and is the intake of a lot. No step where it was told.
    Drawn(Option<StepId>),
    /// Under one division, settled at a change of bin.
    Crumbs,
    /// Taken from another bin under our eyes: weighed before.
    Transfer(StepId),
    /// Came while nobody weighed.
    Unseen,
    /// Lay there before the program came: outside yields and pay.
    Opening,
    /// What a round through the stock found gone, told by eye.
    Round,
    /// Weighed elsewhere and entered by hand.
    Elsewhere,
    /// The other half of a tip.
    Tipped,
    /// Sold, given away or brought home: moved beside the scale.
    Load(crate::facts::LoadWhy),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryState {
    Provisional,
    Confirmed,
    Cancelled,
    Voided,
}

impl Origin {
    /// It came out of work at this bench or was weighed elsewhere, and was not just found to be there.
    pub fn is_worked(self) -> bool {
        !matches!(self, Origin::Opening | Origin::Unseen)
    }
}

impl Entry {
    /// Only what is confirmed counts.
    pub fn counts(&self) -> bool {
        self.state == EntryState::Confirmed
    }

    /// The bench whose own scale showed it; none for what was weighed elsewhere or guessed.
    pub fn weighed_on(&self) -> Option<BenchId> {
        let of_a_step = matches!(
            self.origin,
            Origin::Drop(_)
                | Origin::TakenOut(_)
                | Origin::Intake(_)
                | Origin::Drawn(_)
                | Origin::Transfer(_)
                | Origin::Crumbs
                | Origin::Unseen
        );
        self.told_here.unwrap_or(of_a_step).then_some(self.bench)
    }

    pub fn is_drop(&self) -> bool {
        self.paired.is_none() && matches!(self.origin, Origin::Drop(_) | Origin::Elsewhere)
    }
}

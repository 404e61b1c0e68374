//! A difference of about one division: sudden it is a crumb, slow it is creep.

use super::judge::Verdict;
use crate::measure::{Moment, Span};

/// How a difference of about one division came about.
#[derive(Debug, Clone, Copy, Default)]
pub struct Crumb {
    /// First and latest moment at which the mean stood at the anchor.
    near: Option<(Moment, Moment)>,
    /// It has stood away from the anchor since: a load on the edge between two displayed values shows both in turn.
    both: bool,
    /// Since when it has stood one division away, without pause.
    far: Option<Moment>,
}

/// What a small difference is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Small {
    /// Under one division.
    Under,
    /// One division, not yet known as what.
    Open,
    /// It came at once, at this moment: mass.
    Sudden(Moment),
    /// It crept up, or nobody saw how it came: drift, as far as a load cell may drift.
    Slow(Moment),
}

/// It must have stood at the anchor for so long before, and away from it for so long after.
const BEFORE: Span = Span::millis(2000);
const AFTER: Span = Span::millis(2500);
/// A load that is taken away ends the waiting; by then it must have stood for so long.
const LEAST: Span = Span::millis(600);
/// A one-second mean takes a second to cross; a change that took longer than this did not come at once.
const CROSSING: Span = Span::millis(2500);
/// A difference that nobody saw arrive waits for the next step to carry it, and is decided on its own after this.
const WAIT: Span = Span::seconds(20);

impl Crumb {
    /// What was before joins no more to what follows.
    pub fn interrupt(&mut self) {
        self.far = None;
    }

    /// Whether the display has ever stood at the anchor.
    pub fn stood(&self) -> bool {
        self.near.is_some()
    }

    /// The display has stood at the anchor for the last second.
    pub fn stands(&mut self, at: Moment) {
        self.far = None;
        let from = self.near.filter(|_| !self.both).map_or(at, |(from, _)| from);
        self.both = false;
        self.near = Some((from, at));
    }

    /// When the difference came, if it came at once and has stood for a while until `left`.
    pub fn came(&self, left: Moment) -> Option<Moment> {
        let ((from, until), far) = self.near.zip(self.far)?;
        let sudden = until.since(from) >= BEFORE && far.since(until) <= CROSSING;
        (sudden && left.since(far) >= LEAST).then_some(until)
    }

    /// Follows a calm display: `mean` is that of the last second, in thousandths above the anchor.
    pub fn see(&mut self, at: Moment, verdict: &Verdict, mean: i64, milli: i64) -> Small {
        if verdict.mean.abs() * 10 < milli * 9 {
            self.far = None;
            if mean.abs() * 10 <= milli * 3 {
                self.stands(at);
            }
            return Small::Under;
        }
        self.both |= mean.abs() * 10 >= milli * 9;
        let far = *self.far.get_or_insert(at);
        let stood = at.since(far);
        match self.near {
            Some((from, until)) if until.since(from) >= BEFORE && far.since(until) <= CROSSING && stood >= AFTER => {
                Small::Sudden(until)
            }
            _ if stood >= WAIT => Small::Slow(far),
            _ => Small::Open,
        }
    }
}

//! The way to a rest: what of a step may still come after it was recognised, and what a longer look makes of it.

use super::*;

impl Epoch {
    /// Whether the difference is what was left of a step that was taken early: it goes on a little, or comes back by less
    /// than half sooner than a hand takes anything out again.
    pub(super) fn is_tail(&self, at: Moment, verdict: &Verdict) -> bool {
        let last = self.account.as_ref().and_then(Account::last_step).unwrap_or_default();
        let small = verdict.mean.abs() <= 4 * self.milli && at.since(self.reached) <= TAIL;
        let onward = last.is_negative() == (verdict.mean < 0);
        let size = thousandths(last.abs(), self.one);
        // Nobody leans on what is being lifted: what comes after a removal that has stood is another piece.
        let swings = size >= 2 * verdict.mean.abs() && !(last.is_negative() && self.kept);
        let midway = !self.held && at.since(self.reached) <= MIDWAY;
        small && if onward { midway || !self.stood && !self.kept && size >= 48 * self.milli } else { swings }
    }

    /// Whether a difference of more than one division is a change and not the last ringing of the one before.
    pub(super) fn is_step(&self, at: Moment, verdict: &Verdict) -> bool {
        let ruler = self.ruler();
        let gap = verdict.mean.abs();
        if gap >= 3 * ruler.milli {
            return true;
        }
        let newest = self.window.mean_of(Span::millis(350), ruler.origin);
        let lasts = newest.signum() == verdict.mean.signum() && newest.abs() * 10 >= ruler.milli * 11;
        let rings = !self.stood && gap * 2 < ruler.milli * 5 && at.since(self.arrived) < RINGING;
        lasts && !rings
    }

    /// A longer average tells better where the last step led to, while it is provisional.
    pub(super) fn revise(&mut self, at: Moment, verdict: &Verdict, emit: &mut dyn FnMut(Finding)) -> bool {
        let rest = self.rest(verdict);
        let (reached, kept, held) = (self.reached, self.kept, self.held);
        let revised = self.account.as_mut().is_some_and(|account| account.revise(rest, at, emit));
        if revised {
            self.tell_average(at, verdict, emit);
            self.arrive(at, verdict);
            (self.reached, self.kept, self.held) = (reached, kept, held);
        }
        revised
    }

    /// Another rest stands: what was known of the way to the last one is over.
    pub(super) fn arrive(&mut self, at: Moment, verdict: &Verdict) {
        self.stood = verdict.mean.abs() < 8 * self.milli && !verdict.noisy;
        self.kept = false;
        self.held = false;
        self.arrived = at;
        self.reached = at;
        self.left = None;
        self.within = None;
        self.same = None;
        self.crumb = Crumb::default();
        self.crumb_rest = None;
        self.unsure = verdict.unsure.max(self.milli * 3 / 10);
    }
}

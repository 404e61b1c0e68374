//! A bench that never stands still: the level under its shaking, and what a change of it means.

use super::super::shake::Level;
use super::*;

/// A bench that stands still for so long shakes no more.
const STILL: Span = Span::seconds(2);
/// A level that was taken early is bettered within this time.
const BETTERED: Span = Span::millis(4500);
/// What is many divisions away is believed sooner.
const LARGE: i64 = 8;
const SPAN_LARGE: Span = Span::millis(350);
const SPAN_SMALL: Span = Span::millis(800);
/// After this an average that is still poor is better than none: the next piece may be falling.
const SPAN_POOR: Span = Span::millis(1000);
const SPAN_FIRST: Span = Span::millis(1500);
/// So long an average is taken however poor it is; its uncertainty is told with it.
const SPAN_WORST: Span = Span::millis(1800);
/// Where no level has been found for so long, the bench shakes otherwise than it did.
const LOST: Span = Span::millis(2500);

impl Epoch {
    /// Judges the newest reading of a shaken bench; hands back whether it is one.
    pub(super) fn shaken(&mut self, at: Moment, count: i64, emit: &mut dyn FnMut(Finding)) -> bool {
        let ruler = self.ruler();
        let still = self.window.quiet(ruler.counts()).is_some_and(|run| run.span >= STILL && run.samples >= 8);
        self.sways = (self.sways || self.shakes()) && !still && !self.history.often_calm();
        if still || count.abs() > COUNT_SHAKEN_MAX {
            self.shake.forget();
            return false;
        }
        if !self.sways {
            if let (Some(account), None) = (&self.account, self.left) {
                let level = self.above(account.current().load);
                self.shake.learn(1, level);
            }
            return false;
        }
        let range = self.history.floor().unwrap_or(0).saturating_mul(1000);
        self.shake.fit(ruler.milli, range.max(2 * ruler.milli));
        if !self.shake.knows() {
            return false;
        }
        let before = self.account.as_ref().map(|account| self.above(account.anchor().load));
        if let Some(level) = self.shake.level(before) {
            self.weigh_level(at, level, emit);
        }
        true
    }

    /// How far the display swings slowly from turn to turn.
    pub fn swings(&self) -> Option<Mass> {
        self.swing.reach().map(|reach| self.mass(reach))
    }

    /// No change up to this many thousandths of a count can be told from the swinging of the display. It waits until more
    /// has come, or until the swinging ends: the sum is right then.
    pub(super) fn unseen(&self) -> Option<i64> {
        self.swing.reach().map(|reach| reach.saturating_mul(6) / 5)
    }

    /// Standard uncertainty of what is read somewhere on a swing, in thousandths of a count: half of its reach by the root
    /// of two, as of an arcsine distribution (JCGM 101:2008, 6.4.6, from memory).
    pub(super) fn swung(&self) -> i64 {
        self.swing.reach().map_or(0, |reach| reach.saturating_mul(354) / 1000)
    }

    /// Thousandths of a count above the epoch's first reading.
    fn above(&self, load: Mass) -> i64 {
        let one = self.one.femtograms().max(1);
        let first = self.one * i128::from(self.first.unwrap_or(0));
        i64::try_from((load - first).femtograms() * 1000 / one).unwrap_or(i64::MAX)
    }

    fn weigh_level(&mut self, at: Moment, level: Level, emit: &mut dyn FnMut(Finding)) {
        let milli = self.milli;
        let (span, unsure, mean) = (self.shake.span(level.samples), level.unsure, level.mean);
        let since = Moment(at.0.saturating_sub(span.0));
        let rest = self.or_empty(self.average(mean, since), unsure);
        let Some(account) = &self.account else {
            // Even a poor average is better than to take the first load for an empty platform.
            if span >= if unsure <= milli { SPAN_FIRST } else { SPAN_WORST } {
                self.account = Some(Account::open(rest, self.division * 2));
                self.learn_level(at, level);
                emit(Finding::Rested { at, rest });
                self.tell_level(at, unsure, emit);
            }
            return;
        };
        let away = mean - self.above(account.anchor().load);
        let doubt = unsure.max(1).saturating_add(self.unsure);
        let limit = (milli * 6 / 5).max(doubt * 5 / 2).max(self.unseen().unwrap_or(0));
        if away.abs() < limit {
            self.near_level(at, level, away, rest, emit);
            return;
        }
        let left = *self.left.get_or_insert(since);
        let large = away.abs() >= LARGE * milli;
        let lasts = span >= if large { SPAN_LARGE } else { SPAN_SMALL } && level.samples >= 3;
        let good = unsure * 5 <= milli * 2 || span >= SPAN_POOR && level.samples >= 5 && unsure <= milli * 6 / 5;
        let poor = span >= SPAN_WORST && away.abs() >= 3 * limit;
        if lasts && (good || poor) {
            self.change_level(at, level, left.min(since), rest, emit);
        } else if at.since(left) > LOST && span < SPAN_LARGE {
            self.shake.forget();
            self.left = Some(at);
        }
    }

    /// The load is about where it was.
    fn near_level(&mut self, at: Moment, level: Level, away: i64, rest: Rest, emit: &mut dyn FnMut(Finding)) {
        let milli = self.milli;
        let unsure = level.unsure;
        self.left = None;
        let better = unsure * 10 <= self.unsure * 9 && away.abs() * 2 >= milli;
        // A shorter stretch than what has passed since would be the beginning of another change.
        let whole = self.shake.span(level.samples) >= at.since(self.arrived);
        if better && whole && at.since(self.arrived) <= BETTERED {
            self.better_level(at, level, rest, emit);
        } else if unsure * 5 <= self.unsure * 4
            && let Some(account) = &mut self.account
            && account.reopen(rest, at, emit)
        {
            self.unsure = unsure;
            self.tell_level(at, unsure, emit);
        }
        if self.shake.span(level.samples) >= SPAN_LARGE {
            self.learn_level(at, level);
        }
    }

    /// A longer average tells better where the load lies.
    fn better_level(&mut self, at: Moment, level: Level, rest: Rest, emit: &mut dyn FnMut(Finding)) -> bool {
        let Some(account) = &mut self.account else { return false };
        let bettered = account.revise(rest, at, emit) || account.reopen(rest, at, emit);
        if bettered {
            self.unsure = level.unsure;
            self.tell_level(at, self.unsure, emit);
        }
        bettered
    }

    fn change_level(&mut self, at: Moment, level: Level, landed: Moment, rest: Rest, emit: &mut dyn FnMut(Finding)) {
        let (milli, slow) = (self.milli, self.pace.slow());
        let Some(account) = &mut self.account else { return };
        let unsure = level.unsure;
        let away = rest.load - account.anchor().load;
        // What is left of a large step when it is taken early comes in its direction; what it rang too far goes back.
        let left_of = |last: Mass| match last.is_negative() == away.is_negative() {
            true if away.abs() * 12 <= last.abs() => 6,
            false if away.abs() * 5 <= last.abs() => 9,
            _ => 3,
        };
        let few = away.abs() <= self.division * account.last_step().map_or(3, left_of);
        if few && at.since(self.arrived) <= TAIL && self.better_level(at, level, rest, emit) {
            return;
        }
        let Some(account) = &mut self.account else { return };
        let doubt = Mass::from_femtograms(self.one.femtograms() * i128::from(unsure.min(milli)) / 500);
        if let Some(index) = account.returns_to(rest.load, self.division + doubt, slow, None) {
            account.cancel_from(index, at, emit);
        } else {
            account.step(rest, landed, at, emit);
        }
        self.left = None;
        self.within = None;
        self.same = None;
        self.stood = true;
        self.crumb = Crumb::default();
        self.crumb_rest = None;
        self.arrived = at;
        self.tell_level(at, unsure, emit);
        self.shake.keep(level.samples);
        self.learn_level(at, level);
    }

    fn learn_level(&mut self, at: Moment, level: Level) {
        self.shake.learn(level.samples, level.mean);
        if self.account.as_ref().is_some_and(|account| account.pending().is_zero()) && self.arrived == at {
            self.unsure = level.unsure;
        }
    }

    /// An average at `mean` thousandths of a count above the epoch's first reading, to a tenth of a division.
    fn average(&self, mean: i64, since: Moment) -> Rest {
        let first = self.first.unwrap_or(0);
        let load = self.one.femtograms() * (i128::from(first) * 1000 + i128::from(mean)) / 1000;
        let tenth = (self.division.femtograms() / 10).max(1);
        let load = Mass::from_femtograms((load + load.signum() * tenth / 2) / tenth * tenth);
        let nearest = first + (mean + mean.signum() * 500) / 1000;
        let shown = Displayed { count: nearest, exponent: self.face.exponent };
        Rest { load, shown, unit: self.face.unit, since }
    }

    /// An average that cannot be told from the empty platform is the empty platform, which shows zero where the epoch
    /// has just begun.
    fn or_empty(&self, average: Rest, unsure: i64) -> Rest {
        let empty = self.account.as_ref().map_or(Some(Mass::ZERO), Account::empty);
        let doubt = Mass::from_femtograms(self.one.femtograms() * i128::from(unsure.min(self.milli)) / 500);
        match empty.filter(|empty| (average.load - *empty).abs() <= doubt) {
            Some(load) => Rest { load, ..average },
            None => average,
        }
    }

    fn tell_level(&self, at: Moment, unsure: i64, emit: &mut dyn FnMut(Finding)) {
        // No less than a display can tell.
        self.tell_unsure(at, unsure.max(self.milli / 10), emit);
    }
}

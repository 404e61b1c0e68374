//! One epoch: what each verdict on the load means for its books.

mod arrival;
mod rare;
mod shaken;

use super::account::{Account, Balance};
use super::crumb::{Crumb, Small};
use super::display::Face;
use super::finding::{Finding, Manner, Rest};
use super::history::History;
use super::judge::{Ruler, Verdict, judge};
use super::pace::Pace;
use super::shake::Shake;
use super::swing::Swing;
use super::window::{Sample, Window};
use crate::dialect::Stability;
use crate::measure::{Displayed, Mass, Moment, Span};

/// The state of one epoch.
#[derive(Debug)]
pub struct Epoch {
    face: Face,
    /// Mass of one count.
    one: Mass,
    division: Mass,
    /// The division in thousandths of a count.
    milli: i64,
    window: Window,
    history: History,
    pace: Pace,
    shake: Shake,
    /// The bench shakes without pause.
    sways: bool,
    swing: Swing,
    /// The first count of the epoch.
    first: Option<i64>,
    /// Standard uncertainty of the average that the rest is, in thousandths of a count.
    unsure: i64,
    account: Option<Account>,
    last: Option<Moment>,
    last_sample: Option<(i64, Stability)>,
    /// The latest moment at which readings came close upon one another: a stream, not a line a load.
    streamed: Option<Moment>,
    silence_told: bool,
    /// Readings in a row that came close upon one another, and that came at even distances.
    close: u32,
    even: u32,
    gap: Span,
    /// A scale that prints one line a load has told of an empty pan, too.
    prints_zero: bool,
    /// When the load left the current rest, and since when it has been within it again.
    left: Option<Moment>,
    within: Option<Moment>,
    /// When a load that was about to come to rest began to move again.
    onset: Option<Moment>,
    /// Since when every reading has shown the count of the rest.
    same: Option<Moment>,
    crumb: Crumb,
    /// One division that came and is not yet known as mass: it is decided at the latest when the load is taken away.
    crumb_rest: Option<Rest>,
    /// When the current rest was recognised, and whether the display has stood at it since.
    arrived: Moment,
    stood: bool,
    /// When its step was recognised first: a better average of it is no new arrival.
    reached: Moment,
    /// The display has shown about that rest for a moment since.
    held: bool,
    /// It has kept within a division of it for longer than the tail of a step takes to die away.
    kept: bool,
    forgiven_at: Option<Moment>,
}

/// A step is provisional for so long: a hand that rests does not rest longer.
const HOLD: Span = Span::millis(5000);
/// The same while the load is moving, since the hand may just be leaving.
const HOLD_MOVING: Span = Span::millis(10_000);
/// Readings closer than this are a stream.
const STREAM: Span = Span::millis(700);
/// Fewer may be one load printed twice.
const STREAM_FEWEST: u32 = 5;
/// After a line and so much silence nothing more is said of this load.
const SILENCE: Span = Span::millis(1500);
/// After a stream paused for so long, a single line counts again as one of its own.
const FORGET_STREAM: Span = Span::seconds(30);
/// A rest that was recognised early may still ring by two divisions for so long.
const RINGING: Span = Span::millis(2500);
/// A load that is nearly back at an earlier rest is looked at for so long before it is taken for another.
const HASTY: Span = Span::millis(750);
/// A first average is bettered once after so long.
const REVISED: Span = Span::millis(700);
/// What is left of a change that was taken early comes within this time.
const TAIL: Span = Span::millis(1500);
/// A small step that was taken on the way to its rest goes on within this time.
const MIDWAY: Span = Span::millis(1000);
/// Beyond this thousandths of a count would not fit.
const COUNT_SHAKEN_MAX: i64 = 1_000_000_000;
/// The last of a step's tail dies away sooner.
const KEPT: Span = Span::millis(550);
/// A rest that stands again for so long takes back a step of a division or two.
const LULL: Span = Span::millis(900);
/// So long within one division is a calm moment.
const CALM: Span = Span::millis(450);
/// A scale that streams and says nothing for so long was off.
const ASLEEP: Span = Span::seconds(10);
/// Creep is forgiven once in this time. OIML R 60 lets a class C3 load cell creep by 0.735 of its interval in half an
/// hour: one division as a display shows it.
const HALF_HOUR: Span = Span::seconds(1800);
/// In all an epoch forgives so many divisions either way; by R 60 creep nearly stops after the first half-hour.
const FORGIVEN_MAX: i128 = 3;

impl Epoch {
    pub fn new(face: Face, one: Mass, division: Mass) -> Epoch {
        Epoch {
            face,
            one,
            division,
            milli: thousandths(division, one),
            window: Window::new(),
            history: History::new(),
            pace: Pace::new(),
            shake: Shake::new(),
            sways: false,
            swing: Swing::new(),
            first: None,
            unsure: 0,
            account: None,
            last: None,
            last_sample: None,
            streamed: None,
            silence_told: false,
            close: 0,
            even: 0,
            gap: Span::ZERO,
            prints_zero: false,
            left: None,
            within: None,
            onset: None,
            same: None,
            crumb: Crumb::default(),
            crumb_rest: None,
            arrived: Moment(0),
            reached: Moment(0),
            stood: true,
            held: true,
            kept: true,
            forgiven_at: None,
        }
    }

    pub fn division(&self) -> Mass {
        self.division
    }

    pub fn face(&self) -> Face {
        self.face
    }

    /// The division is so many counts, as the display has shown.
    pub fn count_by(&mut self, counts: i64) {
        self.division = self.one * i128::from(counts);
        self.milli = counts.saturating_mul(1000);
        if let Some(account) = &mut self.account {
            account.set_near(self.division * 2);
        }
    }

    /// The platform is at a rest, by our own verdict.
    pub fn settled(&self) -> bool {
        self.account.is_some() && self.left.is_none()
    }

    /// Whether a reading at `at` comes close upon the one before.
    pub fn streams_at(&self, at: Moment) -> bool {
        self.last.is_some_and(|last| at.since(last) <= STREAM)
    }

    pub fn balance(&self) -> Option<Balance> {
        self.account.as_ref().map(Account::balance)
    }

    /// A frame that tells of overload or an error: what came before it is not joined to what follows.
    pub fn blind(&mut self) {
        self.window.clear();
        self.crumb.interrupt();
        self.same = None;
        self.last_sample = None;
    }

    pub fn weigh(&mut self, at: Moment, count: i64, stability: Stability, emit: &mut dyn FnMut(Finding)) {
        let gap = self.last.map_or(Span::ZERO, |last| at.since(last));
        self.even = if gap.0.abs_diff(self.gap.0) <= gap.0 / 5 { self.even.saturating_add(1) } else { 0 };
        self.gap = gap;
        self.close = if self.streams_at(at) { self.close.saturating_add(1) } else { 0 };
        if self.close >= STREAM_FEWEST {
            self.streamed = Some(at);
        } else if self.last.is_some_and(|last| at.since(last) > SILENCE) {
            self.window.clear();
            self.shake.interrupt();
            self.crumb.interrupt();
            self.same = None;
        }
        self.last = Some(at);
        let first = *self.first.get_or_insert(count);
        self.shake.count(at, count.saturating_sub(first).saturating_mul(1000));
        self.last_sample = Some((count, stability));
        self.silence_told = false;
        self.notice_onset(at, count);
        self.window.push(Sample { at, count });
        let division = self.ruler().counts();
        let run = self.window.quiet(division);
        let calm = run.is_some_and(|run| run.span >= CALM && run.samples >= 4);
        self.history.push(at, count, calm);
        self.swing.push(at, count.saturating_sub(first), division, self.sways);
        if self.shaken(at, count, emit) {
            return;
        }
        self.follow(at, count);
        self.pace.flag(stability, count, self.left.is_some());
        if self.stands(at, count) {
            self.crumb.stands(at);
            self.stood = true;
            if let Some(account) = &mut self.account {
                account.still(Span::seconds(1));
            }
            return;
        }
        if let Some(verdict) = judge(&self.window, &self.history, &self.pace, &self.ruler())
            && (self.account.is_none() || self.unseen().is_none_or(|unseen| verdict.mean.abs() > unseen))
        {
            self.decide(at, verdict, emit);
        }
    }

    /// The display has not stood still for a long time.
    fn shakes(&self) -> bool {
        self.history.shaken(2 * self.ruler().counts())
    }

    /// Whether every reading of the last second showed the rest that the platform is at, as nearly all do in a day:
    /// then nothing needs to be judged.
    fn stands(&mut self, at: Moment, count: i64) -> bool {
        let at_rest = self
            .account
            .as_ref()
            .is_some_and(|account| account.anchor().shown.count == count && account.current().shown.count == count);
        if !at_rest || self.left.is_some() {
            self.same = None;
            return false;
        }
        at.since(*self.same.get_or_insert(at)) >= Span::seconds(1)
    }

    pub fn tick(&mut self, at: Moment, manner: Manner, emit: &mut dyn FnMut(Finding)) {
        self.silence(at, manner, emit);
        let age = if self.left.is_some() { HOLD_MOVING } else { HOLD };
        let slow = self.pace.slow();
        if let Some(account) = &mut self.account {
            account.confirm(at, age, slow, emit);
        }
    }

    /// Makes a step of what is pending.
    pub fn flush(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        if let Some(account) = &mut self.account {
            account.flush(at, emit);
        }
    }

    pub fn close(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        match &mut self.account {
            Some(account) => account.close(at, emit),
            None => emit(Finding::EpochClosed { at, pending: Mass::ZERO, forgiven: Mass::ZERO }),
        }
    }

    fn ruler(&self) -> Ruler {
        let first = self.first.unwrap_or(0);
        let origin = self.account.as_ref().map_or(first, |account| account.anchor().shown.count);
        Ruler { origin, milli: self.milli, left: self.left.max(self.onset), first: self.account.is_none() }
    }

    fn rest(&self, verdict: &Verdict) -> Rest {
        let shown = Displayed { count: verdict.count, exponent: self.face.exponent };
        Rest { load: self.one * i128::from(verdict.count), shown, unit: self.face.unit, since: verdict.since }
    }

    /// A piece that falls while the one before it still rings: from here on it is this one that rings.
    fn notice_onset(&mut self, at: Moment, count: i64) {
        let step = self.ruler().counts();
        if self.left.is_none() {
            self.onset = None;
        } else if let Some(last) = self.window.last(Span::millis(250)).filter(|last| last.samples > 1)
            && last.high - last.low <= 3 * step
            && (count < last.low - 3 * step || count > last.high + 3 * step)
        {
            self.onset = Some(at);
        }
    }

    /// Keeps account of when the load left the rest that it was at.
    fn follow(&mut self, at: Moment, count: i64) {
        let Some(account) = &mut self.account else { return };
        let away = (count - account.current().shown.count).abs().saturating_mul(1000);
        let milli = self.milli;
        if away > milli + milli / 4 {
            self.within = None;
            self.left.get_or_insert(at);
        } else if at.since(*self.within.get_or_insert(at)) >= Span::millis(500) {
            self.left = None;
        }
        if let Some(left) = self.left {
            account.leaves(self.one * i128::from(count), at.since(left));
        }
    }

    fn decide(&mut self, at: Moment, verdict: Verdict, emit: &mut dyn FnMut(Finding)) {
        let rest = self.rest(&verdict);
        let milli = self.milli;
        let slow = self.pace.slow();
        let shakes = self.shakes();
        let Some(account) = &mut self.account else {
            self.account = Some(Account::open(rest, self.division * 2));
            emit(Finding::Rested { at, rest });
            self.tell_average(at, &verdict, emit);
            return;
        };
        // A mean that reaches back to before this rest would mix the two.
        if verdict.noisy && verdict.since < account.anchor().since {
            return;
        }
        let origin = i128::from(account.anchor().shown.count) * 1000;
        let mean = Mass::from_femtograms(self.one.femtograms() * (origin + i128::from(verdict.mean)) / 1000);
        if self.left.is_some() {
            // A hand leaves exactly the rest that it found; a piece that only weighs about the same is another load.
            let tolerance = Mass::from_femtograms(self.division.femtograms() * 11 / 10);
            let left = self.left.filter(|_| !self.sways);
            let usual = |step: Mass| self.pace.usual(divisions(step, self.division));
            let gone = |tolerance| {
                let returned = account.returns_to(mean, tolerance, slow, left);
                returned.or_else(|| account.pressed(mean, tolerance, usual).filter(|_| !shakes))
            };
            if let Some(index) = gone(tolerance) {
                account.cancel_from(index, at, emit);
                self.arrive(at, &verdict);
                return;
            }
            let hasty = verdict.span < HASTY;
            if hasty && gone(self.division * 3).is_some() {
                return;
            }
        }
        // In a lull of the hammering a division or two looked settled for a moment, and the old rest stands again.
        let lull = account.last_step().is_some_and(|step| step.abs() <= self.division * 2);
        if self.left.is_none() && lull && !verdict.noisy && verdict.calm >= LULL {
            let tolerance = Mass::from_femtograms(self.division.femtograms() * 3 / 10);
            if let Some(index) = account.returns_to(mean, tolerance, slow, None) {
                account.cancel_from(index, at, emit);
                self.arrive(at, &verdict);
                return;
            }
        }
        if self.left.is_none() && verdict.calm >= Span::millis(600) && verdict.mean.abs() * 2 < milli * 3 {
            account.stands(mean);
        }
        let origin = account.anchor().shown.count;
        let at_anchor = self.window.mean_of(Span::millis(400), origin).abs() * 10 <= milli * 6;
        let arrived = at.since(self.arrived) >= Span::millis(300);
        self.stood |= at_anchor && arrived;
        self.held |= arrived && self.window.mean_of(Span::millis(300), origin).abs() * 10 <= milli * 4;
        self.kept |= arrived && verdict.calm >= KEPT && verdict.mean.abs() <= milli;
        if verdict.mean.abs() <= milli {
            account.still(verdict.calm);
        }
        let least = milli / 5 * 6;
        if verdict.noisy {
            self.stood |= verdict.mean.abs() * 10 <= milli * 6;
            if !self.stood && verdict.mean.abs() < 3 * milli {
                if verdict.mean.abs() > milli && verdict.unsure * 3 < milli && at.since(self.arrived) >= REVISED {
                    self.revise(at, &verdict, emit);
                }
                return;
            }
            if verdict.mean.abs() < 3 * milli {
                let small = self.crumb.see(at, &verdict, verdict.mean, milli / 5 * 8);
                if let Small::Sudden(landed) = small {
                    self.step(at, &verdict, landed, emit);
                }
                return;
            }
        }
        if verdict.mean.abs() >= least {
            let early = !self.stood && verdict.mean.abs() * 2 < 5 * milli && !verdict.noisy;
            if early
                && at.since(self.arrived) >= Span::millis(900)
                && verdict.calm >= Span::millis(600)
                && self.revise(at, &verdict, emit)
            {
                return;
            }
            if self.is_tail(at, &verdict) && self.revise(at, &verdict, emit) {
                return;
            }
            if verdict.noisy || self.is_step(at, &verdict) {
                let landed = self.left.unwrap_or(verdict.since);
                self.step(at, &verdict, landed, emit);
            }
        } else if verdict.calm >= Span::millis(900) && !self.sways {
            // Only a large step leaves a division behind when it is taken early; after a small one it is another piece.
            let large = account.last_step().is_some_and(|step| step.abs() >= self.division * 8);
            let early = !self.stood && verdict.mean.abs() * 5 >= milli * 4;
            let late = at.since(self.reached);
            let rounded = late <= RINGING && !self.crumb.stood() && verdict.mean.abs() * 10 >= milli * 9;
            let due = large && (early || rounded) && late.max(at.since(self.arrived)) >= Span::millis(900);
            if !due || !self.revise(at, &verdict, emit) {
                self.small(at, &verdict, emit);
            }
        }
    }

    fn step(&mut self, at: Moment, verdict: &Verdict, landed: Moment, emit: &mut dyn FnMut(Finding)) {
        let rest = self.rest(verdict);
        let Some(account) = &mut self.account else { return };
        if rest.load == account.anchor().load {
            return;
        }
        if rest.load < account.anchor().load {
            if let Some((crumb, landed)) = self.crumb_rest.take().zip(self.crumb.came(landed)) {
                account.step(crumb, landed, at, emit);
            }
            account.flush(at, emit);
        }
        let size = divisions(rest.load - account.anchor().load, self.division);
        let moved = verdict.since.since(landed);
        self.pace.learn(size, moved, rest.shown.count, (self.milli + 999) / 1000);
        account.step(rest, landed, at, emit);
        account.still(verdict.calm);
        let about = account.about(rest.load).femtograms() / self.one.femtograms().max(1);
        account.came_about(self.window.about(verdict.count, about.min(1 << 50) as i64));
        self.tell_average(at, verdict, emit);
        self.arrive(at, verdict);
    }

    fn tell_average(&self, at: Moment, verdict: &Verdict, emit: &mut dyn FnMut(Finding)) {
        if verdict.noisy || self.swing.reach().is_some() {
            self.tell_unsure(at, verdict.unsure, emit);
        }
    }

    /// `unsure` in thousandths of a count.
    fn tell_unsure(&self, at: Moment, unsure: i64, emit: &mut dyn FnMut(Finding)) {
        emit(Finding::Averaged { at, uncertainty: self.mass(unsure.max(self.swung())) });
    }

    fn mass(&self, thousandths: i64) -> Mass {
        Mass::from_femtograms(self.one.femtograms() * i128::from(thousandths) / 1000)
    }

    fn near_zero(&self, count: i64) -> bool {
        count.saturating_abs().saturating_mul(1000) <= 3 * self.milli
    }

    /// Whether the scale was off and has come back zeroed under a load: a stream was silent for longer than frames get
    /// lost, a load that lay still before is gone, and the first reading is exactly zero. A load that was lifted
    /// while the frames were missing for that long looks the same, so nothing is cleared: the epoch ends and is asked about.
    pub fn slept(&self, at: Moment, count: i64) -> bool {
        let Some(account) = &self.account else { return false };
        let silent = self.last.is_some_and(|last| at.since(last) >= ASLEEP);
        let streamed = self.streamed.is_some() && self.streamed == self.last;
        silent && streamed && count == 0 && self.left.is_none() && !self.near_zero(account.current().shown.count)
    }
}

/// How many divisions a change is.
fn divisions(change: Mass, division: Mass) -> i64 {
    (change.abs().femtograms() / division.femtograms().max(1)).min(1 << 40) as i64
}

/// The division in thousandths of a count, as fine as a verdict needs it.
fn thousandths(division: Mass, one: Mass) -> i64 {
    let milli = division.femtograms().saturating_mul(1000) / one.femtograms().max(1);
    milli.clamp(1000, 1_000_000_000_000) as i64
}

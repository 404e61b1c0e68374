//! The judge: from readings to rests.

use super::account::{Account, Balance};
use super::display::{Face, Grid, Sight};
use super::finding::{EpochCause, Finding, Glance, Manner, Rest};
use super::history::History;
use super::window::{Run, Sample, Window};
use crate::dialect::{News, Reading, Stability};
use crate::measure::{Displayed, Mass, Moment, Span, Unit};

/// What is configured about a bench's scale.
#[derive(Debug, Clone, Copy, Default)]
pub struct Setup {
    /// The scale's division, where its frames do not transmit it.
    pub division: Option<Mass>,
    /// The unit, where its frames do not state it.
    pub unit: Option<Unit>,
    pub manner: Manner,
}

/// Readings in, findings out. It holds no clock: time comes with the readings and the ticks.
#[derive(Debug)]
pub struct Settle {
    setup: Setup,
    grid: Grid,
    epoch: Option<Epoch>,
    /// Why the next epoch opens.
    cause: EpochCause,
    /// A face other than the epoch's, seen once: one damaged frame ends no epoch.
    strange: Option<Face>,
    glance: Option<Glance>,
    now: Moment,
}

/// The state of one epoch.
#[derive(Debug)]
struct Epoch {
    face: Face,
    /// Mass of one count.
    one: Mass,
    division: Mass,
    window: Window,
    history: History,
    account: Option<Account>,
    last: Option<Moment>,
    last_sample: Option<(i64, Stability)>,
    /// The latest moment at which readings came close upon one another: a stream, not a line a load.
    streamed: Option<Moment>,
    silent_done: bool,
    /// When the load left the current rest, and since when it has been within it again.
    left: Option<Moment>,
    within: Option<Moment>,
    change: Change,
    stood: bool,
    arrived_at: Moment,
    forgiven_at: Option<(Moment, Mass)>,
}

/// How a difference of about one division came about.
#[derive(Debug, Clone, Copy, Default)]
struct Change {
    /// First and latest moment at which the mean stood at the anchor.
    near: Option<(Moment, Moment)>,
    /// Since when it has stood one division away, without pause.
    far: Option<Moment>,
}

/// A judgement that the load is settled.
#[derive(Debug, Clone, Copy)]
struct Verdict {
    /// Mean in thousandths of a count above the origin.
    mean: i64,
    count: i64,
    since: Moment,
    span: Span,
    noisy: bool,
}

const HOLD: Span = Span::millis(5000);
const HOLD_MOVING: Span = Span::millis(10_000);
const FORGIVE_AFTER: Span = Span::seconds(20);
const HALF_HOUR: Span = Span::seconds(1800);
const STREAM: Span = Span::millis(700);
const SILENCE: Span = Span::millis(1500);
const FORGET_STREAM: Span = Span::seconds(30);

impl Settle {
    pub fn new(setup: Setup) -> Settle {
        Settle { setup, grid: Grid::new(), epoch: None, cause: EpochCause::Link, strange: None, glance: None, now: Moment(0) }
    }

    /// Takes one reading. Never allocates but where an epoch opens.
    pub fn reading(&mut self, at: Moment, reading: &Reading, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        let at = self.now;
        if let Some(news) = reading.news {
            self.close(at, news.into(), emit);
        }
        let sight = Sight::of(reading, self.setup.unit);
        if let Some(sight) = sight {
            self.weigh(at, sight, reading.stability, emit);
        } else if reading.value.is_none()
            && let Some(epoch) = &mut self.epoch
        {
            epoch.blind();
        }
        let settled = sight.is_some() && self.epoch.as_ref().is_some_and(Epoch::settled);
        self.glance = Some(Glance { reading: *reading, at, settled });
        self.tick(at, emit);
    }

    fn weigh(&mut self, at: Moment, sight: Sight, stability: Stability, emit: &mut dyn FnMut(Finding)) {
        if let Some(epoch) = &self.epoch
            && epoch.face != sight.face
        {
            let sparse = epoch.last.is_some_and(|last| at.since(last) > STREAM);
            if !sparse && self.strange != Some(sight.face) {
                self.strange = Some(sight.face);
                return;
            }
            self.close(at, EpochCause::Display, emit);
        }
        self.strange = None;
        if self.epoch.is_none() {
            self.open(at, sight.face, emit);
        }
        self.grid.see(sight.count);
        let own = self.setup.division.is_none() && sight.face.division.is_none();
        if let Some(epoch) = &mut self.epoch {
            if own {
                epoch.division = epoch.one * i128::from(self.grid.step());
            }
            epoch.weigh(at, sight.count, stability, emit);
        }
    }

    /// Time passes, with or without readings.
    pub fn tick(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        if let Some(epoch) = &mut self.epoch {
            epoch.tick(self.now, emit);
        }
    }

    /// The link is lost: the epoch closes, and the next reading opens another.
    pub fn cut(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        self.close(self.now, EpochCause::Link, emit);
    }

    pub fn set_manner(&mut self, manner: Manner) {
        self.setup.manner = manner;
    }

    pub fn manner(&self) -> Manner {
        self.setup.manner
    }

    pub fn glance(&self) -> Option<Glance> {
        self.glance
    }

    /// The running balance of the epoch, once it has a rest.
    pub fn balance(&self) -> Option<Balance> {
        self.epoch.as_ref()?.account.as_ref().map(Account::balance)
    }

    /// Makes a step of what is pending: crumbs belong to the bin and the leg in force, so it is called before either
    /// changes, and at the end.
    pub fn flush_pending(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        if let Some(account) = self.epoch.as_mut().and_then(|epoch| epoch.account.as_mut()) {
            account.flush(self.now, emit);
        }
    }

    fn open(&mut self, at: Moment, face: Face, emit: &mut dyn FnMut(Finding)) {
        let Some(one) = face.count() else { return };
        let sent = face.division.and_then(|division| Mass::of(division, face.unit));
        let division =
            sent.or(self.setup.division).filter(|division| *division > Mass::ZERO).unwrap_or(one * i128::from(self.grid.step()));
        emit(Finding::EpochOpened { at, cause: self.cause, unit: face.unit, kind: face.kind, division });
        self.epoch = Some(Epoch::new(face, one, division.max(one)));
    }

    fn close(&mut self, at: Moment, cause: EpochCause, emit: &mut dyn FnMut(Finding)) {
        self.cause = cause;
        if let Some(mut epoch) = self.epoch.take() {
            if epoch.face.unit != Unit::Gram || cause == EpochCause::Display {
                self.grid = Grid::new();
            }
            match &mut epoch.account {
                Some(account) => account.close(at, emit),
                None => emit(Finding::EpochClosed { at, pending: Mass::ZERO, forgiven: Mass::ZERO }),
            }
        }
    }
}

impl From<News> for EpochCause {
    fn from(news: News) -> EpochCause {
        match news {
            News::Zeroed => EpochCause::Zeroed,
            News::Tared => EpochCause::Tared,
            News::PoweredUp => EpochCause::PowerUp,
        }
    }
}

impl Epoch {
    const SHORT: Span = Span::millis(810);
    const NOISY: [Span; 3] = [Span::millis(1200), Span::millis(1800), Span::millis(2400)];
    const SHAKEN_MAX: i64 = 40;

    fn new(face: Face, one: Mass, division: Mass) -> Epoch {
        Epoch {
            face,
            one,
            division,
            window: Window::new(),
            history: History::new(),
            account: None,
            last: None,
            last_sample: None,
            streamed: None,
            silent_done: false,
            left: None,
            within: None,
            change: Change::default(),
            stood: false,
            arrived_at: Moment(0),
            forgiven_at: None,
        }
    }

    /// The division in thousandths of a count.
    fn milli(&self) -> i64 {
        let milli = self.division.femtograms().saturating_mul(1000) / self.one.femtograms().max(1);
        milli.clamp(1000, 1_000_000_000_000) as i64
    }

    /// The division in whole counts, rounded up.
    fn counts(&self) -> i64 {
        (self.milli() + 999) / 1000
    }

    fn rest(&self, count: i64, since: Moment) -> Rest {
        let shown = Displayed { count, exponent: self.face.exponent };
        Rest { load: self.one * i128::from(count), shown, unit: self.face.unit, since }
    }

    fn settled(&self) -> bool {
        self.account.is_some() && self.left.is_none()
    }

    /// A frame without a weight: overload, an error. What came before it is not joined to what follows.
    fn blind(&mut self) {
        self.window.clear();
        self.change.far = None;
        self.last_sample = None;
    }

    fn weigh(&mut self, at: Moment, count: i64, stability: Stability, emit: &mut dyn FnMut(Finding)) {
        if let Some(last) = self.last {
            let gap = at.since(last);
            if gap <= STREAM {
                self.streamed = Some(at);
            } else if gap > SILENCE {
                self.window.clear();
                self.change.far = None;
            }
        }
        self.last = Some(at);
        self.last_sample = Some((count, stability));
        self.silent_done = false;
        self.window.push(Sample { at, count });
        self.history.push(at, count);
        self.follow(at, count);
        if let Some(verdict) = self.judge() {
            self.decide(at, verdict, emit);
        }
    }

    /// Keeps account of when the load left the rest that it was at.
    fn follow(&mut self, at: Moment, count: i64) {
        let Some(account) = &self.account else { return };
        let away = (count - account.current().shown.count).abs().saturating_mul(1000);
        if away <= self.milli() + self.milli() / 4 {
            let since = *self.within.get_or_insert(at);
            if at.since(since) >= Span::millis(500) {
                self.left = None;
            }
        } else {
            self.within = None;
            self.left.get_or_insert(at);
        }
    }

    fn origin(&self) -> i64 {
        self.account.as_ref().map_or(0, |account| account.anchor().shown.count)
    }

    fn judge(&self) -> Option<Verdict> {
        let counts = self.counts();
        let run = self.window.quiet(counts)?;
        self.quiet(run).or_else(|| self.noisy(counts))
    }

    /// A run within one division, long enough for the change that it would make.
    ///
    /// The whole run is tried first, then its newest part alone: the tail of a filter lies within one division too,
    /// and would spoil the trend of the whole.
    fn quiet(&self, run: Run) -> Option<Verdict> {
        let newest = self.window.last(Epoch::SHORT)?;
        [newest, run].into_iter().find_map(|part| self.settled_in(part, run))
    }

    fn settled_in(&self, part: Run, run: Run) -> Option<Verdict> {
        let part = if part.samples > run.samples { run } else { part };
        if part.samples < 3 {
            return None;
        }
        let origin = self.origin();
        let milli = self.milli();
        let samples = part.samples;
        let mean = self.window.mean(samples, 0, origin);
        let half = samples / 2;
        let trend = (self.window.mean(half, 0, origin) - self.window.mean(samples - half, half, origin)).abs();
        let gap = mean.abs();
        let moved = self.left.map_or(Span::ZERO, |left| run.since.since(left));
        let needed = match gap / milli {
            _ if self.account.is_none() => Span::millis(800),
            8.. => Span::millis(350),
            2.. => Span::millis(450),
            _ => Span::millis(600),
        };
        let needed = needed.max(Span((moved.0 / 5 * 2).min(Span::millis(675).0)));
        let straight = if part.span < Span::millis(450) { 35 } else { 60 };
        let few = if gap < 2 * milli { 5 } else { 3 };
        if part.samples < few || part.span < needed || trend * 100 > milli * straight {
            return None;
        }
        let count = self.window.nearest(samples, mean, origin);
        Some(Verdict { mean, count, since: run.since, span: part.span, noisy: false })
    }

    /// Where the bench never stands still: a mean over more than a second, as wide as this bench always shakes.
    fn noisy(&self, counts: i64) -> Option<Verdict> {
        let floor = self.history.floor().unwrap_or(0);
        let level = floor.max(counts);
        if level > Epoch::SHAKEN_MAX.saturating_mul(counts) {
            return None;
        }
        let origin = self.origin();
        let milli = self.milli();
        Epoch::NOISY.into_iter().find_map(|wanted| {
            let run = self.window.last(wanted)?;
            let range = run.high - run.low;
            if run.samples < 6 || run.span.0 < wanted.0 / 10 * 8 || range > level + level / 2 + counts {
                return None;
            }
            let mean = self.window.centre(run.samples, origin);
            let third = run.samples / 3;
            let means = [0, third, run.samples - third].map(|skip| self.window.mean(third, skip, origin));
            let spread = means.iter().max()? - means.iter().min()?;
            let far = mean.abs() > range * 2500;
            let allowed = if far { milli + range * 700 } else { milli + range * 350 };
            // A bench that is mostly calm needs its calm for small changes: they are told from creep by it.
            let calm = floor <= counts && !far;
            let within = mean.abs() < range * 1000 && wanted < Span::millis(2400);
            if spread > allowed || calm || within {
                return None;
            }
            let count = self.window.nearest(run.samples, mean, origin);
            Some(Verdict { mean, count, since: run.since, span: run.span, noisy: true })
        })
    }

    fn decide(&mut self, at: Moment, verdict: Verdict, emit: &mut dyn FnMut(Finding)) {
        let milli = self.milli();
        let rest = self.rest(verdict.count, verdict.since);
        let near = self.division * 2;
        let newest = self.window.mean_of(Span::millis(350), self.origin());
        let recent = self.window.mean_of(Span::millis(400), self.origin());
        let Some(account) = &mut self.account else {
            self.account = Some(Account::open(rest, near));
            self.stood = true;
            emit(Finding::Rested { at, rest });
            return;
        };
        let gap = verdict.mean.abs();
        let shift = self.one.femtograms() * i128::from(verdict.mean) / 1000;
        let mean = account.anchor().load + Mass::from_femtograms(shift);
        let tolerance = Mass::from_femtograms(self.division.femtograms() * 14 / 10);
        if self.left.is_some()
            && let Some(index) = account.returns_to(mean, tolerance)
        {
            account.cancel_from(index, at, emit);
            self.arrived(at, verdict);
            return;
        }
        if self.left.is_some() && verdict.span < Span::millis(600) && account.returns_to(mean, self.division * 3).is_some() {
            return;
        }
        if !self.stood && recent.abs() * 10 <= milli * 6 && at.since(self.arrived_at) >= Span::millis(300) {
            self.stood = true;
        }
        let floor = if verdict.noisy { 1500 } else { 1200 };
        if gap * 1000 >= milli * floor {
            let small = !verdict.noisy && gap < 3 * milli;
            if small && (newest.signum() != verdict.mean.signum() || newest.abs() * 100 < milli * 110) {
                return;
            }
            if small && !self.stood && gap * 10 < milli * 25 && at.since(self.arrived_at) < Span::millis(2500) {
                return;
            }
            if rest.load != account.anchor().load {
                let landed = self.left.unwrap_or(verdict.since);
                if rest.load < account.anchor().load {
                    account.flush(at, emit);
                }
                account.step(rest, landed, at, emit);
                self.arrived(at, verdict);
            }
            return;
        }
        if !verdict.noisy && verdict.span >= Span::millis(900) {
            self.creep_or_crumb(at, verdict, rest, emit);
        }
    }

    fn arrived(&mut self, at: Moment, verdict: Verdict) {
        self.stood = verdict.mean.abs() < 8 * self.milli();
        self.arrived_at = at;
        self.left = None;
        self.within = None;
        self.change = Change::default();
    }

    /// A difference of about one division: sudden it is a crumb, slow it is drift.
    fn creep_or_crumb(&mut self, at: Moment, verdict: Verdict, rest: Rest, emit: &mut dyn FnMut(Finding)) {
        let milli = self.milli();
        let gap = verdict.mean.abs();
        let mean = self.window.mean_of(Span::millis(1000), self.origin()).abs();
        let Some(account) = &mut self.account else { return };
        let pending = rest.load - account.current().load;
        if gap * 10 < milli * 9 {
            self.change.far = None;
            if mean * 10 <= milli * 3 {
                let from = self.change.near.map_or(at, |(from, _)| from);
                self.change.near = Some((from, at));
            }
            let unheard = rest.load - account.anchor().load;
            if pending.abs() * 2 >= self.division && unheard.abs() < self.division {
                account.pend(rest, at, emit);
            }
            return;
        }
        let far = *self.change.far.get_or_insert(at);
        let sudden = self
            .change
            .near
            .is_some_and(|(from, until)| until.since(from) >= Span::millis(2000) && far.since(until) <= Span::millis(2500));
        let stood = at.since(far);
        if rest.load == account.anchor().load {
            return;
        }
        if sudden && stood >= Span::millis(2500) {
            let landed = self.change.near.map_or(far, |(_, until)| until);
            account.step(rest, landed, at, emit);
            self.arrived(at, verdict);
        } else if stood >= FORGIVE_AFTER {
            let drift = rest.load - account.anchor().load;
            let fresh = self.forgiven_at.is_none_or(|(when, _)| at.since(when) >= HALF_HOUR);
            let total = account.forgiven() + drift;
            if fresh && total.abs() <= self.division * 3 && drift.abs() <= self.division * 2 {
                self.forgiven_at = Some((at, drift));
                account.forgive(rest, at, emit);
            } else {
                account.step(rest, far, at, emit);
            }
            self.arrived(at, verdict);
        }
    }

    fn tick(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.silence(at, emit);
        let age = if self.left.is_some() { HOLD_MOVING } else { HOLD };
        if let Some(account) = &mut self.account {
            account.confirm(at, age, emit);
        }
    }

    /// A scale that prints one line a load: a line and then silence is a rest.
    fn silence(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        let (Some(last), Some((count, stability))) = (self.last, self.last_sample) else { return };
        let streaming = self.streamed.is_some_and(|when| last.since(when) < FORGET_STREAM);
        if self.silent_done || streaming || stability == Stability::Motion || at.since(last) < SILENCE {
            return;
        }
        self.silent_done = true;
        let mean = (count - self.origin()).saturating_mul(1000);
        let verdict = Verdict { mean, count, since: last, span: SILENCE, noisy: false };
        self.decide(at, verdict, emit);
    }
}

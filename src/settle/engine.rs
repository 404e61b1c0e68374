//! Readings in, findings out: which epoch a reading belongs to.

use super::account::Balance;
use super::danger::Danger;
use super::display::{Face, Grid, Sight};
use super::epoch::Epoch;
use super::finding::{Advice, EpochCause, Finding, Glance, Manner};
use super::kind::Follow;
use crate::dialect::{Flags, News, Reading, Stability};
use crate::measure::{Mass, Moment, Unit};

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
    /// A face other than the epoch's, and how often in a row it was seen: damaged frames end no epoch.
    strange: Option<(Face, u32)>,
    follow: Follow,
    glance: Option<Glance>,
    danger: Danger,
    now: Moment,
}

/// So many frames of a stream in a row must agree before what is displayed is another thing.
const AGREEING: u32 = 3;

impl Settle {
    pub fn new(setup: Setup) -> Settle {
        Settle {
            setup,
            grid: Grid::new(),
            epoch: None,
            cause: EpochCause::Link,
            strange: None,
            follow: Follow::default(),
            glance: None,
            danger: Danger::default(),
            now: Moment(0),
        }
    }

    /// Takes one reading. Never allocates but where an epoch opens.
    pub fn reading(&mut self, at: Moment, reading: &Reading, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        let at = self.now;
        self.tick(at, emit);
        if let Some(news) = reading.news {
            self.release(emit);
            self.close(at, news.into(), emit);
        }
        self.follow.take(at, reading).into_iter().flatten().for_each(|reading| self.see(at, &reading, emit));
    }

    fn see(&mut self, at: Moment, reading: &Reading, emit: &mut dyn FnMut(Finding)) {
        let sight = Sight::of(reading, self.setup.unit);
        if let Some(sight) = sight {
            self.weigh(at, sight, reading.stability, emit);
        } else if reading.flags != Flags::default()
            && let Some(epoch) = &mut self.epoch
        {
            epoch.blind();
        }
        let settled = sight.is_some() && self.epoch.as_ref().is_some_and(Epoch::settled);
        self.glance = Some(Glance { reading: *reading, at, settled });
    }

    fn weigh(&mut self, at: Moment, sight: Sight, stability: Stability, emit: &mut dyn FnMut(Finding)) {
        if let Some(epoch) = &self.epoch
            && epoch.face() != sight.face
        {
            let seen = self.strange.filter(|(face, _)| *face == sight.face).map_or(1, |(_, seen)| seen + 1);
            if epoch.streams_at(at) && seen < AGREEING {
                self.strange = Some((sight.face, seen));
                return;
            }
            self.close(at, EpochCause::Display, emit);
        }
        self.strange = None;
        if self.epoch.as_ref().is_some_and(|epoch| epoch.slept(at, sight.count)) {
            self.close(at, EpochCause::PowerUp, emit);
        }
        if self.epoch.is_none() {
            self.open(at, sight.face, emit);
        }
        self.grid.see(sight.count);
        let own = self.setup.division.is_none() && sight.face.division.is_none();
        if let Some(epoch) = &mut self.epoch {
            if own {
                epoch.count_by(self.grid.step());
            }
            let danger = &mut self.danger;
            let (division, now) = (epoch.division(), at);
            let mut advice = None;
            epoch.weigh(at, sight.count, stability, &mut |finding| {
                if let Finding::Stepped(step) = &finding
                    && danger.see(step, division)
                {
                    advice = Some(Finding::Advise { at: now, advice: Advice::TareContainer });
                }
                emit(finding);
            });
            advice.into_iter().for_each(emit);
        }
    }

    /// Time passes, with or without readings.
    pub fn tick(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        if let Some((then, reading)) = self.follow.due(self.now) {
            self.see(then, &reading, emit);
        }
        if let Some(epoch) = &mut self.epoch {
            epoch.tick(self.now, self.setup.manner, emit);
        }
    }

    /// The link is lost: the epoch closes, and the next reading opens another.
    pub fn cut(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        self.release(emit);
        self.follow = Follow::default();
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
        self.epoch.as_ref()?.balance()
    }

    /// From turn to turn, where the display swings slowly without pause: a change up to about this much waits.
    pub fn swings(&self) -> Option<Mass> {
        self.epoch.as_ref()?.swings()
    }

    /// Makes a step of what is pending: crumbs belong to the bin and the leg in force, so it is called before either
    /// changes, and at the end.
    pub fn flush_pending(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.now = self.now.max(at);
        self.release(emit);
        if let Some(epoch) = &mut self.epoch {
            epoch.flush(self.now, emit);
        }
    }

    /// Weighs what waited for a gross weight of the same frame: none comes now.
    fn release(&mut self, emit: &mut dyn FnMut(Finding)) {
        if let Some((then, reading)) = self.follow.due(Moment(u64::MAX)) {
            self.see(then, &reading, emit);
        }
    }

    fn open(&mut self, at: Moment, face: Face, emit: &mut dyn FnMut(Finding)) {
        let Some(one) = face.count() else { return };
        let sent = face.division.and_then(|division| Mass::of(division, face.unit));
        let division = sent
            .or(self.setup.division)
            .filter(|division| (Mass::ZERO..=Sight::LOAD_MAX).contains(division) && !division.is_zero())
            .unwrap_or(one * i128::from(self.grid.step()));
        emit(Finding::EpochOpened { at, cause: self.cause, unit: face.unit, kind: face.kind, division });
        self.epoch = Some(Epoch::new(face, one, division.max(one)));
    }

    fn close(&mut self, at: Moment, cause: EpochCause, emit: &mut dyn FnMut(Finding)) {
        self.cause = cause;
        self.strange = None;
        if cause == EpochCause::Display {
            self.grid = Grid::new();
        }
        if let Some(mut epoch) = self.epoch.take() {
            epoch.close(at, emit);
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

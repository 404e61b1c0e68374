//! How a bench that never stands still shakes, learned while the load rests.
//!
//! A compressor or a fan goes on while a piece falls, so what its shaking is like is known by then. Time is counted in
//! readings: a display is read out evenly, while the moments at which its frames arrive are not even enough for a
//! fast vibration. Floating point is used here and in `sway` and nowhere else in settling: no reading that stands still
//! ever passes through it, and what comes out of it is an average that is rounded and told as one.

use super::sway::{Point, Room, Sway};
use crate::measure::{Moment, Span};
use std::collections::VecDeque;

/// The level that the newest readings agree with, in thousandths of a count.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    pub mean: i64,
    /// Standard uncertainty of the mean.
    pub unsure: i64,
    /// So many readings agree.
    pub samples: usize,
}

/// What was learned of one bench.
#[derive(Debug)]
pub struct Shake {
    /// Readings of known rests, above the level of each.
    known: VecDeque<Point>,
    /// The newest readings as they came.
    recent: VecDeque<Point>,
    room: Room,
    /// The number of the newest reading; numbers run on where frames are missing.
    number: i64,
    last: Option<Moment>,
    period: Span,
    intervals: u32,
    sway: Option<Sway>,
    /// When the next fit is due.
    due: i64,
}

impl Shake {
    const KEPT: usize = 400;
    const RECENT: Span = Span::seconds(4);
    const FEWEST: usize = 12;
    const REACH: Span = Span::millis(1600);
    /// A machine that ran otherwise half a minute ago is another machine.
    const MEMORY: Span = Span::seconds(30);
    const GAP_MAX: i64 = 100_000;

    pub fn new() -> Shake {
        Shake {
            known: VecDeque::with_capacity(Shake::KEPT + 1),
            recent: VecDeque::with_capacity(Shake::KEPT + 1),
            room: Room::new(Shake::KEPT + 1),
            number: 0,
            last: None,
            period: Span::ZERO,
            intervals: 0,
            sway: None,
            due: 0,
        }
    }

    /// Counts one reading, which shows `milli` thousandths of a count.
    pub fn count(&mut self, at: Moment, milli: i64) {
        let gap = self.last.map_or(Span::ZERO, |last| at.since(last));
        self.last = Some(at);
        if self.intervals == 0 || gap.0 * 2 <= self.period.0 * 3 {
            self.number += 1;
            self.intervals = (self.intervals + 1).min(64);
            let weight = u64::from(self.intervals);
            self.period = Span((self.period.0 / weight) * (weight - 1) + gap.0 / weight);
        } else {
            let missed = (gap.0 + self.period.0 / 2) / self.period.0.max(1);
            self.number += (missed.min(Shake::GAP_MAX as u64) as i64).max(1);
            self.intervals = self.intervals.saturating_sub(8).max(1);
            if self.intervals <= 1 {
                self.period = gap;
            }
        }
        let oldest = self.number - self.readings(Shake::RECENT);
        while self.recent.len() == Shake::KEPT || self.recent.front().is_some_and(|first| first.number < oldest) {
            self.recent.pop_front();
        }
        self.recent.push_back(Point { number: self.number, value: milli as f64 });
    }

    fn readings(&self, span: Span) -> i64 {
        (span.0 / self.period.0.max(1)) as i64
    }

    /// How long so many of the newest readings took.
    pub fn span(&self, samples: usize) -> Span {
        Span(self.period.0.saturating_mul(samples.saturating_sub(1) as u64))
    }

    /// The newest readings are those of a rest at `level` thousandths of a count.
    pub fn learn(&mut self, samples: usize, level: i64) {
        let after = self.known.back().map_or(i64::MIN, |last| last.number);
        let oldest = self.number - self.readings(Shake::MEMORY);
        for point in self.recent.iter().skip(self.recent.len().saturating_sub(samples)) {
            if point.number > after {
                while self.known.len() == Shake::KEPT || self.known.front().is_some_and(|first| first.number < oldest) {
                    self.known.pop_front();
                }
                self.known.push_back(Point { number: point.number, value: point.value - level as f64 });
            }
        }
    }

    /// Fits anew where it is due. `division` in thousandths of a count, as is `range`, which the display commonly runs
    /// through in a second: what deviates by more than that on the average is a change of the load.
    pub fn fit(&mut self, division: i64, range: i64) {
        if self.number < self.due {
            return;
        }
        let enough = |points: &VecDeque<Point>| {
            let reach = points.front().map_or(0, |first| self.number - first.number);
            points.len() >= Shake::FEWEST && reach >= self.readings(Shake::REACH)
        };
        let least = division as f64 * 0.3;
        let most = range as f64;
        if enough(&self.known) {
            self.due = self.number + self.readings(Span::seconds(2)).max(2);
            let sway = Sway::fit(self.known.make_contiguous(), 0.0, least, &mut self.room);
            self.sway = Some(sway).filter(|sway| sway.size() <= most);
            if self.sway.is_none() {
                self.known.clear();
            }
        } else if enough(&self.recent) {
            // Nothing is known yet: the quietest stretch is taken for a rest.
            self.due = self.number + self.readings(Span::millis(400)).max(1);
            let samples = (self.readings(Shake::REACH) as usize).max(Shake::FEWEST);
            let points = self.recent.make_contiguous();
            let points = &points[points.len().saturating_sub(samples)..];
            let mean = points.iter().map(|point| point.value).sum::<f64>() / points.len() as f64;
            let sway = Sway::fit(points, mean, least, &mut self.room);
            let sway = Some(sway).filter(|sway| sway.size() <= most || level(points));
            self.sway = self.sway.filter(|before| sway.is_none_or(|sway| before.size() < sway.size())).or(sway);
        }
    }

    /// What was learned does not hold here any more.
    pub fn forget(&mut self) {
        self.known.clear();
        self.sway = None;
        self.due = 0;
    }

    /// Starts the newest readings anew: what came before does not join to what follows.
    pub fn interrupt(&mut self) {
        self.recent.clear();
    }

    /// What came before the newest `samples` is of another rest.
    pub fn keep(&mut self, samples: usize) {
        self.recent.drain(..self.recent.len().saturating_sub(samples));
        // The first of them were still taken for the old level.
        while let (Some(first), Some(last)) = (self.recent.front(), self.known.back())
            && last.number >= first.number
        {
            self.known.pop_back();
        }
    }

    /// Whether it is known by now how the bench shakes.
    pub fn knows(&self) -> bool {
        self.sway.is_some()
    }

    /// The level that the newest readings agree with, where `before` is the one that the load had.
    pub fn level(&mut self, before: Option<i64>) -> Option<Level> {
        let before = before.map(|before| before as f64);
        let found = self.sway.as_ref()?.level(&self.recent, before, &mut self.room)?;
        Some(Level { mean: found.mean.round() as i64, unsure: found.error.ceil() as i64, samples: found.samples })
    }
}

/// Whether both halves of `points` lie about one level, as shaking does and a change of the load does not.
fn level(points: &[Point]) -> bool {
    let (older, newer) = points.split_at(points.len() / 2);
    let mean = |part: &[Point]| part.iter().map(|point| point.value).sum::<f64>() / part.len().max(1) as f64;
    let spread = |part: &[Point], mean: f64| {
        (part.iter().map(|point| (point.value - mean).powi(2)).sum::<f64>() / part.len().max(1) as f64).sqrt()
    };
    let means = (mean(older), mean(newer));
    (means.0 - means.1).abs() * 2.0 <= spread(older, means.0).min(spread(newer, means.1))
}

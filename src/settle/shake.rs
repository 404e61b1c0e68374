//! How a bench that never stands still shakes: a few steady oscillations, learned while the load rests and taken off
//! what is displayed.
//!
//! A compressor or a fan shakes at one or two frequencies and goes on while a piece falls, so what it will add to the
//! next readings is known. Time is counted in readings: a display is read out evenly, while the moments at which its
//! frames arrive are not even enough for a fast vibration. Floating point is used here and nowhere else in settling; no
//! stored value comes out of it, only which displayed step is the nearest.

use super::wave::{Point, Wave, fit};
use crate::measure::{Moment, Span};
use std::collections::VecDeque;

/// What was learned of one bench.
#[derive(Debug)]
pub struct Shake {
    points: VecDeque<Point>,
    scratch: Vec<f64>,
    /// The number of the newest reading; numbers run on where frames are missing.
    number: i64,
    last: Option<Moment>,
    period: Span,
    intervals: u32,
    model: Option<Model>,
    /// When the next fit is due.
    due: i64,
}

#[derive(Debug, Clone, Copy)]
struct Model {
    waves: [Wave; Shake::WAVES],
    /// The reading that phases are counted from.
    origin: i64,
    /// Standard deviation of what the waves do not explain, in thousandths of a count.
    left_over: f64,
}

impl Shake {
    pub const WAVES: usize = 3;
    const KEPT: usize = 400;
    const FEWEST: usize = 12;
    const REACH: Span = Span::millis(1600);
    /// A compressor's phase is not trusted over a longer time.
    const MEMORY: Span = Span::seconds(30);
    const GAP_MAX: i64 = 100_000;

    pub fn new() -> Shake {
        Shake {
            points: VecDeque::with_capacity(Shake::KEPT + 1),
            scratch: Vec::with_capacity(Shake::KEPT + 1),
            number: 0,
            last: None,
            period: Span::ZERO,
            intervals: 0,
            model: None,
            due: 0,
        }
    }

    /// Counts one reading.
    pub fn count(&mut self, at: Moment) {
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
    }

    /// The newest reading showed `milli` thousandths of a count above the rest that the load is at.
    pub fn learn(&mut self, back: i64, milli: i64) {
        let number = self.number - back;
        if self.points.back().is_some_and(|last| last.number >= number) {
            return;
        }
        let oldest = self.number - (Shake::MEMORY.0 / self.period.0.max(1)) as i64;
        while self.points.len() == Shake::KEPT || self.points.front().is_some_and(|first| first.number < oldest) {
            self.points.pop_front();
        }
        self.points.push_back(Point { number, value: milli as f64 });
    }

    /// Fits the waves anew where it is due. `division` in thousandths of a count.
    pub fn fit(&mut self, division: i64) {
        let reach = self.points.front().map_or(0, |first| self.number - first.number);
        let enough = self.points.len() >= Shake::FEWEST && reach as u64 * self.period.0 >= Shake::REACH.0;
        if self.number < self.due || !enough {
            return;
        }
        let each = if self.model.is_some() { Span::seconds(2) } else { Span::millis(500) };
        self.due = self.number + (each.0 / self.period.0.max(1)).max(2) as i64;
        let points = self.points.make_contiguous();
        let found = fit(points, self.number, &mut self.scratch);
        let good = found.left_over < found.before * 0.5 && found.left_over < division as f64 * 0.9;
        self.model = good.then_some(Model {
            waves: found.waves,
            origin: self.number,
            left_over: found.left_over.max(division as f64 * 0.3),
        });
    }

    /// The model does not hold here any more.
    pub fn forget(&mut self) {
        self.points.clear();
        self.model = None;
        self.due = 0;
    }

    /// What the shaking adds to the newest reading, in thousandths of a count, and the deviation that is left over.
    pub fn now(&self) -> Option<(i64, i64)> {
        let model = self.model?;
        let at = (self.number - model.origin) as f64;
        let sum: f64 = model.waves.iter().map(|wave| wave.at(at)).sum();
        Some((sum.round() as i64, model.left_over.ceil() as i64))
    }
}

//! The last few seconds of displayed counts.

use crate::measure::{Moment, Span};
use std::collections::VecDeque;

/// One displayed count and when it came.
#[derive(Debug, Clone, Copy)]
pub struct Sample {
    pub at: Moment,
    pub count: i64,
}

/// The samples of the last [`Window::HORIZON`], at most [`Window::SAMPLES_MAX`] of them.
#[derive(Debug)]
pub struct Window {
    samples: VecDeque<Sample>,
}

/// A run of samples that ends with the newest one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    pub samples: usize,
    pub since: Moment,
    pub span: Span,
    pub low: i64,
    pub high: i64,
}

impl Window {
    const HORIZON: Span = Span::millis(2500);
    /// 2.5 s at 200 readings a second; a faster scale only shortens the horizon.
    const SAMPLES_MAX: usize = 512;

    pub fn new() -> Window {
        Window { samples: VecDeque::with_capacity(Window::SAMPLES_MAX) }
    }

    pub fn clear(&mut self) {
        self.samples.clear();
    }

    pub fn push(&mut self, sample: Sample) {
        let old = |first: &Sample| sample.at.since(first.at) > Window::HORIZON;
        while self.samples.front().is_some_and(old) || self.samples.len() == Window::SAMPLES_MAX {
            self.samples.pop_front();
        }
        self.samples.push_back(sample);
    }

    /// The longest run up to now whose counts lie within `range` of each other.
    pub fn quiet(&self, range: i64) -> Option<Run> {
        let newest = *self.samples.back()?;
        let mut run = Run { samples: 0, since: newest.at, span: Span::ZERO, low: newest.count, high: newest.count };
        for sample in self.samples.iter().rev() {
            let (low, high) = (run.low.min(sample.count), run.high.max(sample.count));
            if high - low > range {
                break;
            }
            run = Run { samples: run.samples + 1, since: sample.at, span: newest.at.since(sample.at), low, high };
        }
        Some(run)
    }

    /// Since when every sample has been within `range` of `count`.
    pub fn about(&self, count: i64, range: i64) -> Moment {
        let near = self.samples.iter().rev().take_while(|sample| (sample.count - count).abs() <= range);
        near.last().map_or(Moment::default(), |oldest| oldest.at)
    }

    /// The run of the last `span`, whatever its counts.
    pub fn last(&self, span: Span) -> Option<Run> {
        let newest = *self.samples.back()?;
        let mut run = Run { samples: 0, since: newest.at, span: Span::ZERO, low: newest.count, high: newest.count };
        for sample in self.samples.iter().rev().take_while(|sample| newest.at.since(sample.at) <= span) {
            run.samples += 1;
            run.since = sample.at;
            run.span = newest.at.since(sample.at);
            run.low = run.low.min(sample.count);
            run.high = run.high.max(sample.count);
        }
        Some(run)
    }

    /// Mean of the newest `samples`, leaving out the `skip` newest, in thousandths of a count above `origin`.
    pub fn mean(&self, samples: usize, skip: usize, origin: i64) -> i64 {
        let chosen = self.samples.iter().rev().skip(skip).take(samples);
        // 512 differences of at most 2 × 10¹⁵ fit; only the thousandths need more room.
        let sum: i64 = chosen.map(|sample| sample.count - origin).sum();
        (i128::from(sum) * 1000 / samples.max(1) as i128) as i64
    }

    /// Like [`Window::mean`] of the newest `samples`, but weighted as a triangle: an oscillation that does not fit
    /// into the window a whole number of times hardly moves it.
    pub fn centre(&self, samples: usize, origin: i64) -> i64 {
        let (mut sum, mut weights) = (0_i128, 0_i128);
        for (index, sample) in self.samples.iter().rev().take(samples).enumerate() {
            let weight = (index + 1).min(samples - index) as i128;
            sum += i128::from(sample.count - origin) * weight;
            weights += weight;
        }
        (sum * 1000 / weights.max(1)) as i64
    }

    /// Mean of the last `span`, in thousandths of a count above `origin`.
    pub fn mean_of(&self, span: Span, origin: i64) -> i64 {
        self.last(span).map_or(0, |run| self.mean(run.samples, 0, origin))
    }

    /// The count among the newest `samples` that lies nearest to `mean` thousandths above `origin`.
    pub fn nearest(&self, samples: usize, mean: i64, origin: i64) -> i64 {
        let away = |sample: &&Sample| (i128::from(sample.count - origin) * 1000 - i128::from(mean)).abs();
        self.samples.iter().rev().take(samples).min_by_key(away).map_or(origin, |sample| sample.count)
    }
}

//! Whether the load is settled, and at what.
//!
//! Time and divisions decide, not samples: how long the display must have kept within one division depends on how
//! large the change is and on how long the load moved before.

use super::history::History;
use super::pace::Pace;
use super::window::{Run, Window};
use crate::measure::{Moment, Span};

/// A judgement that the load is settled.
#[derive(Debug, Clone, Copy)]
pub struct Verdict {
    /// Mean in thousandths of a count above the ruler's origin.
    pub mean: i64,
    /// The displayed count that lies nearest to the mean.
    pub count: i64,
    /// When the load came to rest.
    pub since: Moment,
    /// How long the mean reaches back.
    pub span: Span,
    /// How long the display has kept within one division.
    pub calm: Span,
    /// The display does not stand still: a mean over its shaking.
    pub noisy: bool,
    /// Standard uncertainty of such a mean, in thousandths of a count.
    pub unsure: i64,
}

/// What is measured with.
#[derive(Debug, Clone, Copy)]
pub struct Ruler {
    /// The count that means are reckoned from: the last rest.
    pub origin: i64,
    /// The division in thousandths of a count.
    pub milli: i64,
    /// When the load left the last rest.
    pub left: Option<Moment>,
    /// There is no rest yet.
    pub first: bool,
}

/// A large change is seen at once; a small one must be told from a knock and from creep.
const CALM_LARGE: Span = Span::millis(300);
const CALM_MIDDLE: Span = Span::millis(450);
const CALM_SMALL: Span = Span::millis(600);
const CALM_SHAKEN: Span = Span::millis(1200);
const CALM_FIRST: Span = Span::millis(800);
/// What moved for long rings for long: two fifths of it must be calm, up to this.
const CALM_MOVED_MAX: Span = Span::millis(675);
/// Where more is known of this bench or of this step.
const CALM_KNOWN: Span = Span::millis(190);
const CALM_VOUCHED: Span = Span::millis(180);
/// The least that is ever judged alone.
const SHORTEST: Span = Span::millis(250);
/// The newest part of a calm stretch, from which small changes are read: long enough for five samples at 5 Hz.
const NEWEST: Span = Span::millis(810);
/// Windows over a display that never stands still, the shortest that agrees with itself first.
const NOISY: [Span; 3] = [Span::millis(1200), Span::millis(1800), Span::millis(2400)];
/// A bench that shakes more than this many divisions weighs nothing.
const SHAKEN_MAX: i64 = 40;

impl Ruler {
    /// The division in whole counts, rounded up.
    pub fn counts(&self) -> i64 {
        (self.milli + 999) / 1000
    }

    /// The count nearest to `mean` that the display can show.
    fn nearest(&self, mean: i64) -> i64 {
        self.origin + (mean - self.beyond(mean)) / 1000
    }

    /// What of `mean` is left beside the nearest count that the display can show.
    pub fn beyond(&self, mean: i64) -> i64 {
        let step = if self.milli % 1000 == 0 { self.milli } else { 1000 };
        mean - (mean + mean.signum() * step / 2) / step * step
    }
}

/// The verdict on the newest samples, if they allow one.
pub fn judge(window: &Window, history: &History, pace: &Pace, ruler: &Ruler) -> Option<Verdict> {
    let run = window.quiet(ruler.counts())?;
    // The newest part first: a change of one division stays within the calm of what was before it.
    let newest = window.last(NEWEST)?;
    // Where a short calm is enough, the last of the ringing before it must not hold it up.
    let shortest = window.last(SHORTEST)?;
    let calm = [newest, run, shortest].into_iter().find_map(|part| quiet(window, part, run, pace, ruler));
    // Where it never stands still a short calm is luck.
    let shaken = history.shaken(2 * ruler.counts());
    let calm = calm.filter(|_| !shaken || (run.span >= CALM_SHAKEN && run.samples >= 8));
    calm.or_else(|| noisy(window, history, ruler))
}

/// What makes a short calm enough.
enum Known {
    Nothing,
    /// By now steps of this size have always come to rest on this bench.
    Usual,
    /// The scale's flag says so, and has been right each of the last times.
    Vouched,
}

fn known(run: Run, pace: &Pace, ruler: &Ruler, mean: i64, moved: Span) -> Known {
    let size = mean.abs() / ruler.milli;
    if ruler.first || ruler.left.is_none() || size < 8 {
        return Known::Nothing;
    }
    if pace.vouched() {
        return Known::Vouched;
    }
    if pace.usual(size).is_some_and(|usual| moved <= usual && moved.plus(run.span) >= usual) {
        return Known::Usual;
    }
    Known::Nothing
}

/// A stretch within one division, long enough for the change that it would make, and without a trend.
fn quiet(window: &Window, part: Run, run: Run, pace: &Pace, ruler: &Ruler) -> Option<Verdict> {
    let part = if part.samples > run.samples { run } else { part };
    let samples = part.samples;
    if samples < 2 {
        return None;
    }
    let mean = window.mean(samples, 0, ruler.origin);
    let moved = ruler.left.map_or(Span::ZERO, |left| run.since.since(left));
    let (calm, fewest) = match mean.abs() / ruler.milli {
        _ if ruler.first => (CALM_FIRST, 3),
        8.. => (CALM_LARGE, 3),
        2.. => (CALM_MIDDLE, 3),
        _ => (CALM_SMALL, 5),
    };
    let needed = calm.max(Span(moved.0 / 3).min(CALM_MOVED_MAX));
    let (needed, fewest) = match known(run, pace, ruler, mean, moved) {
        Known::Nothing => (needed, fewest),
        Known::Usual => (needed.min(CALM_KNOWN), 2),
        Known::Vouched => (CALM_VOUCHED, 2),
    };
    // In a short stretch a single count that goes on in the old direction is the tail of the movement.
    let straight = match (part.span < Span::millis(400), mean.abs() / ruler.milli >= 8) {
        (true, _) => 35,
        (false, false) => 60,
        (false, true) => 105,
    };
    let half = samples / 2;
    let newer = window.mean(half, 0, ruler.origin);
    let trend = newer - window.mean(samples - half, half, ruler.origin);
    if samples < fewest || part.span < needed || trend.abs() * 100 > ruler.milli * straight {
        return None;
    }
    // Where it still goes on by a part of a division, the newer half is nearer to what it will come to.
    let onward = trend.signum() == mean.signum() && trend.abs() * 10 > ruler.milli * 3;
    let towards = if onward { newer } else { mean };
    let count = window.nearest(samples, towards, ruler.origin);
    let (since, span, calm) = (run.since, part.span, run.span);
    Some(Verdict { mean, count, since, span, calm, noisy: false, unsure: 0 })
}

/// Where the bench never stands still: a mean over more than a second, no wider than this bench always shakes.
fn noisy(window: &Window, history: &History, ruler: &Ruler) -> Option<Verdict> {
    let counts = ruler.counts();
    let floor = history.floor().unwrap_or(0);
    let level = floor.max(counts);
    if level > SHAKEN_MAX.saturating_mul(counts) {
        return None;
    }
    NOISY.into_iter().find_map(|wanted| {
        let run = window.last(wanted)?;
        let range = run.high - run.low;
        if run.samples < 6 || run.span.0 < wanted.0 / 10 * 8 || range > level + level / 2 + counts {
            return None;
        }
        let mean = window.centre(run.samples, ruler.origin);
        let third = run.samples / 3;
        let means = [0, third, run.samples - third].map(|skip| window.mean(third, skip, ruler.origin));
        let spread = means.iter().max()? - means.iter().min()?;
        let far = ruler.first || mean.abs() > range * 2500;
        let allowed = ruler.milli + range * if far { 700 } else { 350 };
        // A bench that is mostly calm needs its calm for small changes: they are told from creep by it.
        let needs_calm = floor <= counts && !far;
        // A change that is lost in the shaking needs the longest mean.
        let needs_longest = wanted < NOISY[2] && (ruler.first || !far && mean.abs() < range * 1000);
        if spread > allowed || needs_calm || needs_longest {
            return None;
        }
        // Three means that spread evenly over so much deviate by this; no less than a display can tell.
        let unsure = (spread * 100 / 346).max(ruler.milli * 100 / 346);
        let (since, span, count) = (run.since, run.span, ruler.nearest(mean));
        Some(Verdict { mean, count, since, span, calm: Span::ZERO, noisy: true, unsure })
    })
}

//! How fast this bench comes to rest, and whether the scale's own flag has proved right here.

use crate::dialect::Stability;
use crate::measure::Span;

/// What the last steps taught.
#[derive(Debug)]
pub struct Pace {
    /// Size in divisions, and the time from leaving one rest to coming within a division of the next.
    seen: [(i64, Span); Pace::KEPT],
    count: usize,
    /// The count at which the flag last turned to stable since the load moved.
    claim: Option<i64>,
    flag: Stability,
    /// Claims in a row that the rest bore out.
    proved: u32,
}

impl Pace {
    const KEPT: usize = 16;
    /// So many steps of the size at least are needed to know.
    const FEWEST: usize = 4;
    const SLOW: Span = Span::millis(800);
    const PROVED: u32 = 10;
    /// What moved for longer was a hand, or several pieces.
    const MOVED_MAX: Span = Span::millis(1300);

    pub fn new() -> Pace {
        Pace { seen: [(0, Span::ZERO); Pace::KEPT], count: 0, claim: None, flag: Stability::Unknown, proved: 0 }
    }

    /// A step of `size` divisions took `moved` to come within a division of its rest, at which the display shows
    /// `count`, with `step` counts a division.
    pub fn learn(&mut self, size: i64, moved: Span, count: i64, step: i64) {
        if size >= 8 && moved <= Pace::MOVED_MAX {
            self.seen[self.count % Pace::KEPT] = (size, moved);
            self.count += 1;
        }
        match self.claim.take() {
            Some(claim) if (claim - count).abs() <= step => self.proved += 1,
            Some(_) => self.proved = 0,
            None => {}
        }
    }

    /// The flag of the newest reading.
    pub fn flag(&mut self, flag: Stability, count: i64, moving: bool) {
        if !moving {
            self.claim = None;
        } else if flag == Stability::Stable && self.flag == Stability::Motion {
            self.claim.get_or_insert(count);
        }
        self.flag = flag;
    }

    /// The flag says stable, and has been right each of the last times.
    pub fn vouched(&self) -> bool {
        self.flag == Stability::Stable && self.claim.is_some() && self.proved >= Pace::PROVED
    }

    /// A load that took so long to come to rest did not fall: it was leaned or laid on.
    pub fn slow(&self) -> Span {
        self.longest(|_, moved| Some(moved)).map_or(Pace::SLOW, |usual| Span(usual.0 + usual.0 / 10))
    }

    /// How long a step of about this size takes here, but for the slowest one.
    ///
    /// What is left of a step dies away by the same share in the same time, so the time grows with the size's logarithm.
    pub fn usual(&self, size: i64) -> Option<Span> {
        let wanted = magnitude(size);
        self.longest(|seen, moved| (seen * 4 >= size).then(|| Span(moved.0 / magnitude(seen) * wanted)))
    }

    fn longest(&self, time: impl Fn(i64, Span) -> Option<Span>) -> Option<Span> {
        let (mut most, mut second, mut count) = (Span::ZERO, Span::ZERO, 0);
        for (seen, moved) in &self.seen[..self.count.min(Pace::KEPT)] {
            if let Some(moved) = time(*seen, *moved) {
                count += 1;
                second = second.max(moved.min(most));
                most = most.max(moved);
            }
        }
        (count >= Pace::FEWEST).then_some(if count > Pace::KEPT / 2 { second } else { most })
    }
}

/// A logarithm in quarters of a doubling, and a doubling and a half more for the time before anything dies away.
fn magnitude(size: i64) -> u64 {
    let size = u128::from(size.unsigned_abs().clamp(1, 1 << 30));
    u64::from(size.pow(4).ilog2()) + 6
}

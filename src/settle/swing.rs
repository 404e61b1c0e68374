//! A display that swings slowly, up and down without pause.
//!
//! A vibration that runs nearly at a multiple of the rate of the frames shows as a wandering by its whole amplitude, half a
//! turn a second or slower. For a moment it looks calm at every turn, so its turns look like small loads that come and
//! go. What tells it from the work of a person is that it goes down as slowly as up, again and again, and rests nowhere.

use crate::measure::{Moment, Span};

/// The mean of the readings of half a second.
#[derive(Debug, Clone, Copy)]
struct Slot {
    number: u64,
    sum: i64,
    readings: i64,
    /// The largest changes from one moment to the next, down and up.
    leaps: [i64; 2],
    /// The shaking was known by then, and weighed through.
    known: bool,
}

/// What the last half-minute of the display was like.
#[derive(Debug)]
pub struct Swing {
    slots: [Option<Slot>; Swing::SLOTS],
    newest: u64,
    /// What was shown in the last moments, the newest first.
    before: [Option<(Moment, i64)>; 4],
    reach: Option<i64>,
}

/// A slow way in one direction.
#[derive(Debug, Clone, Copy, Default)]
struct Way {
    slots: usize,
    height: i64,
    steepest: i64,
    leap: i64,
}

/// All slow ways of the last half-minute.
#[derive(Debug)]
struct Ways {
    ups: usize,
    downs: usize,
    heights: [i64; Swing::SLOTS],
    /// Slots that there are, on these ways, in rests, and in which the shaking was not known.
    seen: usize,
    moving: usize,
    resting: usize,
    unknown: usize,
}

impl Swing {
    const SLOTS: usize = 60;
    const SLOT: u64 = Span::millis(500).0;
    /// Ten seconds.
    const FEWEST: usize = 20;
    /// A second without a change: a rest between two loads and no turn.
    const RESTS: usize = 2;
    /// A load has come down in little more time.
    const MOMENT: Span = Span::millis(250);
    /// Ways up, and ways down.
    const WAYS: usize = 3;
    /// Divisions: a larger way is not shaking.
    const HIGHEST: i64 = 40;

    pub fn new() -> Swing {
        Swing { slots: [None; Swing::SLOTS], newest: 0, before: [None; 4], reach: None }
    }

    /// Takes one reading. `division` in counts; `known`: the shaking is known and weighed through.
    pub fn push(&mut self, at: Moment, count: i64, division: i64, known: bool) {
        let recent = self.before.iter().flatten().take_while(|(then, _)| at.since(*then) <= Swing::MOMENT);
        let shown = recent.last().map_or(count, |(_, shown)| *shown);
        let leaps = [shown.saturating_sub(count), count.saturating_sub(shown)];
        if self.before[0].is_none_or(|(then, _)| at.since(then) >= Span(Swing::MOMENT.0 / 5)) {
            self.before.rotate_right(1);
            self.before[0] = Some((at, count));
        }
        let number = at.0 / Swing::SLOT;
        let place = (number % Swing::SLOTS as u64) as usize;
        match &mut self.slots[place] {
            Some(slot) if slot.number == number => {
                slot.sum = slot.sum.saturating_add(count);
                slot.readings += 1;
                slot.leaps = [slot.leaps[0].max(leaps[0]), slot.leaps[1].max(leaps[1])];
                slot.known = known;
            }
            _ => {
                self.reach = self.judge(division.saturating_mul(1000));
                self.newest = number;
                self.slots[place] = Some(Slot { number, sum: count, readings: 1, leaps, known });
            }
        }
    }

    /// From turn to turn, in thousandths of a count, where the display swings.
    pub fn reach(&self) -> Option<i64> {
        self.reach
    }

    fn slot(&self, number: u64) -> Option<&Slot> {
        self.slots[(number % Swing::SLOTS as u64) as usize].as_ref().filter(|slot| slot.number == number)
    }

    fn mean(&self, number: u64) -> Option<i64> {
        self.slot(number).map(|slot| (i128::from(slot.sum) * 1000 / i128::from(slot.readings)) as i64)
    }

    fn judge(&self, milli: i64) -> Option<i64> {
        let ways = self.ways(milli);
        // What is known is weighed through, as long as it is not all there is.
        let sure = ways.moving * 5 >= ways.seen * 3;
        let unknown = ways.unknown * 10 >= ways.seen * 3;
        if sure || unknown && ways.moving * 3 >= ways.seen { ways.reach() } else { None }
    }

    fn ways(&self, milli: i64) -> Ways {
        let first = (self.newest + 1).saturating_sub(Swing::SLOTS as u64);
        let heights = [0; Swing::SLOTS];
        let mut ways = Ways { ups: 0, downs: 0, heights, seen: 0, moving: 0, resting: 0, unknown: 0 };
        let (mut way, mut before, mut flat) = (Way::default(), None::<i64>, 0_usize);
        // One more than there is: the last way ends, too.
        for number in first..=self.newest + 1 {
            let slot = self.slot(number);
            let mean = self.mean(number);
            ways.seen += usize::from(slot.is_some());
            ways.unknown += usize::from(slot.is_some_and(|slot| !slot.known));
            let change = mean.zip(before).map_or(0, |(mean, before)| mean.saturating_sub(before));
            before = mean;
            let slowly = change.saturating_abs() * 5 >= milli * 2;
            if !slowly || change.signum() != way.height.signum() {
                if way.slow(milli) {
                    ways.add(&way);
                }
                way = Way::default();
            }
            flat = if slowly || slot.is_none() { 0 } else { flat + 1 };
            if flat == Swing::RESTS {
                ways.resting += flat;
            } else if flat > Swing::RESTS {
                ways.resting += 1;
            }
            if slowly {
                let Way { slots, height, steepest, leap } = way;
                let steepest = steepest.max(change.saturating_abs());
                let leap = leap.max(slot.map_or(0, |slot| slot.leaps[usize::from(change > 0)]));
                way = Way { slots: slots + 1, height: height.saturating_add(change), steepest, leap };
            }
        }
        ways
    }
}

impl Ways {
    fn add(&mut self, way: &Way) {
        if let Some(place) = self.heights.get_mut(self.ups + self.downs) {
            *place = way.height.saturating_abs();
            self.moving += way.slots;
            *(if way.height > 0 { &mut self.ups } else { &mut self.downs }) += 1;
        }
    }

    /// The height in the middle, where they are those of a swing.
    fn reach(mut self) -> Option<i64> {
        let enough = self.seen >= Swing::FEWEST && self.ups >= Swing::WAYS && self.downs >= Swing::WAYS;
        // This is also how it ends: three seconds or so at rest.
        let restless = self.resting * 10 <= self.seen;
        let heights = self.heights.get_mut(..self.ups + self.downs).filter(|_| enough && restless)?;
        heights.sort_unstable();
        heights.get(heights.len() / 2).copied()
    }
}

impl Way {
    /// A second or longer, two divisions or more, and without a leap as of a load, which is down in a moment.
    fn slow(&self, milli: i64) -> bool {
        let height = self.height.saturating_abs();
        let far = (2 * milli..=Swing::HIGHEST.saturating_mul(milli)).contains(&height);
        let leaps = self.leap.saturating_mul(1000) > (height / 20 * 9).saturating_add(milli);
        self.slots >= 2 && far && !leaps && self.steepest.saturating_mul(4) <= height.saturating_mul(3)
    }
}

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
    /// The shaking was known by then, and weighed through.
    known: bool,
}

/// What the last half-minute of the display was like.
#[derive(Debug)]
pub struct Swing {
    slots: [Option<Slot>; Swing::SLOTS],
    newest: u64,
    reach: Option<i64>,
}

/// A slow way in one direction.
#[derive(Debug, Clone, Copy, Default)]
struct Way {
    slots: usize,
    height: i64,
    steepest: i64,
}

impl Swing {
    const SLOTS: usize = 60;
    const SLOT: u64 = Span::millis(500).0;
    /// Ten seconds.
    const FEWEST: usize = 20;
    /// Four seconds within one division: no swing turns for so long.
    const STILL: u64 = 8;
    /// Ways up, and ways down.
    const WAYS: usize = 3;
    /// Divisions: a larger way is not shaking.
    const HIGHEST: i64 = 40;

    pub fn new() -> Swing {
        Swing { slots: [None; Swing::SLOTS], newest: 0, reach: None }
    }

    /// Takes one reading. `division` in counts; `known`: the shaking is known and weighed through.
    pub fn push(&mut self, at: Moment, count: i64, division: i64, known: bool) {
        let number = at.0 / Swing::SLOT;
        let place = (number % Swing::SLOTS as u64) as usize;
        match &mut self.slots[place] {
            Some(slot) if slot.number == number => {
                slot.sum = slot.sum.saturating_add(count);
                slot.readings += 1;
                slot.known = known;
            }
            _ => {
                let milli = division.saturating_mul(1000);
                if self.still(milli) {
                    *self = Swing::new();
                }
                self.reach = self.judge(milli);
                self.newest = number;
                self.slots[place] = Some(Slot { number, sum: count, readings: 1, known });
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

    fn still(&self, milli: i64) -> bool {
        let newest = (self.newest + 1).saturating_sub(Swing::STILL)..=self.newest;
        let range = newest.clone().filter_map(|number| self.mean(number)).fold(None, |range, mean| match range {
            Some((low, high)) => Some((mean.min(low), mean.max(high))),
            None => Some((mean, mean)),
        });
        newest.clone().all(|number| self.slot(number).is_some()) && range.is_some_and(|(low, high)| high - low <= milli)
    }

    fn judge(&self, milli: i64) -> Option<i64> {
        let first = (self.newest + 1).saturating_sub(Swing::SLOTS as u64);
        let (mut seen, mut unknown, mut moving) = (0_usize, 0_usize, 0_usize);
        let (mut ups, mut downs) = (0_usize, 0_usize);
        let mut heights = [0_i64; Swing::SLOTS];
        let (mut way, mut before) = (Way::default(), None::<i64>);
        // One more than there is: the last way ends, too.
        for number in first..=self.newest + 1 {
            let slot = self.slot(number);
            let mean = self.mean(number);
            seen += usize::from(slot.is_some());
            unknown += usize::from(slot.is_some_and(|slot| !slot.known));
            let change = mean.zip(before).map_or(0, |(mean, before)| mean.saturating_sub(before));
            before = mean;
            let slowly = change.saturating_abs() * 5 >= milli * 2;
            if !slowly || change.signum() != way.height.signum() {
                if way.slow(milli) {
                    heights[ups + downs] = way.height.abs();
                    moving += way.slots;
                    *(if way.height > 0 { &mut ups } else { &mut downs }) += 1;
                }
                way = Way::default();
            }
            if slowly {
                let Way { slots, height, steepest } = way;
                let steepest = steepest.max(change.saturating_abs());
                way = Way { slots: slots + 1, height: height.saturating_add(change), steepest };
            }
        }
        let enough = seen >= Swing::FEWEST && ups >= Swing::WAYS && downs >= Swing::WAYS;
        // What is known is weighed through, as long as it is not all there is.
        let sure = moving * 5 >= seen * 3;
        let swings = enough && (sure || moving * 3 >= seen && unknown * 10 >= seen * 3);
        let heights = &mut heights[..ups + downs];
        heights.sort_unstable();
        swings.then(|| heights[heights.len() / 2])
    }
}

impl Way {
    /// A second or longer, two divisions or more, and not in one leap.
    fn slow(&self, milli: i64) -> bool {
        let height = self.height.saturating_abs();
        let far = (2 * milli..=Swing::HIGHEST.saturating_mul(milli)).contains(&height);
        self.slots >= 2 && far && self.steepest.saturating_mul(4) <= height.saturating_mul(3)
    }
}

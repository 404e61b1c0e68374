//! How much this bench shakes: the ranges of the last twelve seconds, in half-second slots.

use crate::measure::{Moment, Span};

#[derive(Debug, Clone, Copy)]
struct Slot {
    number: u64,
    low: i64,
    high: i64,
    /// A calm that would do for a rest ended in it.
    calm: bool,
}

/// A ring of half-second slots, indexed by time.
#[derive(Debug)]
pub struct History {
    slots: [Option<Slot>; History::SLOTS],
    newest: u64,
}

impl History {
    const SLOTS: usize = 24;
    /// Fewer slots may be one piece that fell just as we began to listen.
    const ENOUGH: u32 = 4;
    const SLOT: u64 = Span::millis(500).0;

    pub fn new() -> History {
        History { slots: [None; History::SLOTS], newest: 0 }
    }

    /// `calm`: the display has kept within one division for long enough to be a rest.
    pub fn push(&mut self, at: Moment, count: i64, calm: bool) {
        let number = at.0 / History::SLOT;
        self.newest = self.newest.max(number);
        let place = &mut self.slots[(number % History::SLOTS as u64) as usize];
        match place {
            Some(slot) if slot.number == number => {
                slot.low = slot.low.min(count);
                slot.high = slot.high.max(count);
                slot.calm |= calm;
            }
            _ => *place = Some(Slot { number, low: count, high: count, calm }),
        }
    }

    fn slot(&self, number: u64) -> Option<&Slot> {
        self.slots[(number % History::SLOTS as u64) as usize].as_ref().filter(|slot| slot.number == number)
    }

    /// Whether the display has moved by `range` or more all the time, but for a lucky moment.
    pub fn shaken(&self, range: i64) -> bool {
        let (slots, calm) = self.calm();
        slots >= History::ENOUGH && calm * 8 <= slots && self.floor().is_some_and(|floor| floor >= range)
    }

    /// Whether the display comes to rest again and again, as it does under a person's hands.
    pub fn often_calm(&self) -> bool {
        let (slots, calm) = self.calm();
        calm * 3 >= slots
    }

    /// How many slots are known, and how many of them had a calm.
    fn calm(&self) -> (u32, u32) {
        let first = self.newest.saturating_sub(History::SLOTS as u64 - 1);
        let known = (first..=self.newest).filter_map(|number| self.slot(number));
        known.fold((0, 0), |(slots, calm), slot| (slots + 1, calm + u32::from(slot.calm)))
    }

    /// The range that a whole second of the history had or exceeded three times out of four: the shaking that never
    /// stops. The very least would be luck, and the middle would count the pieces that fell.
    pub fn floor(&self) -> Option<i64> {
        let first = self.newest.saturating_sub(History::SLOTS as u64 - 1);
        let mut ranges = [0; History::SLOTS];
        let mut seconds = 0;
        for number in first..self.newest {
            if let (Some(one), Some(two)) = (self.slot(number), self.slot(number + 1)) {
                ranges[seconds] = one.high.max(two.high) - one.low.min(two.low);
                seconds += 1;
            }
        }
        let ranges = &mut ranges[..seconds];
        ranges.sort_unstable();
        let least = *ranges.get(seconds / 12)?;
        let common = *ranges.get(seconds / 4)?;
        Some(common.min(least.saturating_mul(2)))
    }
}

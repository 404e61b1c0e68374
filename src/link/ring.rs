//! The bounded queue between a reader and who takes from it: when it is full the oldest bytes go and a gap is marked.

use super::{Identity, Why};
use crate::measure::{Moment, Span};
use std::collections::VecDeque;

/// One thing that happened on the link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// When it was read, by the boot's clock (or by the source's own, for a tape).
    pub at: Moment,
    pub event: Event,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// The device is open. What follows starts anywhere within a frame.
    Up {
        device: Identity,
    },
    Bytes(Vec<u8>),
    /// A command of the operator, from a tape.
    Control(String),
    /// So many bytes were dropped here, because the taker was too slow.
    Gap {
        lost: u64,
    },
    /// Nothing came for so long. Told once for each stretch of silence.
    Silence {
        since: Span,
    },
    /// The device is closed or could not be opened; told once for each reason, and looked for again.
    Down {
        why: Why,
    },
}

/// A ring that holds at most so many items and so many bytes.
#[derive(Debug)]
pub struct Ring {
    items: VecDeque<Item>,
    bytes: usize,
    items_max: usize,
    bytes_max: usize,
}

impl Ring {
    /// Room for well over a minute of the fastest scale.
    pub const ITEMS: usize = 8192;
    pub const BYTES: usize = 256 * 1024;

    /// Both limits must be at least 1.
    pub fn new(items_max: usize, bytes_max: usize) -> Ring {
        Ring { items: VecDeque::new(), bytes: 0, items_max, bytes_max }
    }

    /// Adds an item, making room first by dropping the oldest bytes.
    pub fn push(&mut self, item: Item) {
        self.bytes += size(&item);
        self.items.push_back(item);
        while self.items.len() > self.items_max || self.bytes > self.bytes_max {
            self.drop_oldest();
        }
    }

    pub fn pop(&mut self) -> Option<Item> {
        let item = self.items.pop_front()?;
        self.bytes -= size(&item);
        Some(item)
    }

    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Whether another item of the usual size would fit without loss.
    pub fn has_room(&self) -> bool {
        self.items.len() < self.items_max && self.bytes < self.bytes_max / 2
    }

    /// The oldest bytes become a gap, or join the gap before them. Ups and downs stay: they are few, and who takes
    /// from the ring must not believe in a link that is gone. Only a ring full of nothing else loses those too.
    fn drop_oldest(&mut self) {
        let Some(index) = self.items.iter().position(|item| matches!(item.event, Event::Bytes(_))) else {
            self.items.pop_front();
            return;
        };
        let lost = size(&self.items[index]);
        self.bytes -= lost;
        let lost = lost as u64;
        if let Some(before) = index.checked_sub(1)
            && let Event::Gap { lost: total } = &mut self.items[before].event
        {
            *total += lost;
            self.items.remove(index);
        } else {
            self.items[index].event = Event::Gap { lost };
        }
    }
}

fn size(item: &Item) -> usize {
    match &item.event {
        Event::Bytes(bytes) => bytes.len(),
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn drain(ring: &mut Ring) -> Vec<Event> {
        std::iter::from_fn(|| ring.pop()).map(|item| item.event).collect()
    }

    fn item(event: Event) -> Item {
        Item { at: Moment(0), event }
    }

    proptest! {
        /// Whatever is pushed: the limits hold, what comes out is the newest bytes in order behind one gap that
        /// counts exactly what is missing.
        #[test]
        fn overflow_loses_the_oldest_only(chunks in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 1..9), 1..60), items_max in 2_usize..12, bytes_max in 10_usize..60) {
            let mut ring = Ring::new(items_max, bytes_max);
            for chunk in &chunks {
                ring.push(item(Event::Bytes(chunk.clone())));
                prop_assert!(ring.items.len() <= items_max);
                prop_assert!(ring.bytes <= bytes_max);
            }
            let whole = chunks.concat();
            let (mut lost, mut kept) = (0, Vec::new());
            for (index, event) in drain(&mut ring).into_iter().enumerate() {
                match event {
                    Event::Gap { lost: count } => { prop_assert_eq!(index, 0); lost = count as usize }
                    Event::Bytes(bytes) => kept.extend(bytes),
                    other => prop_assert!(false, "{:?}", other),
                }
            }
            prop_assert_eq!(&whole[lost..], &kept[..]);
            prop_assert!(lost == 0 || whole.len() > bytes_max || chunks.len() > items_max);
        }
    }

    #[test]
    fn a_lost_link_is_told_even_when_bytes_are_dropped() {
        let mut ring = Ring::new(4, 100);
        ring.push(item(Event::Bytes(b"one".to_vec())));
        ring.push(item(Event::Down { why: Why::TapeEnded }));
        for _ in 0..10 {
            ring.push(item(Event::Bytes(b"more".to_vec())));
        }
        let events = drain(&mut ring);
        assert_eq!(events[0], Event::Gap { lost: 3 });
        assert_eq!(events[1], Event::Down { why: Why::TapeEnded });
        assert_eq!(events[2], Event::Gap { lost: 36 });
        assert_eq!(events[3], Event::Bytes(b"more".to_vec()));
        assert_eq!(events.len(), 4);
    }
}

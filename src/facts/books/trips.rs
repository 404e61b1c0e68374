//! Folding what a drive is planned from.

use super::Books;
use crate::facts::{BuyerId, Event, Fact, FillId, GradeId, Hold, Pin, Way, Yard};
use crate::measure::{Mass, Running};

/// Something that was told, or taken back, and the event that made it so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told<T> {
    pub told: Option<T>,
    /// What an edit is checked against.
    pub changed: u64,
}

/// The vehicle as it was told; what is none was not, and sets no limit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Vehicle {
    pub payload: Option<Mass>,
    pub litres: Option<u32>,
    pub bins: Option<u32>,
    pub running: Option<Running>,
    pub changed: u64,
}

impl Books {
    pub(super) fn fold_trips(&mut self, event: &Event) -> Option<()> {
        let changed = event.seq;
        match &event.fact {
            Fact::YardTold(told) => {
                self.buyers.get(&told.buyer)?;
                self.yards.insert(told.buyer, Told { told: told.yard.clone(), changed });
            }
            Fact::RoadTold(told) => {
                self.buyers.get(&told.one)?;
                self.buyers.get(&told.other)?;
                match told.way {
                    Some(way) => _ = self.roads.insert((told.one, told.other), way),
                    None => _ = self.roads.remove(&(told.one, told.other)),
                }
            }
            Fact::VehicleTold(told) => {
                told.payload.put(&mut self.vehicle.payload);
                told.litres.put(&mut self.vehicle.litres);
                told.bins.put(&mut self.vehicle.bins);
                told.running.put(&mut self.vehicle.running);
                self.vehicle.changed = changed;
            }
            Fact::HoldTold(told) => {
                self.grades.get(&told.grade)?;
                self.holds.insert(told.grade, Told { told: told.hold, changed });
            }
            Fact::BinPinned(pinned) => {
                self.bins.get(&pinned.bin)?;
                self.fills.get(&pinned.fill)?;
                match pinned.pin {
                    Some(pin) => _ = self.pins.insert(pinned.fill, pin),
                    None => _ = self.pins.remove(&pinned.fill),
                }
            }
            _ => unreachable!("fold() sends only what a drive is planned from here"),
        }
        Some(())
    }

    /// Where a buyer is.
    pub fn yard(&self, buyer: BuyerId) -> Option<&Yard> {
        self.yards.get(&buyer)?.told.as_ref()
    }

    /// The road from one buyer to another.
    pub fn road(&self, one: BuyerId, other: BuyerId) -> Option<Way> {
        self.roads.get(&(one.min(other), one.max(other))).copied()
    }

    pub fn hold(&self, grade: GradeId) -> Option<Hold> {
        self.holds.get(&grade)?.told
    }

    /// What the owner decided about what stands in a bin now.
    pub fn pin(&self, fill: FillId) -> Option<Pin> {
        self.pins.get(&fill).copied()
    }
}

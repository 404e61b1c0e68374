//! The envelope in which every fact is kept.

use super::{BenchId, Fact, StoreId};
use crate::measure::{BootId, Moment, Stamp};
use serde::{Deserialize, Serialize};

/// The schema that this program writes. Older ones are lifted on reading; a newer one is refused, never skipped.
pub const SCHEMA: u16 = 1;

/// One fact with its place in the order and the clocks of its instant. Order is by `seq`, not by any clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    pub store: StoreId,
    /// Counts from 1 without a gap.
    pub seq: u64,
    #[serde(rename = "v")]
    pub schema: u16,
    pub boot: BootId,
    /// Nanoseconds of the boot's clock.
    pub mono: Moment,
    pub wall: jiff::Timestamp,
    /// Whether the wall time could be trusted.
    pub sure: bool,
    pub bench: BenchId,
    /// The epoch of the bench's scale, counted through the life of the store; 0 before the first.
    pub epoch: u64,
    /// The idempotency key of the command that caused it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cause: Option<String>,
    #[serde(flatten)]
    pub fact: Fact,
}

impl Event {
    pub fn stamp(&self) -> Stamp {
        Stamp { boot: self.boot, mono: self.mono, wall: self.wall, trusted: self.sure }
    }
}

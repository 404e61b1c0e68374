//! What an order did.

use serde::Serialize;

/// The events that an order made. The same key gives the same receipt again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Receipt {
    /// The identity of what was made or done: its first event.
    pub id: u64,
    /// The books stand at least here once it is durable.
    pub seq: u64,
    /// Whether it was done now, or had been done before under the same key or because nothing was left to do.
    pub made: Made,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Made {
    Now,
    Before,
}

//! What the daemon's threads send each other.

use crate::command::{Input, LinkNews, Request};
use crate::facts::{BenchId, Event};
use crate::measure::Stamp;

/// What reaches the core's thread.
pub enum Work {
    Input(Input, Stamp),
    /// The link of a bench, for the live page too.
    Link(BenchId, LinkNews, Stamp),
    Silent(BenchId),
    Order(Request),
    /// The writer made everything up to here durable.
    Durable(u64),
    /// The writer cannot write at present, or can again.
    Writing(bool),
}

/// What is sent to the writer.
pub enum ToWrite {
    Events(Vec<Event>),
    /// Make the index durable and end.
    End,
}

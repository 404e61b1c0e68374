//! Readings to rests and steps, epoch by epoch.

mod finding;

pub use finding::{Act, EpochCause, Finding, Glance, Manner, Rest, Step};

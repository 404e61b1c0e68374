//! Readings to rests and steps, epoch by epoch.

mod account;
mod display;
mod engine;
mod finding;
mod history;
mod window;

pub use account::Balance;
pub use engine::{Settle, Setup};
pub use finding::{Act, EpochCause, Finding, Glance, Manner, Rest, Step};

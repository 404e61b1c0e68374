//! The drive and the ticket: what to load and where to go, what the slip says of itself, our scale against theirs, money
//! back to where it came from.
//!
//! Plain functions over plain values, with no books and no words in them.

pub mod buyers;
pub mod paper;
pub mod plan;
pub mod reconcile;
pub mod spread;
pub mod vehicle;
pub mod when;

//! The drive to the buyers: what to load, where to go, and in which order.

pub mod plan;

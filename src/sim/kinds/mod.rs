//! The scripts of the kinds of tapes.

pub mod bench;
pub mod keys;
pub mod not_mass;
pub mod visits;

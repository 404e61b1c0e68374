//! The wiring: readers, keys, the core's thread, the writer's thread, HTTP, the watchdog, and stopping.

mod check_rule;
mod counts;
mod engine;
mod feed;
mod keys;
mod listen;
mod mail;
mod open;
mod pulse;
mod run;
mod writer;

pub use run::{Fault, Ready, serve};

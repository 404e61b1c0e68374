//! The wiring: readers, the core's thread, the writer's thread, HTTP, the watchdog, and stopping.

mod counts;
mod engine;
mod feed;
mod listen;
mod open;
mod pulse;
mod run;
mod writer;

pub use run::{Fault, Ready, serve};

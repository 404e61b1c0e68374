//! The whole program: the binary as a child, a scale on a real pseudo-terminal, a person's orders by HTTP.

mod bench;
mod browser;
mod cable;
mod chain;
mod checks;
mod crash;
mod daemon;
mod density;
mod feeds;
mod foreign;
mod forms;
mod hour;
mod index;
mod kerb;
mod load_sheet;
mod notify;
mod page;
mod plan;
mod pocket;
mod prices;
mod ranking;
mod refusals;
mod round;
mod routes;
#[path = "../support/rows.rs"]
mod rows;
mod runs;
mod scratch;
mod stopping;
mod strip;
mod tickets;
mod trips;
mod web;
mod when;
mod wire;
mod year;

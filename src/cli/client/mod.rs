//! The verbs that speak to a running daemon: one file a noun. They build JSON, and know the daemon by its HTTP alone.

mod at;
pub mod bin;
pub mod check_weight;
mod daemon;
pub mod drop;
pub mod intake;
pub mod limits;
pub mod manner;
pub mod names;
pub mod outlay;
mod plan;
pub mod press;
pub mod quote;
pub mod report;
pub mod run;
pub mod session;
mod shelf;
mod shelf_drive;
mod shelf_places;
mod show;
pub mod status;
pub mod ticket;
pub mod trial;
pub mod trip;
mod typed;
mod weighed;
pub mod wire;

pub use at::At;
pub use shelf::home;
pub use show::{json as print_json, print};

pub use daemon::{Daemon, Fault};

/// Opens the way to the daemon; nothing is sent yet.
fn reach(at: At) -> anyhow::Result<Daemon> {
    Ok(Daemon::at(at)?)
}

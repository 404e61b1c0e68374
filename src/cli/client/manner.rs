//! `bismar manner`.

use super::at::At;
use super::{reach, show};
use clap::{Args, ValueEnum};
use serde_json::json;

/// Chooses how it is weighed on a bench.
#[derive(Args)]
pub struct Manner {
    #[arg(value_enum)]
    manner: How,
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum How {
    /// The bin stands on the scale and pieces are dropped into it.
    Heap,
    /// Pieces pile up in a small tray, which is tipped into the bin and set back.
    Tray,
    /// One load is put on, weighed and taken off.
    Pan,
    /// A mixed pile lies on the pan and is sorted from it.
    Sort,
}

impl Manner {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let name = match self.manner {
            How::Heap => "heap",
            How::Tray => "tray",
            How::Pan => "pan",
            How::Sort => "sort",
        };
        reach(at)?.put(&format!("/v1/benches/{}/manner", self.bench), &json!({ "manner": name }))?;
        Ok(show::print(&format!("bench {} is weighed in the manner {name}\n", self.bench))?)
    }
}

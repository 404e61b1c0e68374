//! `bismar press`.

use super::at::At;
use super::{reach, show};
use clap::{Args, ValueEnum};
use serde_json::json;

/// What a long press on the pan does: chooses the next bin, after a trial of ten.
#[derive(Args)]
pub struct Press {
    #[arg(value_enum)]
    what: What,
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    /// Presses are counted and do nothing; `bismar status` tells how many were felt.
    Trial,
    /// A press of two seconds or more, back to the same rest, chooses the next bin.
    On,
    Off,
}

impl Press {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let name = match self.what {
            What::Trial => "trial",
            What::On => "on",
            What::Off => "off",
        };
        reach(at)?.put(&format!("/v1/benches/{}/press", self.bench), &json!({ "press": name }))?;
        Ok(show::print(&format!("bench {}: a long press on the pan is {name}\n", self.bench))?)
    }
}

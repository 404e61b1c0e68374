//! `bismar replay`.

use clap::Args;

/// Runs a tape through decoding and settling and prints each step.
#[derive(Args)]
pub struct Replay {}

impl Replay {
    pub fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}

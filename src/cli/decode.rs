//! `bismar decode`.

use clap::Args;

/// Prints one JSON object a line for each reading in the bytes given.
#[derive(Args)]
pub struct Decode {}

impl Decode {
    pub fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}

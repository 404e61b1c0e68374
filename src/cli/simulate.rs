//! `bismar simulate`.

use clap::Args;

/// Plays a scale on a pseudo-terminal.
#[derive(Args)]
pub struct Simulate {}

impl Simulate {
    pub fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}

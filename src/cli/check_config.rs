//! `bismar check-config`.

use super::{Failure, configuration};
use clap::Args;
use std::path::PathBuf;

/// Reads a configuration and tells of every fault with its line.
#[derive(Args)]
pub struct CheckConfig {
    /// The configuration (TOML).
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

impl CheckConfig {
    pub fn run(self) -> Result<(), Failure> {
        let config = configuration::read(&self.file)?;
        let benches = config.benches.len();
        println!("{}: good, {benches} {}", self.file.display(), if benches == 1 { "bench" } else { "benches" });
        Ok(())
    }
}

//! Reading the configuration file, with every fault at once.

use super::Failure;
use crate::config::{self, Config};
use std::path::Path;

/// Reads `path`; a file that cannot be read counts as bad configuration too.
pub fn read(path: &Path) -> Result<Config, Failure> {
    let shown = path.display();
    let text =
        std::fs::read_to_string(path).map_err(|fault| Failure::BadConfig(format!("{shown}: cannot be read: {fault}\n")))?;
    config::parse(&text, |name| std::env::var(name).ok()).map_err(|faults| {
        let lines = faults.iter().map(|fault| format!("{shown}: {fault}\n"));
        Failure::BadConfig(lines.collect())
    })
}

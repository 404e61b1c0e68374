//! `bismar serve`.

use super::{Failure, RunDaemon, configuration};
use clap::Args;
use std::path::PathBuf;
use tokio::signal::unix::{SignalKind, signal};
use tracing_subscriber::EnvFilter;

/// Runs the daemon beside the scale.
#[derive(Args)]
pub struct Serve {
    /// The configuration (TOML).
    #[arg(long, value_name = "FILE")]
    config: PathBuf,
}

impl Serve {
    pub fn run(self, daemon: RunDaemon) -> Result<(), Failure> {
        log_to_stderr("info");
        let config = configuration::read(&self.config)?;
        Ok(daemon(config, Box::new(|_| ()), Box::pin(ended_by_signal()))?)
    }
}

/// Ends on Ctrl-C or on a polite kill.
pub async fn ended_by_signal() {
    match (signal(SignalKind::interrupt()), signal(SignalKind::terminate())) {
        (Ok(mut interrupt), Ok(mut terminate)) => {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
            }
        }
        // Without handlers the signals end the process themselves.
        _ => std::future::pending().await,
    }
}

/// Logs to standard error; `RUST_LOG` overrides the level. sled tells its background errors only through the log.
pub fn log_to_stderr(level: &str) {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(level));
    // The journal stamps lines itself.
    let journal = std::env::var_os("JOURNAL_STREAM").is_some();
    let lines = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).with_ansi(false);
    // A second initialisation only happens in tests.
    _ = if journal { lines.without_time().try_init() } else { lines.try_init() };
}

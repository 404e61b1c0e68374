//! The command line: one file a verb. Client verbs speak HTTP to the daemon.

use crate::config::Config;
use clap::{Parser, Subcommand};
use std::process::ExitCode;

mod check_config;
mod configuration;
mod decode;
mod demo;
mod offline;
mod record;
mod replay;
mod serve;
mod signals;
mod simulate;

/// Weigh station for the home workshop: what went into which bin, how long it took, what it is worth.
#[derive(Parser)]
#[command(name = "bismar", version, about)]
pub struct Arguments {
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Subcommand)]
pub enum Verb {
    Demo(demo::Demo),
    Serve(serve::Serve),
    CheckConfig(check_config::CheckConfig),
    Simulate(simulate::Simulate),
    Record(record::Record),
    Replay(replay::Replay),
    Decode(decode::Decode),
}

/// Where the daemon is reached once it runs.
pub struct Running {
    pub address: std::net::SocketAddr,
    pub socket: std::path::PathBuf,
}

/// What the command line is handed, since it does not know the daemon: run it until `stop` ends.
pub type RunDaemon = fn(config: Config, ready: Box<dyn FnOnce(Running) + Send>, stop: Stop) -> anyhow::Result<()>;
pub type Stop = std::pin::Pin<Box<dyn Future<Output = ()> + Send>>;

/// How a verb ends badly.
pub enum Failure {
    Failed(anyhow::Error),
    /// Every fault of the configuration, one a line.
    BadConfig(String),
}

impl<E: Into<anyhow::Error>> From<E> for Failure {
    fn from(fault: E) -> Failure {
        Failure::Failed(fault.into())
    }
}

/// sysexits' EX_CONFIG.
const BAD_CONFIG: u8 = 78;

/// Exit codes: 0 done, 1 failed, 2 wrong usage (clap's own), 78 bad configuration.
pub fn run(arguments: Arguments, daemon: RunDaemon) -> ExitCode {
    let outcome = match arguments.verb {
        Verb::Demo(verb) => verb.run(daemon),
        Verb::Serve(verb) => verb.run(daemon),
        Verb::CheckConfig(verb) => verb.run(),
        Verb::Simulate(verb) => verb.run().map_err(Failure::from),
        Verb::Record(verb) => verb.run().map_err(Failure::from),
        Verb::Replay(verb) => verb.run().map_err(Failure::from),
        Verb::Decode(verb) => verb.run().map_err(Failure::from),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure::Failed(fault)) => {
            eprintln!("bismar: {fault:#}");
            ExitCode::FAILURE
        }
        Err(Failure::BadConfig(faults)) => {
            eprint!("{faults}");
            ExitCode::from(BAD_CONFIG)
        }
    }
}

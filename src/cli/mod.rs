//! The command line: one file a verb. Client verbs speak HTTP to the daemon.

use clap::{Parser, Subcommand};
use std::process::ExitCode;

mod decode;
mod record;
mod replay;
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
    Decode(decode::Decode),
    Record(record::Record),
    Replay(replay::Replay),
    Simulate(simulate::Simulate),
}

/// Exit codes: 0 done, 1 failed, 2 wrong usage (clap's own), 78 bad configuration (sysexits' EX_CONFIG).
pub fn run(arguments: Arguments) -> ExitCode {
    let outcome = match arguments.verb {
        Verb::Decode(verb) => verb.run(),
        Verb::Record(verb) => verb.run(),
        Verb::Replay(verb) => verb.run(),
        Verb::Simulate(verb) => verb.run(),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("bismar: {fault:#}");
            ExitCode::FAILURE
        }
    }
}

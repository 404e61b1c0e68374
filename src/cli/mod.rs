//! The command line: one file a verb. Client verbs speak HTTP to the daemon.

use crate::config::Config;
use clap::{Parser, Subcommand};
use std::process::ExitCode;

mod books;
mod carry;
mod check_config;
mod client;
mod configuration;
mod decode;
mod demo;
mod density;
mod doctor;
mod find;
mod offline;
mod own;
mod paper;
mod record;
mod replay;
mod serve;
mod signals;
mod simulate;

/// Weigh station for the home workshop: what went into which bin, how long it took, what it is worth.
#[derive(Parser)]
#[command(name = "bismar", version, about)]
pub struct Arguments {
    /// Where the daemon is, for the verbs that ask it: the path of its socket, or an address such as 127.0.0.1:8737.
    #[arg(long, global = true, value_name = "PATH|ADDRESS", env = "BISMAR_AT", value_parser = client::At::parse)]
    pub at: Option<client::At>,
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Subcommand)]
pub enum Verb {
    Demo(demo::Demo),
    Serve(serve::Serve),
    CheckConfig(check_config::CheckConfig),
    Doctor(doctor::Doctor),
    Simulate(simulate::Simulate),
    Find(find::Find),
    Record(record::Record),
    Replay(replay::Replay),
    Decode(decode::Decode),
    Density(density::Density),
    Status(client::status::Status),
    Bin(client::bin::Bin),
    Grade(client::names::Grade),
    Feed(client::names::Feed),
    Buyer(client::names::Buyer),
    Session(client::session::Session),
    Manner(client::manner::Manner),
    Press(client::press::Press),
    Intake(client::intake::Intake),
    Trial(client::trial::Trial),
    Trip(client::trip::Trip),
    Run(client::run::Run),
    Ticket(client::ticket::Ticket),
    Arrival(client::outlay::Arrival),
    Spending(client::outlay::Spending),
    Minutes(client::outlay::Minutes),
    Drop(client::drop::Drop),
    Quote(client::quote::Quote),
    Limits(client::limits::Limits),
    Wire(client::wire::Wire),
    CheckWeight(client::check_weight::CheckWeight),
    Report(client::report::Report),
    Verify(books::Verify),
    Backup(books::Backup),
    Export(carry::Export),
    Import(carry::Import),
    Mend(books::Mend),
    Completions(paper::Completions),
    Manual(paper::Manual),
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
    let at = client::At::or_usual(arguments.at, |name| std::env::var(name).ok());
    let outcome = match arguments.verb {
        Verb::Demo(verb) => verb.run(daemon),
        Verb::Serve(verb) => verb.run(daemon),
        Verb::CheckConfig(verb) => verb.run(),
        Verb::Doctor(verb) => verb.run(at),
        Verb::Simulate(verb) => verb.run().map_err(Failure::from),
        Verb::Find(verb) => verb.run().map_err(Failure::from),
        Verb::Record(verb) => verb.run().map_err(Failure::from),
        Verb::Replay(verb) => verb.run().map_err(Failure::from),
        Verb::Decode(verb) => verb.run().map_err(Failure::from),
        Verb::Density(verb) => verb.run().map_err(Failure::from),
        Verb::Status(verb) => verb.run(at).map_err(Failure::from),
        Verb::Bin(verb) => verb.run(at).map_err(Failure::from),
        Verb::Grade(verb) => verb.run(at).map_err(Failure::from),
        Verb::Feed(verb) => verb.run(at).map_err(Failure::from),
        Verb::Buyer(verb) => verb.run(at).map_err(Failure::from),
        Verb::Session(verb) => verb.run(at).map_err(Failure::from),
        Verb::Manner(verb) => verb.run(at).map_err(Failure::from),
        Verb::Press(verb) => verb.run(at).map_err(Failure::from),
        Verb::Intake(verb) => verb.run(at).map_err(Failure::from),
        Verb::Trial(verb) => verb.run(at).map_err(Failure::from),
        Verb::Trip(verb) => verb.run(at).map_err(Failure::from),
        Verb::Run(verb) => verb.run(at).map_err(Failure::from),
        Verb::Ticket(verb) => verb.run(at).map_err(Failure::from),
        Verb::Arrival(verb) => verb.run(at).map_err(Failure::from),
        Verb::Spending(verb) => verb.run(at).map_err(Failure::from),
        Verb::Minutes(verb) => verb.run(at).map_err(Failure::from),
        Verb::Drop(verb) => verb.run(at).map_err(Failure::from),
        Verb::Quote(verb) => verb.run(at).map_err(Failure::from),
        Verb::Limits(verb) => verb.run(at).map_err(Failure::from),
        Verb::Wire(verb) => verb.run(at).map_err(Failure::from),
        Verb::CheckWeight(verb) => verb.run(at).map_err(Failure::from),
        Verb::Report(verb) => verb.run(at).map_err(Failure::from),
        Verb::Verify(verb) => verb.run().map_err(Failure::from),
        Verb::Backup(verb) => verb.run().map_err(Failure::from),
        Verb::Export(verb) => verb.run().map_err(Failure::from),
        Verb::Import(verb) => verb.run().map_err(Failure::from),
        Verb::Mend(verb) => verb.run().map_err(Failure::from),
        Verb::Completions(verb) => verb.run().map_err(Failure::from),
        Verb::Manual(verb) => verb.run().map_err(Failure::from),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure::Failed(fault)) => {
            eprintln!("bismar: {}", told(&fault));
            ExitCode::FAILURE
        }
        Err(Failure::BadConfig(faults)) => {
            eprint!("{faults}");
            ExitCode::from(BAD_CONFIG)
        }
    }
}

/// A fault with its causes; one that the fault before it has told already is not told again.
fn told(fault: &anyhow::Error) -> String {
    fault.chain().map(ToString::to_string).fold(String::new(), |said, cause| match said.as_str() {
        "" => cause,
        said if said.contains(&cause) => said.to_owned(),
        said => format!("{said}: {cause}"),
    })
}

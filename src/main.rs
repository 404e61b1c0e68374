use bismar::cli::{self, Arguments, Running};
use clap::Parser;

fn main() -> std::process::ExitCode {
    cli::run(Arguments::parse(), |config, ready, stop| {
        let told = |at: &bismar::daemon::Ready| ready(Running { address: at.address, socket: at.socket.clone() });
        Ok(bismar::daemon::serve(config, told, stop)?)
    })
}

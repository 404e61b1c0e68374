use clap::Parser;

fn main() -> std::process::ExitCode {
    bismar::cli::run(bismar::cli::Arguments::parse())
}

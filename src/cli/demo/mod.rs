//! `bismar demo`.

mod bench;
mod live;
mod plan;
mod seed;
mod told;
mod trip;

use super::{Failure, RunDaemon, Running, serve};
use crate::clock::Clock;
use crate::config;
use crate::link::pty::Pty;
use anyhow::Context;
use clap::Args;
use live::Live;
use plan::Plan;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, mpsc};
use tokio::sync::oneshot;

/// The invented weeks that the demo shows.
const WEEK: &str = include_str!("../../../demo/week.toml");

/// Shows the main job with no hardware: a simulated scale, an invented week in the books, and the pages.
#[derive(Args)]
pub struct Demo {
    /// Run one short session, print the report before the yard run, and end.
    #[arg(long)]
    once: bool,
    /// The port of the pages on 127.0.0.1, instead of any free one.
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
}

impl Demo {
    pub fn run(self, daemon: RunDaemon) -> Result<(), Failure> {
        serve::log_to_stderr("warn");
        let plan = Plan::parse(WEEK).context("demo/week.toml")?;
        let home = tempfile::tempdir().context("there is no room for the demo's books")?;
        let books = home.path().join("books");
        println!("Bismar's demo. Everything in it is invented: the week, the buyers, the prices.");
        let scale = home.path().join("scale");
        let bench = seed::week(&plan, &books, &scale, Clock::system())?;

        let pty = Pty::open(Some(&scale)).context("there is no pseudo-terminal to be had")?;
        let socket = home.path().join(config::SOCKET_NAME);
        let text = format!(
            "[store]\ndirectory = {books:?}\n[http]\nlisten = \"127.0.0.1:{}\"\nsocket = {socket:?}\n[[bench]]\nport = {scale:?}\ndivision = \"1 g\"\n",
            self.port
        );
        let config = config::parse(&text, |_| None).map_err(|faults| anyhow::anyhow!("{faults:?}"))?;

        let stop = Arc::new(AtomicBool::new(false));
        let (over, session_over) = oneshot::channel();
        let (told, outcome) = mpsc::channel();
        let mut live = Live { plan, bench, pty, once: self.once, stop: Arc::clone(&stop) };
        let ready = Box::new(move |at: Running| {
            println!("Pages: http://{}/   scale: {} (simulated)", at.address, scale.display());
            if !live.once {
                println!("The person at the bench works by itself; Ctrl-C ends the demo and forgets it.");
            }
            let spawned = std::thread::Builder::new().name("demo".into()).spawn(move || {
                let done = live.run(&at.socket);
                _ = told.send(done);
                _ = over.send(());
                // The scale stays plugged in until the daemon has let go of it.
                while !live.stop.load(Ordering::Relaxed) {
                    std::thread::sleep(std::time::Duration::from_millis(20));
                }
            });
            if let Err(fault) = spawned {
                eprintln!("bismar: the simulated scale cannot run: {fault}");
            }
        });
        let end = async move {
            tokio::select! {
                _ = session_over => {}
                () = serve::ended_by_signal() => {}
            }
        };
        daemon(config, ready, Box::pin(end))?;
        stop.store(true, Ordering::Relaxed);
        match outcome.recv() {
            Ok(done) => Ok(done?),
            // The thread never ran, and that has been said.
            Err(_) => Err(Failure::Failed(anyhow::anyhow!("the demo ended before its session"))),
        }
    }
}

//! `bismar session`.

use super::at::At;
use super::daemon::Daemon;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use crate::render::json::{BenchView, SessionView};
use crate::render::text::Cell;
use anyhow::bail;
use clap::{Args, Subcommand};
use serde_json::json;

/// Sessions: stretches of bench work with a hands-on clock, and their legs, the time on one feed.
#[derive(Args)]
pub struct Session {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every session, newest first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Starts a session.
    Start {
        /// What is taken apart.
        #[arg(long, value_name = "NAME")]
        feed: Option<String>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Stops the hands-on clock.
    Pause(Which),
    /// Lets the hands-on clock run again.
    Resume(Which),
    /// Goes on with another feed.
    Leg {
        /// What is taken apart from now on; without it, nothing that has a name.
        #[arg(value_name = "NAME")]
        feed: Option<String>,
        #[command(flatten)]
        which: WhichFlag,
    },
    /// Says what a stillness was: away, or working all the same.
    Tell {
        /// The stillness, as the questions on the bench page and in the report name it.
        stillness: u64,
        #[arg(value_enum)]
        what: Stillness,
        #[command(flatten)]
        which: WhichFlag,
    },
    /// Ends a session.
    End(Which),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Stillness {
    Working,
    Away,
}

#[derive(Args)]
struct Which {
    /// The session's number; without it, the one that runs on the bench.
    session: Option<u64>,
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
}

#[derive(Args)]
struct WhichFlag {
    /// The session's number; without it, the one that runs on the bench.
    #[arg(long, value_name = "NUMBER")]
    session: Option<u64>,
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
}

impl Session {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.sessions()?, form, table),
            Act::Start { feed, bench } => {
                let started = reach(at)?.post(&format!("/v1/benches/{bench}/sessions"), &json!({ "feed": feed }))?;
                format!("session {} started on bench {bench}", started.id)
            }
            Act::Pause(which) => {
                let session = which.order(&reach(at)?, "pause")?;
                format!("session {session} paused")
            }
            Act::Resume(which) => {
                let session = which.order(&reach(at)?, "resume")?;
                format!("session {session} goes on")
            }
            Act::End(which) => {
                let daemon = reach(at)?;
                let session = which.order(&daemon, "end")?;
                let sessions: Vec<SessionView> = daemon.get("/v1/sessions")?;
                let ended = sessions.iter().find(|known| known.id == session).map(summary).unwrap_or_default();
                format!("session {session} ended{ended}")
            }
            Act::Tell { stillness, what, which: WhichFlag { session, bench } } => {
                let daemon = reach(at)?;
                let session = running(&daemon, session, bench)?;
                let away = what == Stillness::Away;
                daemon.post(&format!("/v1/sessions/{session}/stillnesses/{stillness}"), &json!({ "away": away }))?;
                format!("session {session}: stillness {stillness} was {}", if away { "time away" } else { "work" })
            }
            Act::Leg { feed, which: WhichFlag { session, bench } } => {
                let daemon = reach(at)?;
                let session = running(&daemon, session, bench)?;
                daemon.post(&format!("/v1/sessions/{session}/legs"), &json!({ "feed": feed }))?;
                format!("session {session}: {} from now on", feed.as_deref().unwrap_or("no feed"))
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl Which {
    fn order(&self, daemon: &Daemon, what: &str) -> anyhow::Result<u64> {
        let session = running(daemon, self.session, self.bench)?;
        daemon.post(&format!("/v1/sessions/{session}/{what}"), &json!({}))?;
        Ok(session)
    }
}

/// The session that was named, else the one that runs on the bench.
fn running(daemon: &Daemon, named: Option<u64>, bench: u16) -> anyhow::Result<u64> {
    if let Some(session) = named {
        return Ok(session);
    }
    let standing: BenchView = daemon.get(&format!("/v1/benches/{bench}"))?;
    if let Some(session) = standing.session {
        return Ok(session.id);
    }
    let sessions: Vec<SessionView> = daemon.get("/v1/sessions")?;
    let last =
        sessions.iter().find(|session| session.bench == bench).and_then(|session| Some((session.id, session.ended.as_ref()?)));
    match last {
        Some((id, ended)) => {
            bail!("no session runs on bench {bench}; the last one, session {id}, has ended already, at {}", ended.time)
        }
        None => bail!("no session runs on bench {bench}; one is started with: bismar session start"),
    }
}

fn summary(session: &SessionView) -> String {
    let hands_on = show::clock(session.hands_on_seconds);
    format!(": hands on {hands_on}, {}, {} kg", show::drops(session.drops), session.mass.kg)
}

/// Where a session stands, in a word.
pub fn state(session: &SessionView) -> &'static str {
    match (&session.ended, session.paused) {
        (Some(_), _) => "ended",
        (None, true) => "paused",
        (None, false) => "running",
    }
}

/// The feeds of a session's legs, in their order.
pub fn feeds(session: &SessionView) -> String {
    let names = session.legs.iter().map(|leg| leg.feed.as_deref().unwrap_or("no feed"));
    names.collect::<Vec<_>>().join(", ")
}

fn table(sessions: &[SessionView]) -> String {
    let head = [
        Cell::right("Session"),
        Cell::right("Bench"),
        Cell::left("Started"),
        Cell::left("Ended"),
        Cell::right("Hands on"),
        Cell::right("Drops"),
        Cell::right("kg"),
        Cell::left("Feeds"),
    ];
    let row = |session: &SessionView| {
        let ended = session.ended.as_ref().map_or_else(|| state(session).to_owned(), show::time);
        let unsure = if session.clock_unsure { " ?" } else { "" };
        vec![
            Cell::right(session.id.to_string()),
            Cell::right(session.bench.to_string()),
            Cell::left(show::time(&session.started)),
            Cell::left(ended),
            Cell::right(format!("{}{unsure}", show::clock(session.hands_on_seconds))),
            Cell::right(session.drops.to_string()),
            Cell::right(&session.mass.kg),
            Cell::left(feeds(session)),
        ]
    };
    let nothing = "There was no session yet; one is started with: bismar session start";
    show::table(&head, sessions.iter().map(row).collect(), nothing)
}

//! The demo's live session: the simulated scale on its pseudo-terminal, and the person who presses the keys.

use super::bench::Bench;
use super::plan::Plan;
use crate::cli::client::{At, Daemon};
use crate::clock::Clock;
use crate::link::player::{Cue, Playing, play};
use crate::link::pty::Pty;
use crate::measure::{Mass, Span};
use crate::render::json::{BenchView, YardRunView};
use crate::render::text;
use crate::sim::{Scale, Script, Setup, Truth};
use serde_json::json;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Drops are confirmed within seconds of a session's end; a disk that is busy with something else may take longer to keep
/// them.
const CONFIRMED_WITHIN: u64 = 60;
/// Stretches that the endless demo plays before the scale only shows its last load: some hours.
const STRETCHES: u64 = 400;

pub struct Live {
    pub plan: Plan,
    pub bench: Bench,
    pub pty: Pty,
    pub once: bool,
    pub stop: Arc<AtomicBool>,
}

impl Live {
    /// Works until the session is over (`once`) or `stop` is set.
    pub fn run(&mut self, socket: &Path) -> anyhow::Result<()> {
        let daemon = Daemon::at(At::Socket(socket.to_owned()))?;
        let before = total(&report(&daemon)?);
        let stretches = if self.once { 1 } else { STRETCHES };
        let mut put_on = Mass::ZERO;
        for number in 0..stretches {
            let seed = self.plan.live.seed + number;
            let script = self.bench.stretch(&self.plan.live.feed, &self.plan.live.work, seed);
            put_on += Truth::of(&Setup::default(), &script, seed).bins.iter().map(|bin| bin.grams).sum::<Mass>();
            self.play(script, seed, &daemon)?;
            if self.stop.load(Ordering::Relaxed) {
                return Ok(());
            }
        }
        let pieces: u32 = self.plan.live.work.iter().map(|work| work.pieces).sum();
        let last = settled(&daemon)?;
        println!("\n{}", text::yard_run(&last));
        let booked = total(&last) - before;
        println!("\nThe session just now: {pieces} pieces of {put_on} in truth were put on; {booked} were booked.");
        Ok(())
    }

    fn play(&mut self, script: Script, seed: u64, daemon: &Daemon) -> anyhow::Result<()> {
        let feed = self.plan.live.feed.clone();
        let scale = Scale::new(Setup::default(), script, seed)?;
        let frames = scale.map(|frame| (frame.at, Cue::from(frame.what)));
        let playing = Playing { clock: Clock::system(), speed: 1.0, poll: None };
        let stop = Arc::clone(&self.stop);
        let mut fault = None;
        play(&mut self.pty, frames, &playing, &stop, |_, cue| {
            if let Cue::Note(words) = cue
                && let Err(refused) = obey(daemon, words, &feed)
            {
                // Somebody at the pages may have pressed a key of their own; the first word of it is enough.
                fault.get_or_insert(refused);
            }
        })?;
        match fault {
            Some(fault) if self.once => Err(fault),
            _ => Ok(()),
        }
    }
}

fn obey(daemon: &Daemon, words: &str, feed: &str) -> anyhow::Result<()> {
    if let Some(number) = words.strip_prefix("choose ") {
        let number: u32 = number.parse()?;
        daemon.put("/v1/benches/1/bin", &json!({ "number": number }))?;
        return Ok(());
    }
    if words == "start" {
        daemon.post("/v1/benches/1/sessions", &json!({ "feed": feed }))?;
        return Ok(());
    }
    let bench: BenchView = daemon.get("/v1/benches/1")?;
    if let Some(session) = bench.session {
        daemon.post(&format!("/v1/sessions/{}/{words}", session.id), &json!({}))?;
    }
    Ok(())
}

fn report(daemon: &Daemon) -> anyhow::Result<YardRunView> {
    Ok(daemon.get("/v1/reports/yard-run.json")?)
}

/// The report once no drop is provisional any more.
fn settled(daemon: &Daemon) -> anyhow::Result<YardRunView> {
    let start = Clock::system().mono();
    loop {
        let report = report(daemon)?;
        if report.provisional_drops == 0 {
            return Ok(report);
        }
        if Clock::system().mono().since(start) > Span::seconds(CONFIRMED_WITHIN) {
            anyhow::bail!(
                "{} were not confirmed within {CONFIRMED_WITHIN} seconds of the session's end",
                text::counted(report.provisional_drops, "drop")
            );
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}

fn total(report: &YardRunView) -> Mass {
    Mass::parse_grams(&report.total.grams).unwrap_or_default()
}

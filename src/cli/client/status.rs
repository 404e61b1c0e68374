//! `bismar status`.

use super::at::At;
use super::daemon::Fault;
use super::drop;
use super::reach;
use super::session::{feeds, state};
use super::show::{self, Form};
use crate::render::json::BenchView;
use crate::render::text::{Cell, Table};
use clap::Args;

/// The bench as it stands: scale, bin, session, last drops; and whether the store is sound.
#[derive(Args)]
pub struct Status {
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
    #[arg(long, value_enum, default_value_t)]
    form: Form,
}

impl Status {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let daemon = reach(at)?;
        let bench: BenchView = daemon.get(&format!("/v1/benches/{}", self.bench))?;
        if self.form == Form::Json {
            return show::json(&bench);
        }
        let store = match daemon.well("/readyz") {
            Ok(()) => "sound".to_owned(),
            Err(Fault::Refused(why)) => format!("degraded: {why}"),
            Err(other) => return Err(other.into()),
        };
        Ok(show::print(&standing(&bench, &store))?)
    }
}

fn standing(bench: &BenchView, store: &str) -> String {
    let mut table = Table::new();
    let mut row = |label: &str, text: String| table.row(vec![Cell::left(label), Cell::left(text)]);
    row("Bench", format!("{}, by {}", bench.id, bench.manner));
    row("Scale", scale(bench));
    row(
        "Bin",
        bench.bin.as_ref().map_or("none chosen: what is dropped now is kept without a bin".into(), |bin| {
            let label = bin.name.as_deref().or(bin.grade.as_deref()).map(|label| format!(" ({label})")).unwrap_or_default();
            format!("{}{label}: {} kg, {} lb in it", bin.number, bin.mass.kg, bin.mass.lb)
        }),
    );
    row(
        "Session",
        bench.session.as_ref().map_or("none".into(), |session| {
            let (word, hands_on) = (state(session), show::clock(session.hands_on_seconds));
            format!(
                "{}, {word}, {}: hands on {hands_on}, {}, {} kg",
                session.id,
                feeds(session),
                show::drops(session.drops),
                session.mass.kg
            )
        }),
    );
    if let Some(intake) = &bench.intake {
        row("Intake", format!("the next load, of {}", intake.feed.as_deref().unwrap_or("what is still to be said")));
    }
    if let Some(check) = &bench.check {
        row("Check", check.clone());
    }
    if let Some(reminder) = &bench.check_reminder {
        row("Scale due", reminder.clone());
    }
    if let Some(advice) = &bench.live.advice {
        row("Advice", advice.clone());
    }
    if let Some(suggestion) = &bench.live.suggestion {
        row("Manner", format!("{} (bismar manner {})", suggestion.text, suggestion.manner));
    }
    if let Some(reminder) = &bench.round_reminder {
        row("Round", format!("{reminder} (bismar bin round)"));
    }
    row("In hand", format!("{} kg", bench.in_hand.kg));
    row("Store", store.to_owned());
    if bench.lost_readings > 0 {
        row("Lost", format!("{} readings could not be taken in", bench.lost_readings));
    }
    if let Some(trouble) = &bench.live.not_recorded {
        row("Warning", trouble.clone());
    }
    let last = if bench.last_drops.is_empty() { String::new() } else { format!("\n{}", drop::table(&bench.last_drops)) };
    table.text() + &last
}

fn scale(bench: &BenchView) -> String {
    let live = &bench.live;
    if live.scale != "present" {
        return live.scale.clone();
    }
    let unit = live.unit.as_deref().unwrap_or("without a unit");
    let mut text = match &live.shown {
        Some(shown) => format!("shows {shown} {unit}, {}", if live.settled { "at rest" } else { "moving" }),
        None => "shows no weight".into(),
    };
    for flag in &live.flags {
        text.push_str(&format!(", {flag}"));
    }
    text
}

//! Opening the store, with progress shown when it takes long.

use super::Fault;
use super::pulse::tell;
use crate::clock::Clock;
use crate::config::Config;
use crate::measure::{Moment, Span};
use crate::store::{self, Opening, Progress, RealDisk, Store, Work};
use sd_notify::NotifyState;
use std::sync::Arc;

/// Progress is worth a line only when the work takes over a second, and then once a second.
const SHOW_EVERY: Span = Span::seconds(1);

pub fn open(config: &Config, clock: Clock) -> Result<Opening, Fault> {
    let mut shown = clock.mono();
    let setup = store::Setup { zone: config.zone.clone(), ..store::Setup::default() };
    let mut progress = |progress: Progress| show(&progress, clock.mono(), &mut shown);
    let opening = Store::open_with(&config.store, Arc::new(RealDisk), &setup, &mut progress)?;
    for note in &opening.notes {
        tracing::warn!("{note}");
    }
    for reason in opening.state.reasons() {
        tracing::error!("the store is degraded: {reason}");
    }
    Ok(opening)
}

fn show(progress: &Progress, now: Moment, shown: &mut Moment) {
    if now.since(*shown) < SHOW_EVERY {
        return;
    }
    *shown = now;
    let work = match progress.work {
        Work::ReadingRoll => "reading the roll (bytes)",
        Work::ReadingIndex => "reading the index (events)",
        Work::Folding => "reading the events",
        Work::Indexing => "building the index (events)",
    };
    tracing::info!(done = progress.done, total = progress.total, "{work}");
    let status = format!("{work}: {} of {}", progress.done, progress.total);
    // A rebuild may take longer than the start-up time that the unit allows.
    tell(&[NotifyState::Status(&status), NotifyState::ExtendTimeoutUsec(30_000_000)]);
}

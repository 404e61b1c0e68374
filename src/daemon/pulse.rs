//! Heartbeats of the threads, and the word to systemd.

use crate::clock::Clock;
use crate::measure::{Moment, Span};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// When a loop last made a turn. Turns count, not frames: a silent scale must restart nothing.
#[derive(Debug, Clone, Default)]
pub struct Beat(Arc<AtomicU64>);

impl Beat {
    pub fn beat(&self, now: Moment) {
        self.0.store(now.0, Ordering::Relaxed);
    }

    pub fn last(&self) -> Moment {
        Moment(self.0.load(Ordering::Relaxed))
    }
}

/// A loop that has not turned for so long hangs. The slowest honest turn is an fdatasync on a dying card.
const HANGS: Span = Span::seconds(20);

/// The loops that must turn.
#[derive(Clone)]
pub struct Loops {
    pub clock: Clock,
    pub named: Vec<(String, Arc<dyn Fn() -> Moment + Send + Sync>)>,
}

impl Loops {
    /// The first loop that hangs.
    pub fn hanging(&self) -> Option<&str> {
        let now = self.clock.mono();
        self.named.iter().find(|(_, last)| now.since(last()) > HANGS).map(|(name, _)| name.as_str())
    }
}

/// Feeds systemd's watchdog while every loop turns; when one hangs, says so and lets the watchdog bite.
pub async fn feed_watchdog(loops: Loops, mut stop: tokio::sync::watch::Receiver<bool>) {
    // Half of the interval, as sd_watchdog_enabled(3) advises.
    let Some(every) = sd_notify::watchdog_enabled().map(|interval| interval / 2) else { return };
    loop {
        tokio::select! {
            () = tokio::time::sleep(every.max(Duration::from_millis(100))) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        match loops.hanging() {
            None => tell(&[sd_notify::NotifyState::Watchdog]),
            Some(name) => tracing::error!(name, "a loop hangs; the watchdog is not fed"),
        }
    }
}

/// A word to systemd; without one nothing listens, which is no fault.
pub fn tell(states: &[sd_notify::NotifyState<'_>]) {
    if let Err(fault) = sd_notify::notify(states) {
        tracing::debug!(%fault, "systemd was not told");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loop_that_stands_still_is_named() {
        let clock = Clock::system();
        let now = clock.mono();
        let old = Moment(now.0.saturating_sub(Span::seconds(60).0));
        let at = |moment: Moment| -> Arc<dyn Fn() -> Moment + Send + Sync> { Arc::new(move || moment) };
        let loops = Loops { clock, named: vec![("reader".into(), at(now)), ("writer".into(), at(old))] };
        assert_eq!(loops.hanging(), Some("writer"));
        assert_eq!(Loops { clock, named: vec![("reader".into(), at(now))] }.hanging(), None);
    }
}

//! What every handler shares.

use crate::command::Desk;
use crate::measure::{Currency, Stamp};
use crate::query::{CheckQuestion, CheckRule};
use jiff::tz::TimeZone;
use std::sync::Arc;
use tokio::sync::watch;

/// How the daemon is, for `/readyz` and `/metrics`: told by the daemon, which knows.
#[derive(Debug, Clone, Default)]
pub struct Pulse {
    /// Empty when all is well.
    pub degraded: Vec<String>,
    /// Prometheus text of what the daemon counts.
    pub metrics: String,
}

/// Everything that a handler needs.
#[derive(Clone)]
pub struct Site {
    pub desk: Desk,
    pub now: Arc<dyn Fn() -> Stamp + Send + Sync>,
    pub pulse: Arc<dyn Fn() -> Pulse + Send + Sync>,
    pub zone: TimeZone,
    pub currency: Currency,
    pub stale_after: u16,
    pub checks: CheckRule,
    /// Host names that may be asked for, beside localhost and plain addresses.
    pub names: Arc<[String]>,
    /// Sent with every form; made anew at each start.
    pub token: Arc<str>,
    /// Becomes true when the daemon stops: every stream ends then.
    pub stop: watch::Receiver<bool>,
}

impl Site {
    pub fn check_question(&self) -> CheckQuestion {
        CheckQuestion { now: (self.now)(), zone: self.zone.clone(), rule: self.checks }
    }

    pub fn today(&self) -> jiff::civil::Date {
        self.zone.to_datetime((self.now)().wall).date()
    }
}

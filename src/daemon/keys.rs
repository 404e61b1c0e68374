//! From a device beside a bench to the desk: each press an order of its own, in force from when it was pressed.

use super::counts::{Counts, OfKeys};
use crate::clock::Clock;
use crate::command::{BinRef, Desk, Order, Refusal};
use crate::config::{Act, KeysAt, KeysConfig};
use crate::facts::BenchId;
use crate::link::keys::{Evdev, Keys, Press, explain};
use crate::link::{Event, Item, Line, Reader, Serial, Settings};
use crate::measure::{Moment, Span, Stamp};
use crate::render::words;
use std::path::PathBuf;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::JoinSet;

/// How long a silence must be over before it counts: what was read within it may still be on its way here.
const SLACK: Span = Span::millis(20);
/// Orders whose answers are out. A disk that follows nothing must not pile them up.
const WAITING_MAX: usize = 32;

/// Starts the reader's thread of a device.
pub fn reader(keys: &KeysConfig, clock: Clock) -> anyhow::Result<Reader> {
    Ok(match &keys.at {
        KeysAt::Device(path) => Reader::spawn(Evdev::new(path), clock)?,
        KeysAt::Port { path, line } => Reader::spawn(Serial::new(settings(path, line.as_deref())?, clock), clock)?,
    })
}

fn settings(path: &PathBuf, line: Option<&str>) -> anyhow::Result<Settings> {
    let line = line.map(str::parse).transpose()?.unwrap_or_else(Line::default);
    Ok(Settings { line, ..Settings::new(path) })
}

/// Passes on what one device of a bench is pressed for.
pub struct KeyFeed {
    pub bench: BenchId,
    /// Counted from 1, in the order of the configuration.
    pub number: u16,
    pub clock: Clock,
    pub counts: Counts,
    pub desk: Desk,
}

impl KeyFeed {
    /// Works until the reader ends or the daemon stops.
    pub async fn run(self, config: KeysConfig, mut reader: Reader, mut stop: watch::Receiver<bool>) -> Reader {
        let mut keys = Keys::new(&config);
        let mut presses = Vec::new();
        let mut answers = JoinSet::new();
        let mut done = 0;
        loop {
            let patience = keys.due().map(|due| due.plus(SLACK).since(self.clock.mono()));
            let item = tokio::select! {
                item = reader.recv() => item,
                () = pause(patience) => {
                    keys.pass(self.clock.mono(), &mut presses);
                    None
                }
                _ = stop.wait_for(|stop| *stop) => return reader,
            };
            match item {
                Some(Item { at, event }) => {
                    self.tell(&event);
                    keys.event(at, &event, &mut presses);
                }
                None if presses.is_empty() && reader.ended() => return reader,
                None => {}
            }
            for press in presses.drain(..) {
                done += 1;
                let placed = tokio::select! {
                    placed = self.press(press, done, &mut answers) => placed,
                    _ = stop.wait_for(|stop| *stop) => return reader,
                };
                if placed.is_err() {
                    return reader;
                }
            }
        }
    }

    /// Does what was pressed for. Fails only when the daemon stops.
    async fn press(&self, press: Press, count: u64, answers: &mut JoinSet<()>) -> Result<(), Refusal> {
        let act = match press.what {
            Ok(act) => act,
            Err(why) => {
                self.counts.refused_presses.get_or_create(&self.label()).inc();
                tracing::warn!(bench = %self.bench, keys = self.number, code = why.code(), "not done: {why}");
                return Ok(());
            }
        };
        let order = order(act);
        while answers.len() >= WAITING_MAX {
            answers.join_next().await;
        }
        let key = self.key(press.at, count);
        let answer = self.desk.hand_in(self.bench, Some(key), order, Some(self.stamp(press.at))).await?;
        let (bench, keys, counts, label) = (self.bench, self.number, self.counts.clone(), self.label());
        answers.spawn(async move {
            match answer.await {
                Ok(receipt) => {
                    counts.presses.get_or_create(&label).inc();
                    tracing::info!(%bench, keys, %act, seq = receipt.seq, "done");
                }
                Err(refusal) => {
                    counts.refused_presses.get_or_create(&label).inc();
                    tracing::warn!(%bench, keys, %act, code = words::code(&refusal), "not done: {}", words::refusal(&refusal));
                }
            }
        });
        Ok(())
    }

    /// One press has one key, in this life of the daemon and in any other.
    fn key(&self, at: Moment, count: u64) -> String {
        format!("keys-{}-{}-{}-{}-{count}", self.clock.boot(), self.bench, self.number, at.0)
    }

    fn tell(&self, event: &Event) {
        let present = |value: i64| _ = self.counts.keys_present.get_or_create(&self.label()).set(value);
        match event {
            Event::Up { device } => {
                present(1);
                tracing::info!(bench = %self.bench, keys = self.number, device = %device.device.display(), "keys are present");
                if let Some(better) = &device.better {
                    tracing::warn!(bench = %self.bench, keys = self.number, better = %better.display(), "name this link instead: it stays with the device");
                }
            }
            Event::Down { why } => {
                present(0);
                tracing::warn!(bench = %self.bench, keys = self.number, code = why.code(), "keys are absent: {}", explain(why));
            }
            Event::Gap { lost } => tracing::warn!(bench = %self.bench, keys = self.number, lost, "presses were lost"),
            Event::Bytes(_) | Event::Silence { .. } | Event::Control(_) => {}
        }
    }

    /// Both clocks at the press: the wall clock is read now and set back by what has passed since.
    fn stamp(&self, at: Moment) -> Stamp {
        let now = self.clock.now();
        let passed = jiff::SignedDuration::from_nanos(i64::try_from(now.mono.since(at).0).unwrap_or(i64::MAX));
        Stamp { mono: at, wall: now.wall.checked_sub(passed).unwrap_or(now.wall), ..now }
    }

    fn label(&self) -> OfKeys {
        OfKeys { bench: self.bench.0, keys: self.number }
    }
}

/// What an act asks of the core.
fn order(act: Act) -> Order {
    match act {
        Act::Bin(number) => Order::ChooseBin { bin: Some(BinRef(number)) },
        Act::Next => Order::ChooseNextBin,
        Act::Pause => Order::TurnSession,
        Act::Doubtful => Order::DoubtDrop { entry: None },
        Act::Intake => Order::AskIntake { feed: None },
    }
}

async fn pause(patience: Option<Span>) {
    match patience {
        Some(patience) => tokio::time::sleep(Duration::from_nanos(patience.0)).await,
        None => std::future::pending().await,
    }
}

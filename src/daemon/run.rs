//! Starting everything in its order, and stopping it in the other.

use super::check_rule::check_rule;
use super::counts::Counts;
use super::engine::Engine;
use super::feed::{self, Feed};
use super::keys::{self, KeyFeed};
use super::mail::{ToWrite, Work};
use super::pulse::{Beat, Loops, feed_watchdog, tell};
use super::writer::Writer;
use super::{listen, open};
use crate::clock::Clock;
use crate::command::{BenchSetup, Core, Desk, Live, Published};
use crate::config::Config;
use crate::facts::BenchId;
use crate::http::{Listeners, Pulse, Site};
use crate::store::{Health, StoreFault};
use sd_notify::NotifyState;
use std::collections::BTreeMap;
use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;
use tokio::sync::{mpsc, watch};

/// Inputs that may wait for the core. Behind it the reader's ring holds a minute more.
const QUEUE: usize = 1024;
const TICK: Duration = Duration::from_millis(100);
/// The whole of stopping takes no longer: systemd kills after ninety seconds, a person pulls the plug sooner.
const STOP_WITHIN: Duration = Duration::from_secs(10);

/// Why the daemon could not start, or ended.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error(transparent)]
    Store(#[from] StoreFault),
    #[error("{what} cannot be listened at ({source}): is another daemon running there?")]
    Listen { what: String, source: io::Error },
    #[error("{0}")]
    Thread(#[from] io::Error),
    #[error("{0}")]
    Bench(#[from] anyhow::Error),
}

/// Told once, when everything runs.
pub struct Ready {
    pub address: SocketAddr,
    pub socket: PathBuf,
}

/// Runs the daemon until `stop` ends. `ready` is called when it takes requests.
pub fn serve(config: Config, ready: impl FnOnce(&Ready), stop: impl Future<Output = ()> + Send + 'static) -> Result<(), Fault> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let outcome = runtime.block_on(run(config, ready, stop));
    // A task that still hangs after the orderly stop is left behind.
    runtime.shutdown_timeout(Duration::from_secs(1));
    outcome
}

async fn run(config: Config, ready: impl FnOnce(&Ready), stop: impl Future<Output = ()> + Send + 'static) -> Result<(), Fault> {
    let clock = Clock::system();
    for bench in &config.benches {
        feed::asked(bench)?;
    }
    let opening = open::open(&config, clock)?;
    let port = listen::port(config.listen).await?;
    let address = port.local_addr()?;
    let socket = listen::socket(&config.socket)?;

    let setups: Vec<BenchSetup> = setups(&config);
    let ids: Vec<BenchId> = setups.iter().map(|setup| setup.id).collect();
    let counts = Counts::default();
    let closed = !opening.state.takes_events();
    let store_id = opening.store.store_id();
    let (stopping, stopped) = watch::channel(false);
    let (published, books) = watch::channel(Published { books: Arc::new(opening.books.clone()) });
    let (health, healthy) = watch::channel(opening.state.clone());
    let (live, glances) = watch::channel(Arc::new(ids.iter().map(|id| (*id, Live::default())).collect::<BTreeMap<_, _>>()));
    let (work, queue) = mpsc::channel(QUEUE);
    let (orders, requests) = mpsc::channel(64);
    let (to_writer, writing) = std::sync::mpsc::channel();

    let (engine_beat, writer_beat) = (Beat::default(), Beat::default());
    engine_beat.beat(clock.mono());
    writer_beat.beat(clock.mono());
    let writer = Writer {
        store: opening.store,
        clock,
        published,
        health,
        engine: work.clone(),
        counts: counts.clone(),
        beat: writer_beat.clone(),
    };
    let writer = thread("writer", move || writer.run(writing))?;
    let (core, first) = Core::resume(opening.books, store_id, &setups, clock.now(), env!("CARGO_PKG_VERSION"));
    let engine = Engine {
        core,
        clock,
        writer: to_writer.clone(),
        live,
        benches: ids.clone(),
        counts: counts.clone(),
        beat: engine_beat.clone(),
        closed,
    };
    let engine = thread("core", move || engine.run(first, queue))?;

    let mut loops = Loops { clock, named: Vec::new() };
    loops.named.push(("core".into(), Arc::new(move || engine_beat.last())));
    loops.named.push(("writer".into(), Arc::new(move || writer_beat.last())));
    let desk = Desk::new(orders, books, glances);
    let mut feeds = Vec::new();
    for (bench, id) in config.benches.iter().zip(&ids) {
        let reader = feed::reader(bench, clock)?;
        loops.named.push((format!("reader {id}"), reader.heartbeats()));
        let feed = Feed { id: *id, clock, counts: counts.clone(), core: work.clone() };
        feeds.push(tokio::spawn(feed.run(bench.clone(), reader, stopped.clone())));
        for (keys, number) in bench.keys.iter().zip(1..) {
            let reader = keys::reader(keys, clock)?;
            loops.named.push((format!("keys {id}.{number}"), reader.heartbeats()));
            let feed = KeyFeed { bench: *id, number, clock, counts: counts.clone(), desk: desk.clone() };
            feeds.push(tokio::spawn(feed.run(keys.clone(), reader, stopped.clone())));
        }
    }
    let pass = tokio::spawn(pass_on(requests, work.clone()));
    let ticks = tokio::spawn(tick(clock, work, stopped.clone()));
    let watchdog = tokio::spawn(feed_watchdog(loops.clone(), stopped.clone()));

    let site = Site {
        desk,
        now: Arc::new(move || clock.now()),
        pulse: pulse(healthy, loops, counts),
        zone: config.zone,
        currency: config.currency,
        stale_after: config.stale_after,
        checks: check_rule(&config.checks),
        names: config.names.into(),
        token: format!("{:032x}", rand::random::<u128>()).into(),
        stop: stopped,
    };
    let listeners = Listeners { port, socket: Some(socket) };
    let http = tokio::spawn(crate::http::serve(site, listeners));
    let status = format!("{} benches, pages on http://{address}/", ids.len());
    tell(&[NotifyState::Ready, NotifyState::Status(&status)]);
    tracing::info!(%address, socket = %config.socket.display(), "ready");
    ready(&Ready { address, socket: config.socket.clone() });

    stop.await;
    tell(&[NotifyState::Stopping]);
    tracing::info!("stopping");
    let orderly = async {
        stopping.send_replace(true);
        for feed in feeds {
            if let Ok(reader) = feed.await {
                tokio::task::spawn_blocking(move || reader.stop());
            }
        }
        ticks.abort();
        watchdog.abort();
        if let Ok(Err(fault)) = http.await {
            tracing::error!(%fault, "HTTP ended badly");
        }
        // With the last page gone no order can come: the core's queue runs dry and its thread ends.
        pass.abort();
        _ = pass.await;
        _ = to_writer.send(ToWrite::End);
        ended(writer).await;
        ended(engine).await;
    };
    if tokio::time::timeout(STOP_WITHIN, orderly).await.is_err() {
        tracing::warn!("stopping took too long; what was acknowledged is safe");
    }
    // Nobody answers behind it any more.
    _ = std::fs::remove_file(&config.socket);
    Ok(())
}

fn setups(config: &Config) -> Vec<BenchSetup> {
    let numbered = config.benches.iter().zip(1..);
    numbered
        .map(|(bench, number)| BenchSetup {
            id: BenchId(number),
            division: bench.division,
            unit: bench.unit,
            manner: bench.manner,
            capacity: bench.capacity,
        })
        .collect()
}

fn thread(name: &str, work: impl FnOnce() + Send + 'static) -> io::Result<JoinHandle<()>> {
    std::thread::Builder::new().name(name.into()).spawn(work)
}

async fn ended(thread: JoinHandle<()>) {
    // A panic in it has been told by the panic hook already.
    _ = tokio::task::spawn_blocking(move || thread.join()).await;
}

async fn tick(clock: Clock, core: mpsc::Sender<Work>, mut stop: watch::Receiver<bool>) {
    let mut every = tokio::time::interval(TICK);
    every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Skip);
    loop {
        tokio::select! {
            _ = every.tick() => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        // A full queue has plenty of readings in it, which move time on as well.
        _ = core.try_send(Work::Input(crate::command::Input::Tick, clock.now()));
    }
}

async fn pass_on(mut requests: mpsc::Receiver<crate::command::Request>, core: mpsc::Sender<Work>) {
    while let Some(request) = requests.recv().await {
        if core.send(Work::Order(request)).await.is_err() {
            return;
        }
    }
}

fn pulse(health: watch::Receiver<Health>, loops: Loops, counts: Counts) -> Arc<dyn Fn() -> Pulse + Send + Sync> {
    Arc::new(move || {
        let mut degraded: Vec<String> = health.borrow().reasons().iter().map(ToString::to_string).collect();
        degraded.extend(loops.hanging().map(|name| format!("the {name} loop hangs")));
        Pulse { degraded, metrics: counts.text() }
    })
}

//! `bismar doctor`: everything between the plug and the page looked at once, each with what to do.

use super::client::{At, Daemon, Fault, print};
use super::{Failure, configuration};
use crate::clock::Clock;
use crate::config::{BenchConfig, Config, KeysAt, default_store};
use crate::link::{Asked, Event, Reader, Why, ports, source};
use crate::measure::Span;
use crate::render::json::BenchView;
use crate::store::{self, RealDisk};
use anyhow::anyhow;
use clap::Args;
use jiff::tz::TimeZone;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Where the service has its configuration.
const USUAL: &str = "/etc/bismar/bismar.toml";
/// Longer than the pause of a slow continuous output, shorter than a person's patience.
const LISTEN: Span = Span::seconds(3);
/// A year of drops takes less; on a card that is nearly full everything else fails too.
const ROOM: u64 = 100 << 20;

/// Looks at everything between the plug and the page: configuration, ports, books, disk, clock, daemon. Changes nothing
/// and sends nothing.
#[derive(Args)]
pub struct Doctor {
    /// The configuration (TOML); without it, that of the service where there is one.
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// What was found of one thing.
enum Found {
    Well(String),
    /// Nothing is broken, but somebody should know.
    Note(String),
    Ill(String),
}

struct Sheet {
    text: String,
    ill: usize,
}

impl Sheet {
    fn put(&mut self, what: &str, found: Found) {
        let (word, said) = match found {
            Found::Well(said) => ("well", said),
            Found::Note(said) => ("note", said),
            Found::Ill(said) => {
                self.ill += 1;
                ("ILL ", said)
            }
        };
        self.text.push_str(&format!("{word}  {what}: {said}\n"));
    }
}

impl Doctor {
    pub fn run(self, at: At) -> Result<(), Failure> {
        let mut sheet = Sheet { text: String::new(), ill: 0 };
        let config = self.configuration(&mut sheet)?;
        let daemon = Daemon::at(at)?;
        let (speaking, found) = match daemon.well("/readyz") {
            Ok(()) => (true, Found::Well("it runs, and its store is sound".into())),
            Err(Fault::Refused(why)) => (true, Found::Ill(format!("it runs, and says: {why}"))),
            Err(fault @ Fault::NotThere { .. }) => (false, Found::Note(fault.to_string())),
            Err(fault) => (false, Found::Ill(fault.to_string())),
        };
        sheet.put("daemon", found);
        let benches = config.as_ref().map_or(&[][..], |config| &config.benches);
        for (number, bench) in (1..).zip(benches) {
            let what = format!("bench {number}, {}", bench.port);
            // The daemon has the port for itself; it is asked instead.
            sheet.put(&what, if speaking { told(&daemon, number) } else { heard(bench) });
            for keys in &bench.keys {
                if let KeysAt::Device(path) = &keys.at {
                    sheet.put(&format!("bench {number}, keys"), readable(path));
                }
            }
        }
        let (store, zone) = match config {
            Some(config) => (config.store, config.zone),
            None => (default_store(|name| std::env::var(name).ok()), TimeZone::system()),
        };
        sheet.put("books", books(&store));
        sheet.put("disk", room(&store));
        sheet.put("clock", clock(&zone));
        print(&sheet.text)?;
        match sheet.ill {
            0 => Ok(()),
            1 => Err(anyhow!("one thing is ill: see above").into()),
            many => Err(anyhow!("{many} things are ill: see above").into()),
        }
    }

    fn configuration(&self, sheet: &mut Sheet) -> Result<Option<Config>, Failure> {
        let usual = Path::new(USUAL);
        let path = match &self.config {
            Some(path) => path.as_path(),
            None if usual.exists() => usual,
            None => {
                let said = format!("none was named, and there is no {USUAL}: name it with --config to have the scale looked at");
                sheet.put("configuration", Found::Note(said));
                return Ok(None);
            }
        };
        // Its faults are told line by line and end the verb as they end `check-config`.
        let config = configuration::read(path)?;
        sheet.put("configuration", Found::Well(path.display().to_string()));
        Ok(Some(config))
    }
}

/// What the running daemon says of its bench.
fn told(daemon: &Daemon, number: u16) -> Found {
    match daemon.get::<BenchView>(&format!("/v1/benches/{number}")) {
        Err(fault) => Found::Ill(fault.to_string()),
        Ok(bench) if bench.live.scale == "present" => match &bench.live.shown {
            Some(shown) => Found::Well(format!("the daemon hears it; it shows {shown}")),
            None => Found::Note("the daemon hears it, and it shows no weight".into()),
        },
        Ok(bench) => Found::Ill(format!("the daemon finds no scale there ({}): see its log", bench.live.scale)),
    }
}

/// Opens the port as the daemon does and listens for a few seconds. Nothing is asked, so a scale that must be asked stays
/// silent.
fn heard(bench: &BenchConfig) -> Found {
    let line = match bench.line.as_deref().map(str::parse) {
        None => bench.dialect.facts().usual.into(),
        Some(Ok(line)) => line,
        Some(Err(fault)) => return Found::Ill(format!("{fault}")),
    };
    let clock = Clock::system();
    let mut reader = match Reader::spawn(source(&bench.port, Asked { line, poll: None }, clock), clock) {
        Ok(reader) => reader,
        Err(fault) => return Found::Ill(fault.to_string()),
    };
    let start = clock.mono();
    let mut found = None;
    let (mut open, mut bytes) = (false, 0);
    while found.is_none() && clock.mono().since(start) < LISTEN {
        match reader.recv_within(Duration::from_millis(100)).map(|item| item.event) {
            Some(Event::Down { why }) => found = Some(Found::Ill(with_others(&why))),
            Some(Event::Up { .. }) => open = true,
            Some(Event::Bytes(some)) => bytes += some.len(),
            _ => {}
        }
    }
    reader.stop();
    let seconds = LISTEN.as_seconds();
    found.unwrap_or_else(|| match (open, bytes) {
        (false, _) => Found::Ill(format!("it could not be opened within {seconds} s")),
        (true, 0) if bench.poll_ms.is_some() => Found::Note("it opens; it must be asked, which is left to the daemon".into()),
        (true, 0) => Found::Ill(format!(
            "it opens, and nothing came in {seconds} s: is the scale on, its output set to continuous, and the cable right? \
             `bismar find` tries every speed"
        )),
        (true, bytes) => Found::Well(format!("it opens, and {bytes} bytes came in {seconds} s")),
    })
}

/// A port that is not there is often there under another name.
fn with_others(why: &Why) -> String {
    let others: Vec<String> = ports().iter().map(|port| port.path.display().to_string()).collect();
    match why {
        Why::Missing { .. } if !others.is_empty() => format!("{why}. There is {}", others.join(", ")),
        Why::Missing { .. } => format!("{why}. No port that could be a scale's is plugged in"),
        _ => why.to_string(),
    }
}

fn readable(path: &Path) -> Found {
    match File::open(path) {
        Ok(_) => Found::Well(path.display().to_string()),
        Err(fault) => {
            let path = path.display();
            Found::Ill(format!("{path}: {fault}; plug it in, or give its device to the group of the daemon (60-bismar.rules)"))
        }
    }
}

fn books(dir: &Path) -> Found {
    let shown = dir.display();
    match store::verify(dir, &RealDisk) {
        Err(fault) => Found::Ill(fault.to_string()),
        Ok(report) if report.segments == 0 => Found::Note(format!("{shown}: none yet; the daemon founds them")),
        Ok(report) => match report.state.reasons() {
            [] if report.notes.is_empty() => Found::Well(format!("{shown}: sound, {} events", report.head)),
            [] => {
                let notes = report.notes.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
                Found::Note(format!("{shown}: sound, {} events; {notes}", report.head))
            }
            reasons => {
                let why = reasons.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
                Found::Ill(format!("{shown}: {why}; `bismar verify` says more"))
            }
        },
    }
}

/// The room on the disk that the books are on, or will be.
fn room(dir: &Path) -> Found {
    let Some(there) = dir.ancestors().find(|dir| dir.exists()) else {
        return Found::Ill(format!("{}: no part of this path is there", dir.display()));
    };
    let shown = there.display();
    match rustix::fs::statvfs(there) {
        Err(fault) => Found::Ill(format!("{shown}: {}", std::io::Error::from(fault))),
        Ok(disk) if disk.f_flag.contains(rustix::fs::StatVfsMountFlags::RDONLY) => {
            Found::Ill(format!("{shown} is mounted for reading only: nothing can be recorded"))
        }
        Ok(disk) => {
            let free = disk.f_bavail.saturating_mul(disk.f_frsize);
            let said = format!("{} MB free where the books are", free >> 20);
            if free < ROOM { Found::Ill(format!("{said}: make room before it is full")) } else { Found::Well(said) }
        }
    }
}

fn clock(zone: &TimeZone) -> Found {
    let now = Clock::system().now();
    let day = zone.to_datetime(now.wall);
    let shown = format!("{:04}-{:02}-{:02} {:02}:{:02}", day.year(), day.month(), day.day(), day.hour(), day.minute());
    match now.trusted {
        true => Found::Well(shown),
        false => Found::Note(format!("{shown}, not yet set from the network: what is recorded now is marked so, and has no day")),
    }
}

//! A tape through the whole core: each entry that was confirmed, with the bin that it went to.

use super::{Bench, seconds};
use crate::cli::offline::Offline;
use crate::command::BenchSetup;
use crate::dialect::Reading;
use crate::facts::books::Origin;
use crate::facts::{BenchId, Fact, StoreId};
use crate::measure::{BootId, Mass, Moment, Stamp};
use crate::settle::Setup;
use std::collections::HashMap;
use std::io::Write;

pub struct Drops {
    bench: Offline,
    json: bool,
    /// When the step of an entry was recognised, by the entry's number.
    recognised: HashMap<u64, Moment>,
    out: std::io::BufWriter<std::io::Stdout>,
}

#[derive(serde::Serialize)]
struct Line {
    /// The tape's second at which its step was recognised.
    at: f64,
    /// `drop`, `taken-out` or `intake`.
    act: &'static str,
    /// The bin's number; null where no bin was chosen or the weight contradicts the choice.
    bin: Option<u32>,
    grams: Mass,
    #[serde(skip_serializing_if = "Option::is_none")]
    doubt: Option<String>,
}

/// A tape has no clock but its own seconds.
fn stamp(at: Moment) -> Stamp {
    Stamp { boot: BootId(0), mono: at, wall: jiff::Timestamp::UNIX_EPOCH, trusted: false }
}

impl Drops {
    pub fn new(setup: Setup, json: bool) -> anyhow::Result<Drops> {
        let Setup { division, unit, manner } = setup;
        let setup = BenchSetup { id: BenchId(1), division, unit, manner, capacity: None };
        let mut bench = Offline::new(StoreId(0), setup, stamp(Moment(0)))?;
        bench.plug("tape", stamp(Moment(0)))?;
        let out = std::io::BufWriter::new(std::io::stdout());
        Ok(Drops { bench, json, recognised: HashMap::new(), out })
    }

    fn print(&mut self) -> anyhow::Result<()> {
        for event in self.bench.recorded() {
            match event.fact {
                Fact::DropLanded { .. } | Fact::TakenOut { .. } | Fact::IntakeLanded { .. } | Fact::LotDrawn(_) => {
                    _ = self.recognised.insert(event.seq, event.mono)
                }
                Fact::Confirmed { entry, .. } => {
                    let books = self.bench.books();
                    let Some(state) = books.entries.get(&entry) else { continue };
                    let line = Line {
                        at: seconds(self.recognised.remove(&entry.0).unwrap_or(event.mono)),
                        act: match state.origin {
                            Origin::Intake(_) => "intake",
                            Origin::Drawn(_) => "drawn",
                            _ if state.mass.is_negative() => "taken-out",
                            _ => "drop",
                        },
                        bin: state.bin.and_then(|bin| books.bins.get(&bin)).map(|bin| bin.number),
                        grams: state.mass,
                        doubt: state.doubt.as_ref().map(crate::render::words::doubt),
                    };
                    if self.json {
                        serde_json::to_writer(&mut self.out, &line)?;
                        writeln!(self.out)?;
                    } else {
                        let bin = line.bin.map_or("no bin".to_owned(), |bin| format!("bin {bin}"));
                        let grams = line.grams.exact_grams();
                        writeln!(self.out, "{:>10.3} s  {:10}{bin:8}{grams:>12} g", line.at, line.act)?;
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }
}

impl Bench for Drops {
    fn tick(&mut self, at: Moment) -> anyhow::Result<()> {
        self.bench.tick(stamp(at))?;
        self.print()
    }

    fn reading(&mut self, at: Moment, reading: &Reading) -> anyhow::Result<()> {
        self.bench.reading(*reading, stamp(at))?;
        self.print()
    }

    fn control(&mut self, at: Moment, words: &str) -> anyhow::Result<()> {
        self.bench.obey(words, stamp(at))?;
        self.print()
    }

    fn end(&mut self, at: Moment) -> anyhow::Result<()> {
        self.bench.unplug(stamp(at))?;
        self.print()?;
        Ok(self.out.flush()?)
    }
}

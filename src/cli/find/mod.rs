//! `bismar find`.

mod known;
mod memory;
mod search;
mod section;
mod words;

use super::signals::stop_flag;
use crate::clock::Clock;
use crate::config::{PortName, default_store};
use crate::dialect::hunt::{Judgement, Start, confused};
use crate::dialect::{Dialect, Options, ReadUnit, Reading};
use crate::link::{Listener, ports};
use anyhow::{Context, bail};
use clap::Args;
use known::Known;
use memory::Memory;
use search::{End, Search};
use section::Section;
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};

/// Finds out what the scale on a port sends, at which speed, and prints the section that configures it.
///
/// Without a port it lists the ports. It only listens: nothing is sent to the scale, unless --ask allows three
/// requests that only read.
#[derive(Args)]
pub struct Find {
    /// The port, best by a name under /dev/serial/by-id; or a serial bridge, as tcp://host:port.
    #[arg(value_parser = PortName::parse)]
    port: Option<PortName>,
    /// Take it for granted that the display shows what was read, instead of asking.
    #[arg(long)]
    yes: bool,
    /// What the display shows now, with its unit, such as "12.340 kg": proves a scale whose frames prove nothing.
    #[arg(long, value_name = "WEIGHT", value_parser = Known::parse)]
    weight: Option<Known>,
    /// Which of the dialects it is, where several fit the bytes: the one that the scale's manual or its menu shows.
    #[arg(long, value_name = "NAME", value_parser = dialect)]
    dialect: Option<Dialect>,
    /// Add the section to this file, which is made if it is not there, instead of printing it.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Ask a silent scale for a weight: ENQ, then W CR, then SI CR LF, one a second. At most scales these only read.
    #[arg(long)]
    ask: bool,
    /// The speed to begin with, if the scale's menu shows it.
    #[arg(long, value_name = "BAUD", value_parser = clap::value_parser!(u32).range(50..=4_000_000))]
    baud: Option<u32>,
    /// Give up after so many seconds.
    #[arg(long, value_name = "N", default_value_t = 120)]
    seconds: u64,
}

impl Find {
    pub fn run(self) -> anyhow::Result<()> {
        let variable = |name: &str| std::env::var(name).ok();
        let memory = Memory::at(default_store(variable).parent().unwrap_or(Path::new(".")));
        match self.port.clone() {
            None => list(&memory),
            Some(port) => self.hunt(&port, &memory),
        }
    }

    fn hunt(self, name: &PortName, memory: &Memory) -> anyhow::Result<()> {
        if let PortName::Hid(_) = name {
            bail!("a USB scale says by itself what it sends: write port = \"{name}\" in the configuration, and that is all");
        }
        if let Some(file) = &self.write {
            section::may_write(file, name)?;
        }
        let clock = Clock::system();
        let mut port = Listener::open(name, self.ask, clock).map_err(|why| words::unopened(why, name))?;
        let identity = port.identity().clone();
        let lasting = identity.better.map_or_else(|| name.clone(), PortName::Device);
        let bridge = port.is_bridge();
        let known = memory.recall(&lasting);
        let start = Start {
            configured: self.baud,
            last: known.map(|line| line.baud),
            speedless: port.is_speedless(),
            options: Options::default(),
        };
        let stop = stop_flag()?;
        let mut search = Search::begin(&mut port, start, clock, self.seconds, self.ask)?;
        let (verdict, asked) = match search.run(&stop)? {
            End::Found(verdict, asked) => (verdict, asked),
            End::Nothing(why) => bail!(why),
        };
        let section = match named(self.dialect, verdict)? {
            Judgement::Locked(dialect) => self.confirm(&search, dialect)?,
            Judgement::Ambiguous(all) | Judgement::Confirm(all) => self.by_weight(&mut search, &all, &stop)?,
            Judgement::Silent | Judgement::Open => bail!("nothing was found"),
        };
        let line = search.hunter().found().into();
        let section = Section { port: lasting.clone(), line: (!bridge).then_some(line), asked, ..section };
        match &self.write {
            Some(file) => {
                section.write(file)?;
                eprintln!("added to {}; check it with: bismar check-config {}", file.display(), file.display());
            }
            None => print!("{section}"),
        }
        memory.keep(&lasting, line, section.dialect)
    }

    /// One question, about the weight on the display.
    fn confirm(&self, search: &Search<'_>, dialect: Dialect) -> anyhow::Result<Section> {
        let reading = search.last_of(dialect).context("the scale sent no weight")?;
        let section = Section::of(dialect);
        match &self.weight {
            Some(known) => {
                let fit = known.fits(&reading);
                let Some(fit) = fit else {
                    bail!("{} reads {}, and the display shows {known}: this is not its dialect", dialect.name(), shown(&reading))
                };
                return Ok(section.told(fit));
            }
            None if reading.unit.is_open() => {
                eprintln!("the scale does not send its unit");
                let known = typed("what does the display show now, with its unit (such as 12.340 kg)? ")?;
                let fit = known.fits(&reading).with_context(|| format!("it was read as {}", shown(&reading)))?;
                return Ok(section.told(fit));
            }
            None if self.yes => return Ok(section),
            None => {}
        }
        let answer = ask(&format!("{} was found. Does the display show {}? [y/n] ", dialect.name(), shown(&reading)))?;
        if !matches!(answer.to_lowercase().as_str(), "y" | "yes") {
            bail!("not confirmed, so nothing was written; try again with another weight on the scale");
        }
        Ok(section)
    }

    /// The family among several, or one that proves nothing, by a weight that the person reads off the display.
    fn by_weight(
        &self,
        search: &mut Search<'_>,
        all: &[Dialect],
        stop: &std::sync::atomic::AtomicBool,
    ) -> anyhow::Result<Section> {
        for &dialect in all {
            if let Some(reading) = search.last_of(dialect) {
                eprintln!("  as {} it reads {}", dialect.name(), shown(&reading));
            }
        }
        let known = match &self.weight {
            Some(known) => known.clone(),
            None => {
                eprintln!("these frames do not prove what they are: lay something on the scale, of a weight such as 1.25 kg");
                let known = typed("when the display stands still: what does it show, with its unit? ")?;
                search.refresh(stop)?;
                known
            }
        };
        let fits = |&dialect: &Dialect| {
            let fit = search.last_of(dialect).and_then(|reading| known.fits(&reading))?;
            Some((dialect, fit))
        };
        let fitting: Vec<_> = all.iter().filter_map(fits).collect();
        match fitting.as_slice() {
            [] => bail!("none of them reads {known}, so nothing was written"),
            [(dialect, fit), rest @ ..] if rest.iter().all(|(_, other)| other == fit) && self.same(rest, *dialect) => {
                Ok(Section::of(*dialect).told(*fit))
            }
            several => {
                let names = several.iter().map(|(dialect, _)| dialect.name()).collect::<Vec<_>>().join(" and ");
                bail!(
                    "{names} all read {known}: lay on another weight, whose digits differ when read backwards, or name one with --dialect"
                )
            }
        }
    }

    /// Two families that prove nothing, and are known for being mistaken for each other, are not told apart by a weight
    /// that both read alike.
    fn same(&self, rest: &[(Dialect, known::Fit)], dialect: Dialect) -> bool {
        let weak = |dialect: Dialect| dialect.facts().lock_after.is_none();
        rest.iter().all(|(other, _)| !(weak(dialect) && weak(*other) && confused(dialect, *other)))
    }
}

/// What was found, once the person has said which it is: that must be among what fits.
fn named(dialect: Option<Dialect>, found: Judgement) -> anyhow::Result<Judgement> {
    let Some(dialect) = dialect else { return Ok(found) };
    let fit = match &found {
        Judgement::Locked(one) => std::slice::from_ref(one),
        Judgement::Ambiguous(all) | Judgement::Confirm(all) => all,
        Judgement::Silent | Judgement::Open => return Ok(found),
    };
    if fit.contains(&dialect) {
        return Ok(Judgement::Locked(dialect));
    }
    let names = fit.iter().map(|dialect| dialect.name()).collect::<Vec<_>>().join(", ");
    bail!("{} does not fit what the scale sends, which may be {names}", dialect.name())
}

fn dialect(name: &str) -> Result<Dialect, String> {
    Dialect::from_name(name).ok_or_else(|| format!("no dialect is called {name:?}: see firmware-notes/dialects.md"))
}

fn shown(reading: &Reading) -> String {
    let value = reading.value.map_or_else(|| "no weight".to_owned(), |value| value.to_string());
    match reading.unit {
        ReadUnit::Stated(unit) => format!("{value} {}", unit.symbol()),
        ReadUnit::PoundOunce => format!("{value} oz in all"),
        ReadUnit::Unstated | ReadUnit::Ambiguous | ReadUnit::Absent => value,
    }
}

fn typed(question: &str) -> anyhow::Result<Known> {
    Known::parse(&ask(question)?).map_err(anyhow::Error::msg)
}

/// Asks on the terminal. No answer is no yes.
fn ask(question: &str) -> anyhow::Result<String> {
    eprint!("{question}");
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line).context("standard input")?;
    if line.is_empty() && !std::io::stdin().is_terminal() {
        bail!("nobody answered; say it beforehand with --yes or --weight");
    }
    Ok(line.trim().to_owned())
}

fn list(memory: &Memory) -> anyhow::Result<()> {
    let found = ports();
    if found.is_empty() {
        bail!("there is no serial port: plug the scale's adapter in");
    }
    for port in found {
        let known = memory
            .recall(&PortName::Device(port.path.clone()))
            .map_or_else(String::new, |line| format!("  understood before at {line}"));
        println!("{}  ({}){known}", port.path.display(), port.device.display());
    }
    eprintln!("then: bismar find PORT");
    Ok(())
}

//! `bismar replay`.

use crate::dialect::{Census, Dialect, Options, ReadUnit, Reading, Stream, recognise};
use crate::link::tape::{Body, Tape};
use crate::measure::{Mass, Moment, Span, Unit};
use crate::settle::{Act, Finding, Manner, Settle, Setup, Step};
use anyhow::{Context, anyhow, bail};
use clap::Args;
use std::collections::VecDeque;
use std::io::Write;
use std::path::PathBuf;

/// Runs a tape through decoding and settling, as fast as it can, and prints each step that was confirmed.
///
/// What the tape's header says of dialect, division and unit holds where the flag is not given.
#[derive(Args)]
pub struct Replay {
    /// The tape: a text of seconds and bytes
    #[arg(value_name = "TAPE")]
    tape: PathBuf,
    /// The scale's division, as 1g or 0.5oz, where its frames do not transmit it; without it one count of the display
    #[arg(long, value_name = "D", value_parser = division)]
    division: Option<Mass>,
    /// How the person weighs
    #[arg(long, default_value = "heap", value_parser = manner)]
    manner: Manner,
    /// header-comma, stx-status-words, letter-reply, lf-status-chars, bare-number; auto recognises all but the last
    #[arg(long, value_name = "NAME|auto", value_parser = choice)]
    dialect: Option<Choice>,
    /// The unit where the scale sends none: g, kg, t, lb, oz, ozt, gr
    #[arg(long, value_name = "U", value_parser = unit)]
    unit: Option<Unit>,
    /// One JSON object a line instead of plain text
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy)]
enum Choice {
    Auto,
    Named(Dialect),
}

/// Time runs at this pace where the tape is silent.
const TICK: Span = Span::millis(100);
/// A line that has no end and after which nothing comes for so long is taken as it stands.
const FRAME_TIMEOUT: Span = Span::millis(500);
/// A year of tape at ten short frames a second, in chunks of one frame, is below this.
const TAPE_MAX: u64 = 8 << 30;
/// Silences on a tape are ticked through; a longer one than this is a fault in its times.
const SILENCE_MAX: Span = Span::seconds(400 * 86_400);

impl Replay {
    pub fn run(self) -> anyhow::Result<()> {
        let name = self.tape.display().to_string();
        let tape = read(&self.tape).with_context(|| name.clone())?;
        let header = |key: &str| tape.value(key);
        let setup = Setup {
            division: or_header(self.division, "division", header("division"), division).with_context(|| name.clone())?,
            unit: or_header(self.unit, "unit", header("unit"), unit).with_context(|| name.clone())?,
            manner: self.manner,
        };
        let choice = or_header(self.dialect, "dialect", header("dialect"), choice)
            .with_context(|| name.clone())?
            .ok_or_else(|| anyhow!("{name}: its header names no dialect; name it with --dialect"))?;
        let options = Options { unit: setup.unit, comma: false, decimals: None, joined: true, census: Census::default() };
        let dialect = match choice {
            Choice::Named(dialect) => dialect,
            Choice::Auto => recognise(&all_bytes(&tape), &options)
                .with_context(|| format!("{name}: the dialect is not certain; name it with --dialect"))?,
        };
        let out = Printer::new(self.json);
        let mut player = Player { settle: Settle::new(setup), unit: setup.unit, next_tick: Moment(0), weights: 0, out };
        player.play(&tape, Stream::new(dialect, options)).with_context(|| name.clone())?;
        if player.weights == 0 {
            bail!("{name}: there is no weight of {} in it; is it the right dialect?", dialect.name());
        }
        player.out.finish().context("standard output")
    }
}

fn read(path: &std::path::Path) -> anyhow::Result<Tape> {
    let size = std::fs::metadata(path)?.len();
    if size > TAPE_MAX {
        bail!("the tape is longer than {} MiB: split it", TAPE_MAX >> 20);
    }
    let text = std::fs::read_to_string(path)?;
    Ok(Tape::parse(&text)?)
}

fn all_bytes(tape: &Tape) -> Vec<u8> {
    let bytes = tape.chunks.iter().filter_map(|chunk| match &chunk.body {
        Body::Bytes(bytes) => Some(bytes.as_slice()),
        Body::Control(_) => None,
    });
    bytes.collect::<Vec<_>>().concat()
}

/// The flag's value, else the header's.
fn or_header<T>(
    flag: Option<T>,
    key: &str,
    header: Option<&str>,
    parse: impl Fn(&str) -> Result<T, String>,
) -> anyhow::Result<Option<T>> {
    match (flag, header) {
        (Some(value), _) => Ok(Some(value)),
        (None, Some(text)) => parse(text).map(Some).map_err(|what| anyhow!("header line \"{key}: {text}\": {what}")),
        (None, None) => Ok(None),
    }
}

/// A tape running through a bench.
struct Player {
    settle: Settle,
    unit: Option<Unit>,
    next_tick: Moment,
    /// Readings that carried a weight.
    weights: u64,
    out: Printer,
}

impl Player {
    fn play(&mut self, tape: &Tape, mut stream: Stream) -> anyhow::Result<()> {
        let mut last = None::<Moment>;
        for chunk in &tape.chunks {
            // The operator's commands act on drops; steps are found without them.
            let Body::Bytes(bytes) = &chunk.body else { continue };
            if chunk.at.since(last.unwrap_or_default()) > SILENCE_MAX {
                bail!("at second {}: more than a year lies between two lines", chunk.at.0 / 1_000_000_000);
            }
            if let Some(done) = last.map(|last| last.plus(FRAME_TIMEOUT)).filter(|done| *done <= chunk.at) {
                self.take(done, |emit| stream.silence(emit))?;
            }
            self.take(chunk.at, |emit| stream.push(bytes, emit))?;
            last = Some(chunk.at);
        }
        let end = last.unwrap_or_default().plus(FRAME_TIMEOUT);
        self.take(end, |emit| stream.silence(emit))?;
        self.settle.flush_pending(end, &mut |finding| self.out.take(finding));
        self.settle.cut(end, &mut |finding| self.out.take(finding));
        Ok(())
    }

    /// Ticks up to `at` and takes the readings that `source` gives there.
    fn take(&mut self, at: Moment, source: impl FnOnce(&mut dyn FnMut(Reading))) -> anyhow::Result<()> {
        while self.next_tick < at {
            self.settle.tick(self.next_tick, &mut |finding| self.out.take(finding));
            self.next_tick = self.next_tick.plus(TICK);
        }
        let mut unstated = false;
        source(&mut |reading| {
            self.weights += u64::from(reading.value.is_some());
            unstated |= reading.value.is_some() && reading.unit == ReadUnit::Unstated && self.unit.is_none();
            self.settle.reading(at, &reading, &mut |finding| self.out.take(finding));
        });
        if unstated {
            bail!("at second {}: the scale states no unit; give it with --unit", seconds(at));
        }
        self.out.fault.take().map_or(Ok(()), |fault| Err(fault).context("standard output"))
    }
}

/// Prints a step when it is confirmed; a cancelled one never.
struct Printer {
    json: bool,
    open: VecDeque<Step>,
    out: std::io::BufWriter<std::io::Stdout>,
    fault: Option<std::io::Error>,
}

#[derive(serde::Serialize)]
struct Line {
    /// The tape's second at which the step was recognised.
    at: f64,
    act: Act,
    grams: Mass,
}

impl Printer {
    fn new(json: bool) -> Printer {
        Printer { json, open: VecDeque::new(), out: std::io::BufWriter::new(std::io::stdout()), fault: None }
    }

    fn take(&mut self, finding: Finding) {
        match finding {
            Finding::Stepped(step) => self.open.push_back(step),
            Finding::Cancelled { number, .. } => self.open.retain(|step| step.number != number),
            Finding::Confirmed { number, .. } => {
                while let Some(step) = self.open.pop_front() {
                    let result = self.print(&step);
                    self.fault = self.fault.take().or(result.err());
                    if step.number == number {
                        break;
                    }
                }
            }
            Finding::EpochOpened { .. } | Finding::Rested { .. } | Finding::EpochClosed { .. } => {}
        }
    }

    fn print(&mut self, step: &Step) -> std::io::Result<()> {
        let line = Line { at: seconds(step.recognised), act: step.act, grams: step.delta };
        if self.json {
            serde_json::to_writer(&mut self.out, &line)?;
            return self.out.write_all(b"\n");
        }
        let act = match step.act {
            Act::Added => "added",
            Act::Removed => "removed",
            Act::Cleared => "cleared",
        };
        writeln!(self.out, "{:>10.3} s  {act:8}{:>12} g", line.at, step.delta.exact_grams())
    }

    fn finish(&mut self) -> std::io::Result<()> {
        self.fault.take().map_or(Ok(()), Err)?;
        self.out.flush()
    }
}

fn seconds(at: Moment) -> f64 {
    at.0 as f64 / 1e9
}

fn division(text: &str) -> Result<Mass, String> {
    let example = "a division is a number and a unit, as 1g or 0.5oz";
    let split = text.find(|letter: char| letter.is_ascii_alphabetic()).ok_or(example)?;
    let (number, symbol) = text.split_at(split);
    let mass = Mass::parse(number.trim(), unit(symbol)?).map_err(|fault| format!("{example}: {fault}"))?;
    if mass > Mass::ZERO { Ok(mass) } else { Err("a division must be more than nothing".to_owned()) }
}

fn manner(text: &str) -> Result<Manner, String> {
    let known = [("heap", Manner::Heap), ("tray", Manner::Tray), ("pan", Manner::Pan), ("sort", Manner::Sort)];
    let found = known.into_iter().find(|(name, _)| *name == text);
    found.map(|(_, manner)| manner).ok_or_else(|| "no such manner; there are heap, tray, pan, sort".to_owned())
}

fn choice(text: &str) -> Result<Choice, String> {
    if text == "auto" {
        return Ok(Choice::Auto);
    }
    Dialect::from_name(text).map(Choice::Named).ok_or_else(|| {
        let names = Dialect::ALL.map(Dialect::name).join(", ");
        format!("no such dialect; there are {names}, and auto")
    })
}

fn unit(text: &str) -> Result<Unit, String> {
    Unit::from_symbol(text).ok_or_else(|| format!("no such unit; there are {}", Unit::ALL.map(Unit::symbol).join(", ")))
}

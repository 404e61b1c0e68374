//! `bismar replay`.

use super::own::Own;
use crate::dialect::{Census, Dialect, Options, Reading, Stream, recognise};
use crate::link::tape::{Body, Tape};
use crate::measure::{Mass, Moment, Span, Unit};
use crate::settle::{Manner, Setup};
use anyhow::{Context, anyhow, bail};
use clap::Args;
use drops::Drops;
use std::path::PathBuf;
use steps::Steps;

mod drops;
mod steps;

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
    /// Its name, as header-comma, or auto, which recognises those that prove themselves and names none by guess
    #[arg(long, value_name = "NAME|auto", value_parser = choice, conflicts_with = "pattern")]
    dialect: Option<Choice>,
    /// The unit where the scale sends none: g, kg, t, lb, oz, ozt, gr
    #[arg(long, value_name = "U", value_parser = unit)]
    unit: Option<Unit>,
    #[command(flatten)]
    own: Own,
    /// Read a comma as the decimal point
    #[arg(long)]
    comma: bool,
    /// How many digits are decimals where the scale sends no point
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(0..=6))]
    decimals: Option<u8>,
    /// Print drops after attribution, and obey the operator's commands on the tape
    #[arg(long)]
    drops: bool,
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
        let comma = or_header(self.comma.then_some(true), "comma", header("comma"), truth).with_context(|| name.clone())?;
        let decimals = or_header(self.decimals, "decimals", header("decimals"), decimals).with_context(|| name.clone())?;
        let options = Options { unit: setup.unit, comma: comma == Some(true), decimals, joined: true, census: Census::default() };
        let own = if self.dialect.is_some() { None } else { self.own.or_header(&tape).with_context(|| name.clone())? };
        let choice = or_header(self.dialect, "dialect", header("dialect"), choice).with_context(|| name.clone())?;
        let (spoken, stream) = match (own, choice) {
            (Some(own), _) => ("the pattern", Stream::by_pattern(own, options)),
            (None, Some(Choice::Named(dialect))) => (dialect.name(), Stream::new(dialect, options)),
            (None, Some(Choice::Auto)) => {
                let found = recognise(&all_bytes(&tape), &options)
                    .with_context(|| format!("{name}: the dialect is not certain; name it with --dialect"))?;
                (found.name(), Stream::new(found, options))
            }
            (None, None) => bail!("{name}: its header names no dialect; name it with --dialect"),
        };
        let unit = setup.unit;
        let weights = if self.drops {
            play(&tape, stream, unit, Drops::new(setup, self.json)?)
        } else {
            play(&tape, stream, unit, Steps::new(setup, self.json))
        };
        if weights.with_context(|| name.clone())? == 0 {
            bail!("{name}: there is no weight of {spoken} in it; is it the right dialect?");
        }
        Ok(())
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

/// What a tape is run through.
trait Bench {
    fn tick(&mut self, at: Moment) -> anyhow::Result<()>;
    fn reading(&mut self, at: Moment, reading: &Reading) -> anyhow::Result<()>;
    /// A command of the operator.
    fn control(&mut self, at: Moment, words: &str) -> anyhow::Result<()>;
    /// The tape is over: what is provisional stands.
    fn end(&mut self, at: Moment) -> anyhow::Result<()>;
}

/// Runs a tape through a bench and counts the readings that carried a weight.
fn play(tape: &Tape, mut stream: Stream, unit: Option<Unit>, bench: impl Bench) -> anyhow::Result<u64> {
    let mut player = Player { bench, unit, next_tick: Moment(0), weights: 0, readings: Vec::new() };
    let mut last = None::<Moment>;
    for chunk in &tape.chunks {
        if chunk.at.since(last.unwrap_or_default()) > SILENCE_MAX {
            bail!("at second {}: more than a year lies between two lines", chunk.at.0 / 1_000_000_000);
        }
        let bytes = match &chunk.body {
            Body::Bytes(bytes) => bytes,
            Body::Control(words) => {
                player.tick(chunk.at)?;
                player.bench.control(chunk.at, words).with_context(|| format!("at second {}", seconds(chunk.at)))?;
                continue;
            }
        };
        if let Some(done) = last.map(|last| last.plus(FRAME_TIMEOUT)).filter(|done| *done <= chunk.at) {
            player.take(done, |emit| stream.silence(emit))?;
        }
        player.take(chunk.at, |emit| stream.push(bytes, emit))?;
        last = Some(chunk.at);
    }
    let end = last.unwrap_or_default().plus(FRAME_TIMEOUT);
    player.take(end, |emit| stream.silence(emit))?;
    player.bench.end(end)?;
    Ok(player.weights)
}

struct Player<B> {
    bench: B,
    unit: Option<Unit>,
    next_tick: Moment,
    weights: u64,
    readings: Vec<Reading>,
}

impl<B: Bench> Player<B> {
    fn tick(&mut self, until: Moment) -> anyhow::Result<()> {
        while self.next_tick < until {
            self.bench.tick(self.next_tick)?;
            self.next_tick = self.next_tick.plus(TICK);
        }
        Ok(())
    }

    /// Ticks up to `at` and takes the readings that `source` gives there.
    fn take(&mut self, at: Moment, source: impl FnOnce(&mut dyn FnMut(Reading))) -> anyhow::Result<()> {
        self.tick(at)?;
        source(&mut |reading| self.readings.push(reading));
        for reading in self.readings.drain(..) {
            if reading.value.is_some() && reading.unit.is_open() && self.unit.is_none() {
                bail!("at second {}: the scale states no unit; give it with --unit", seconds(at));
            }
            self.weights += u64::from(reading.value.is_some());
            self.bench.reading(at, &reading)?;
        }
        Ok(())
    }
}

fn seconds(at: Moment) -> f64 {
    at.0 as f64 / 1e9
}

fn truth(text: &str) -> Result<bool, String> {
    text.parse().map_err(|_| "must be true or false".to_owned())
}

fn decimals(text: &str) -> Result<u8, String> {
    text.parse().ok().filter(|places| *places <= 6).ok_or_else(|| "must be a whole number from 0 to 6".to_owned())
}

fn division(text: &str) -> Result<Mass, String> {
    let example = "a division is a number and a unit, as 1g or 0.5oz";
    let split = text.find(|letter: char| letter.is_ascii_alphabetic()).ok_or(example)?;
    let (number, symbol) = text.split_at(split);
    let mass = Mass::parse(number.trim(), unit(symbol)?).map_err(|fault| format!("{example}: {fault}"))?;
    if mass > Mass::ZERO { Ok(mass) } else { Err("a division must be more than nothing".to_owned()) }
}

fn manner(text: &str) -> Result<Manner, String> {
    Manner::from_name(text).ok_or_else(|| format!("no such manner; there are {}", Manner::ALL.map(Manner::name).join(", ")))
}

fn choice(text: &str) -> Result<Choice, String> {
    if text == "auto" {
        return Ok(Choice::Auto);
    }
    Dialect::from_name(text).map(Choice::Named).ok_or_else(|| {
        let names = Dialect::names();
        format!("no such dialect; there are {names}, and auto")
    })
}

fn unit(text: &str) -> Result<Unit, String> {
    Unit::from_symbol(text).ok_or_else(|| format!("no such unit; there are {}", Unit::ALL.map(Unit::symbol).join(", ")))
}

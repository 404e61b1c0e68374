//! `bismar decode`.

use super::own::Own;
use crate::dialect::{Census, Dialect, News, Options, Parity, ReadUnit, Reading, Stream, recognise};
use crate::measure::Unit;
use anyhow::{Context, bail};
use clap::Args;
use serde::Serialize;
use std::io::{Read, Write};

/// Prints one JSON object a line for each reading in the bytes given.
///
/// The start of the input counts as a frame boundary and its end as a long silence. A frame without a usable
/// weight has the value null; what is no frame of the dialect gives nothing.
#[derive(Args)]
pub struct Decode {
    /// Its name, as header-comma, or auto, which recognises those that prove themselves and names none by guess
    #[arg(long, value_name = "NAME", value_parser = choice, required_unless_present = "pattern", conflicts_with = "pattern")]
    dialect: Option<Choice>,
    #[command(flatten)]
    own: Own,
    /// The bytes, as hexadecimal digits; without it they come from standard input
    #[arg(long, value_parser = hex)]
    hex: Option<Bytes>,
    /// The unit where the scale sends none: g, kg, t, lb, oz, ozt, gr
    #[arg(long, value_name = "U", value_parser = unit)]
    unit: Option<Unit>,
    /// Read a comma as the decimal point
    #[arg(long)]
    comma: bool,
    /// How many digits are decimals where the scale sends no point
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(0..=6))]
    decimals: Option<u8>,
    /// The input begins in the middle of a stream: a dialect without a start mark loses its first frame
    #[arg(long)]
    joined: bool,
}

#[derive(Debug, Clone, Copy)]
enum Choice {
    Auto,
    Named(Dialect),
}

// A newtype, since clap takes a plain `Vec` for an argument that may be repeated.
#[derive(Debug, Clone)]
struct Bytes(Vec<u8>);

/// The parity of the whole input is counted before its first byte is decoded, so all of it is held in memory.
const INPUT_MAX: u64 = 256 << 20;

impl Decode {
    pub fn run(self) -> anyhow::Result<()> {
        let own = self.own.pattern()?;
        let bytes = match self.hex {
            Some(Bytes(bytes)) => bytes,
            None => standard_input()?,
        };
        let options = Options {
            unit: self.unit,
            comma: self.comma,
            decimals: self.decimals,
            joined: self.joined,
            census: Census::Settled(Parity::of(&bytes)),
        };
        let stream = match (own, self.dialect) {
            (Some(own), _) => Stream::by_pattern(own, options),
            (None, Some(Choice::Named(dialect))) => Stream::new(dialect, options),
            (None, _) => {
                let found = recognise(&bytes, &options).context("the dialect is not certain; name it with --dialect")?;
                Stream::new(found, options)
            }
        };
        print(stream, options, &bytes, &mut std::io::stdout().lock())
    }
}

fn standard_input() -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    std::io::stdin().lock().take(INPUT_MAX + 1).read_to_end(&mut bytes).context("standard input")?;
    if bytes.len() as u64 > INPUT_MAX {
        bail!("standard input is longer than {} MiB: split it", INPUT_MAX >> 20);
    }
    Ok(bytes)
}

fn print(mut stream: Stream, options: Options, bytes: &[u8], out: &mut impl Write) -> anyhow::Result<()> {
    let mut fault = None;
    let mut out = std::io::BufWriter::new(out);
    let mut emit = |reading: Reading| {
        if let Some(news) = reading.news {
            let what = match news {
                News::Zeroed => "zeroed",
                News::Tared => "tared",
                News::PoweredUp => "switched on",
            };
            eprintln!("bismar: the scale was {what}");
        }
        if fault.is_none() && tells_something(&reading) {
            let line = Line::of(&reading, options.unit);
            fault = serde_json::to_writer(&mut out, &line).map_err(anyhow::Error::from).err();
            fault = fault.take().or_else(|| out.write_all(b"\n").map_err(anyhow::Error::from).err());
        }
    };
    stream.push(bytes, &mut emit);
    stream.silence(&mut emit);
    match fault {
        Some(fault) => Err(fault.context("standard output")),
        None => out.flush().context("standard output"),
    }
}

/// A reading that has only an event, or nothing at all, is no line.
fn tells_something(reading: &Reading) -> bool {
    use crate::dialect::{Kind, Stability};
    reading.value.is_some()
        || !reading.flags.names().is_empty()
        || reading.kind != Kind::Unknown
        || reading.stability != Stability::Unknown
}

#[derive(Serialize)]
struct Line {
    value: Option<String>,
    unit: &'static str,
    kind: crate::dialect::Kind,
    stability: crate::dialect::Stability,
    flags: Vec<&'static str>,
}

impl Line {
    fn of(reading: &Reading, configured: Option<Unit>) -> Line {
        let unit = match (reading.unit, configured) {
            _ if reading.value.is_none() => "-",
            (ReadUnit::Stated(unit), _) => unit.symbol(),
            (ReadUnit::PoundOunce, _) => "lb:oz",
            (ReadUnit::Unstated | ReadUnit::Ambiguous, Some(unit)) => unit.symbol(),
            (ReadUnit::Ambiguous, None) => "ambiguous",
            (ReadUnit::Unstated, None) => "unstated",
            (ReadUnit::Absent, _) => "-",
        };
        Line {
            value: reading.value.map(|value| value.to_string()),
            unit,
            kind: reading.kind,
            stability: reading.stability,
            flags: reading.flags.names(),
        }
    }
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

fn hex(text: &str) -> Result<Bytes, String> {
    let digits: Vec<u8> = text.bytes().filter(|byte| !byte.is_ascii_whitespace()).collect();
    let (pairs, rest) = digits.as_chunks::<2>();
    if !rest.is_empty() {
        return Err("an odd number of hexadecimal digits".to_owned());
    }
    let digit = |byte: u8| char::from(byte).to_digit(16).ok_or_else(|| format!("{:?} is no hexadecimal digit", char::from(byte)));
    pairs.iter().map(|&[high, low]| Ok((digit(high)? << 4 | digit(low)?) as u8)).collect::<Result<_, String>>().map(Bytes)
}

//! `bismar record`.

use super::own::{self, Own};
use super::signals::stop_flag;
use crate::clock::Clock;
use crate::config::PortName;
use crate::dialect::{Dialect, Pattern};
use crate::link::tape::{Body, Chunk, Tape};
use crate::link::{Asked, Event, Line, Poll, Reader, about, source};
use crate::measure::{Moment, Span};
use anyhow::{Context, bail};
use clap::Args;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::time::Duration;

/// Writes what a port sends to a tape, until Ctrl-C or for some seconds.
#[derive(Args)]
pub struct Record {
    /// The port, best by a name under /dev/serial/by-id; also tcp://host:port, hid:/dev/hidraw0 or hid:vendor:product.
    #[arg(value_parser = PortName::parse)]
    port: PortName,
    /// The tape to write; it must not exist.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Speed of the line; without it, the usual one of the dialect, else 9600.
    #[arg(long, value_name = "BAUD", value_parser = clap::value_parser!(u32).range(50..=4_000_000))]
    baud: Option<u32>,
    /// Data bits, parity and stop bits; without it, the usual ones of the dialect, else 8N1.
    #[arg(long, value_name = "BITS")]
    frame: Option<String>,
    /// The frame family, if it is known: noted on the tape, and needed to ask a scale that must be asked.
    #[arg(long, value_name = "NAME", value_parser = super::simulate::dialect, conflicts_with = "pattern")]
    dialect: Option<Dialect>,
    #[command(flatten)]
    own: Own,
    /// Ask for a weight every so many milliseconds, for a scale that sends nothing by itself.
    #[arg(long, value_name = "MS", requires = "dialect", value_parser = clap::value_parser!(u64).range(20..=60_000))]
    poll: Option<u64>,
    /// The scale's division, noted on the tape, such as 1g.
    #[arg(long, value_name = "TEXT")]
    division: Option<String>,
    /// The unit that the scale shows, noted on the tape.
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// The scale writes a decimal comma, noted on the tape.
    #[arg(long)]
    comma: bool,
    /// How many digits are decimals where the scale sends no point, noted on the tape.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(0..=6))]
    decimals: Option<u8>,
    /// End after so many seconds.
    #[arg(long, value_name = "N")]
    seconds: Option<u64>,
}

impl Record {
    pub fn run(self) -> anyhow::Result<()> {
        let dialect = self.dialect;
        let own = self.own.pattern()?;
        let line = self.line()?;
        let poll = match (self.poll, dialect) {
            (Some(every), Some(dialect)) => Some(Poll { bytes: super::simulate::request(dialect)?, every: Span::millis(every) }),
            _ => None,
        };
        let stop = stop_flag()?;
        let clock = Clock::system();
        let mut reader = Reader::spawn(source(&self.port, Asked { line, poll }, clock), clock)?;
        let mut tape = None;
        let mut lost = 0;
        while !stop.load(Ordering::Relaxed) {
            let begun = tape.as_ref().map(|&(_, start)| start);
            if let (Some(start), Some(seconds)) = (begun, self.seconds)
                && clock.mono().since(start) >= Span::seconds(seconds)
            {
                break;
            }
            let Some(item) = reader.recv_within(Duration::from_millis(100)) else { continue };
            match item.event {
                // The file is made only when there is something to record.
                Event::Up { device } if tape.is_none() => {
                    let about = about(&self.port, &device.device);
                    tape = Some((self.begin(line, own.as_ref(), about)?, item.at));
                    eprintln!("recording {} to {}; Ctrl-C ends it", self.port, self.output.display());
                }
                Event::Up { .. } => eprintln!("{} is back", self.port),
                Event::Bytes(bytes) => {
                    if let Some((file, start)) = &mut tape {
                        let at = Moment::default().plus(item.at.since(*start));
                        write!(file, "{}", Chunk { at, body: Body::Bytes(bytes) })
                            .and_then(|()| file.flush())
                            .with_context(|| cannot_write(&self.output))?;
                    }
                }
                Event::Down { why } if tape.is_none() => bail!(why),
                Event::Down { why } => eprintln!("{why}"),
                Event::Gap { lost: bytes } => lost += bytes,
                Event::Silence { since } => eprintln!("nothing came for {} s", since.as_seconds()),
                Event::Control(_) => {}
            }
        }
        reader.stop();
        if lost > 0 {
            bail!("{lost} bytes were lost: the disk was too slow for the scale");
        }
        Ok(())
    }

    fn line(&self) -> anyhow::Result<Line> {
        let usual = self.dialect.map_or_else(Line::default, |dialect| dialect.facts().usual.into());
        let bits = match &self.frame {
            Some(bits) => format!("{} {bits}", usual.baud).parse()?,
            None => usual,
        };
        Ok(Line { baud: self.baud.unwrap_or(usual.baud), ..bits })
    }

    /// What others need to read the tape as it was read here, and nothing that names this person's device.
    fn begin(&self, line: Line, own: Option<&Pattern>, about: String) -> anyhow::Result<BufWriter<File>> {
        let file = File::create_new(&self.output).with_context(|| cannot_write(&self.output))?;
        let mut header = vec![("tape".to_owned(), "1".to_owned())];
        let has_line = matches!(self.port, PortName::Device(_));
        let spoken = self.dialect.or(matches!(self.port, PortName::Hid(_)).then_some(Dialect::HidScale));
        let known = [
            ("dialect", spoken.map(|dialect| dialect.name().to_owned())),
            ("line", has_line.then(|| line.to_string())),
            ("unit", self.unit.clone()),
            ("division", self.division.clone()),
            ("comma", self.comma.then(|| true.to_string())),
            ("decimals", self.decimals.map(|places| places.to_string())),
            ("asked every", self.poll.map(|every| format!("{every} ms"))),
            ("device", Some(about)),
            ("recorded with", Some(concat!("bismar ", env!("CARGO_PKG_VERSION")).to_owned())),
        ];
        let own = own.map(own::header).into_iter().flatten();
        header.extend(own.chain(known).filter_map(|(key, value)| Some((key.to_owned(), value?))));
        let mut file = BufWriter::new(file);
        write!(file, "{}", Tape { header, chunks: Vec::new() }).with_context(|| cannot_write(&self.output))?;
        Ok(file)
    }
}

fn cannot_write(path: &Path) -> String {
    format!("{} cannot be written", path.display())
}

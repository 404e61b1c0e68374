//! `bismar simulate`.

use super::signals::stop_flag;
use crate::clock::Clock;
use crate::dialect::Dialect;
use crate::link::player::{Cue, Playing, play};
use crate::link::pty::Pty;
use crate::link::tape::{Body, Chunk, Tape};
use crate::measure::Moment;
use crate::sim::{Kind, Mode, Scale, Scenario, Script, Setup, Truth, What};
use anyhow::Context;
use clap::Args;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

/// Plays a scale and the person at it on a pseudo-terminal, and prints the path to listen at.
///
/// It runs in real time to the end of its script and then keeps sending the last load until it is ended.
#[derive(Args)]
pub struct Simulate {
    /// What the scale is like and what is done to it (TOML); without it, a made-up session of twelve pieces.
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
    /// Makes up work of this kind on a scale to match, by seed, instead of a scenario: heap, pan, tray, sort, fast,
    /// dribble, hammer, knocks, creep, lean, hand, gaps, shaken and more (a wrong name lists them all)
    #[arg(long, value_name = "NAME", value_parser = kind, conflicts_with = "scenario")]
    kind: Option<Kind>,
    /// Frames a second, instead of the scenario's
    #[arg(long, value_name = "N")]
    rate: Option<u32>,
    /// The frame family to speak, instead of the scenario's.
    #[arg(long, value_name = "NAME", value_parser = dialect)]
    dialect: Option<Dialect>,
    /// The same seed gives the same bytes.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Where to write what was really put on, once the script is complete (JSON).
    #[arg(long, value_name = "FILE")]
    truth: Option<PathBuf>,
    /// Where to write what is sent, as a tape.
    #[arg(long, value_name = "FILE")]
    tape: Option<PathBuf>,
    /// A symbolic link that leads to the pseudo-terminal, also after it was unplugged and plugged in again.
    #[arg(long, value_name = "PATH")]
    link: Option<PathBuf>,
    /// How many times faster than real time.
    #[arg(long, value_name = "F", default_value_t = 1.0, value_parser = speed)]
    speed: f64,
    /// End with the script.
    #[arg(long)]
    once: bool,
}

impl Simulate {
    pub fn run(self) -> anyhow::Result<()> {
        let Scenario { mut setup, script } = self.scenario()?;
        setup.dialect = self.dialect.unwrap_or(setup.dialect);
        setup.rate = self.rate.unwrap_or(setup.rate);
        let poll = (setup.mode == Mode::Polled).then(|| request(setup.dialect)).transpose()?;
        let truth = Truth::of(&setup, &script, self.seed);
        let end = script.end();
        let mut tape = self.tape(&setup)?;
        let mut scale = Scale::new(setup, script, self.seed).context("this scale cannot be simulated")?;
        // A tape of a made-up kind needs nobody who listens.
        if let (Some(_), true, None, None, Some(file)) = (self.kind, self.once, &self.link, &poll, &mut tape) {
            write_all(file, scale).context("the tape cannot be written")?;
            return self.tell(&truth);
        }
        let stop = stop_flag()?;
        let mut pty = Pty::open(self.link.as_deref()).context("there is no pseudo-terminal to be had")?;
        say(&pty.path().display().to_string())?;
        let playing = Playing { clock: Clock::system(), speed: self.speed, poll };
        let mut spoilt = None;
        play(&mut pty, scale.by_ref().map(|frame| (frame.at, Cue::from(frame.what))), &playing, &stop, |at, cue| {
            if let (Some(tape), Some(chunk)) = (&mut tape, chunk(at, cue)) {
                spoilt = write!(tape, "{chunk}").err().or(spoilt.take());
            }
        })?;
        if let Some(mut tape) = tape {
            spoilt.map_or_else(|| tape.flush(), Err).context("the tape cannot be written")?;
        }
        if stop.load(std::sync::atomic::Ordering::Relaxed) {
            return Ok(());
        }
        self.tell(&truth)?;
        if !self.once {
            let since_end = |at: Moment| Moment::default().plus(at.since(end));
            let rest = scale.endless().map(|frame| (since_end(frame.at), Cue::from(frame.what)));
            play(&mut pty, rest, &playing, &stop, |_, _| {})?;
        }
        Ok(())
    }

    fn tell(&self, truth: &Truth) -> anyhow::Result<()> {
        let Some(path) = &self.truth else { return Ok(()) };
        std::fs::write(path, truth.to_json() + "\n").with_context(|| format!("{} cannot be written", path.display()))?;
        Ok(say(&format!("truth: {}", path.display()))?)
    }

    fn scenario(&self) -> anyhow::Result<Scenario> {
        if let Some(kind) = self.kind {
            return Ok(kind.scenario(self.seed));
        }
        let Some(path) = &self.scenario else {
            return Ok(Scenario { setup: Setup::default(), script: Script::session(self.seed, 12, Default::default()) });
        };
        let text = std::fs::read_to_string(path).with_context(|| format!("{} cannot be read", path.display()))?;
        Scenario::parse(&text, self.seed).with_context(|| path.display().to_string())
    }

    fn tape(&self, setup: &Setup) -> anyhow::Result<Option<BufWriter<File>>> {
        let Some(path) = &self.tape else { return Ok(None) };
        let words = || format!("{} cannot be written", path.display());
        let mut file = BufWriter::new(File::create(path).with_context(words)?);
        let division = setup.step().map(|step| format!("{}g", step.exact_grams())).unwrap_or_default();
        let header = [
            ("tape", "1".to_owned()),
            ("dialect", setup.dialect.name().to_owned()),
            ("unit", setup.unit.to_string()),
            ("division", division),
            ("seed", self.seed.to_string()),
            ("recorded with", concat!("bismar simulate ", env!("CARGO_PKG_VERSION")).to_owned()),
        ];
        let header = header.into_iter().map(|(key, value)| (key.to_owned(), value)).collect();
        write!(file, "{}", Tape { header, chunks: Vec::new() }).with_context(words)?;
        Ok(Some(file))
    }
}

impl From<What> for Cue {
    fn from(what: What) -> Cue {
        match what {
            What::Sent { bytes, .. } => Cue::Send(bytes),
            What::Held { bytes, .. } => Cue::Hold(bytes),
            What::Control(words) => Cue::Note(words),
            What::Unplugged => Cue::Unplug,
            What::Plugged => Cue::Plug,
        }
    }
}

/// Writes the whole run without a line to send it on.
fn write_all(tape: &mut impl Write, scale: Scale) -> std::io::Result<()> {
    for frame in scale {
        if let Some(chunk) = chunk(frame.at, &Cue::from(frame.what)) {
            write!(tape, "{chunk}")?;
        }
    }
    tape.flush()
}

fn chunk(at: Moment, cue: &Cue) -> Option<Chunk> {
    let body = match cue {
        Cue::Send(bytes) => Body::Bytes(bytes.clone()),
        Cue::Note(words) => Body::Control(words.clone()),
        Cue::Hold(_) | Cue::Unplug | Cue::Plug => return None,
    };
    Some(Chunk { at, body })
}

/// Whoever started this program reads the path from its first line: it must not wait in a buffer.
fn say(line: &str) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}

/// What asks a scale of this family for its weight.
pub(super) fn request(dialect: Dialect) -> anyhow::Result<Vec<u8>> {
    let words = || format!("{} has no request that is known to change nothing: it can only be listened to", dialect.name());
    dialect.facts().poll.map(<[u8]>::to_vec).with_context(words)
}

pub(super) fn dialect(name: &str) -> Result<Dialect, String> {
    let names = Dialect::names();
    Dialect::from_name(name).ok_or_else(|| format!("it is none of {names}"))
}

fn kind(name: &str) -> Result<Kind, String> {
    let names = Kind::ALL.map(Kind::name).join(", ");
    Kind::from_name(name).ok_or_else(|| format!("it is none of {names}"))
}

fn speed(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|speed| (0.01..=1000.0).contains(speed)).ok_or_else(|| "it must be from 0.01 to 1000".to_owned())
}

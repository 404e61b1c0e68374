//! From a bench's reader to the core: bytes to readings, in their order.

use super::counts::{Counts, OfBench};
use super::mail::Work;
use crate::clock::Clock;
use crate::command::{Input, LinkNews};
use crate::config::BenchConfig;
use crate::dialect::{Census, Options, Reading, Stream};
use crate::facts::BenchId;
use crate::link::{Asked, Event, Item, Line, Poll, Reader, source};
use crate::measure::{Moment, Span, Stamp};
use std::time::Duration;
use tokio::sync::mpsc;

/// Nothing for so long ends a frame that has no end of its own. A line of 1200 baud takes less for a whole frame.
const FRAME_TIMEOUT: Duration = Duration::from_millis(250);

/// What a bench's port is asked for.
pub fn asked(bench: &BenchConfig) -> anyhow::Result<Asked> {
    let usual = bench.dialect.facts();
    let line = match &bench.line {
        Some(text) => text.parse()?,
        None if bench.pattern.is_some() => Line::default(),
        None => Line::from(usual.usual),
    };
    let poll = bench.poll_ms.zip(usual.poll).map(|(ms, bytes)| Poll { bytes: bytes.to_vec(), every: Span::millis(ms) });
    Ok(Asked { line, poll })
}

/// How a bench's frames are to be read.
fn stream(bench: &BenchConfig) -> Stream {
    let options =
        Options { unit: bench.unit, comma: bench.comma, decimals: bench.decimals, joined: true, census: Census::default() };
    match &bench.pattern {
        Some(own) => Stream::by_pattern(own.clone(), options),
        None => Stream::new(bench.dialect, options),
    }
}

/// Starts the reader's thread of a bench.
pub fn reader(bench: &BenchConfig, clock: Clock) -> anyhow::Result<Reader> {
    Ok(Reader::spawn(source(&bench.port, asked(bench)?, clock), clock)?)
}

/// Passes on what the reader brings until it ends.
pub struct Feed {
    pub id: BenchId,
    pub clock: Clock,
    pub counts: Counts,
    pub core: mpsc::Sender<Work>,
}

impl Feed {
    pub async fn run(self, bench: BenchConfig, mut reader: Reader, mut stop: tokio::sync::watch::Receiver<bool>) -> Reader {
        let mut stream = stream(&bench);
        let mut readings = Vec::new();
        let mut last_byte = Moment::default();
        loop {
            let item = tokio::select! {
                item = tokio::time::timeout(FRAME_TIMEOUT, reader.recv()) => item,
                _ = stop.wait_for(|stop| *stop) => return reader,
            };
            match item {
                Err(_) => stream.silence(&mut |reading| readings.push(reading)),
                Ok(None) => return reader,
                Ok(Some(Item { at, event })) => {
                    last_byte = at;
                    if !self.event(event, at, &mut stream, &mut readings).await {
                        return reader;
                    }
                }
            }
            if !self.pass_on(&mut readings, last_byte).await {
                return reader;
            }
        }
    }

    async fn pass_on(&self, readings: &mut Vec<Reading>, at: Moment) -> bool {
        for reading in readings.drain(..) {
            self.counts.readings.get_or_create(&self.label()).inc();
            let input = Input::Reading(self.id, reading);
            if self.core.send(Work::Input(input, self.stamp(at))).await.is_err() {
                return false;
            }
        }
        true
    }

    async fn event(&self, event: Event, at: Moment, stream: &mut Stream, readings: &mut Vec<Reading>) -> bool {
        let link = |news| Work::Link(self.id, news, self.stamp(at));
        let present = |value: i64| _ = self.counts.scale_present.get_or_create(&self.label()).set(value);
        let work = match event {
            Event::Bytes(bytes) => {
                present(1);
                let before = stream.tally().refused;
                stream.push(&bytes, &mut |reading| readings.push(reading));
                self.counts.refused_frames.get_or_create(&self.label()).inc_by(stream.tally().refused - before);
                return true;
            }
            Event::Up { device } => {
                tracing::info!(bench = %self.id, device = %device.device.display(), "the scale's port is open");
                if let Some(better) = &device.better {
                    tracing::warn!(bench = %self.id, better = %better.display(), "name this link as the port: it stays with the device");
                }
                stream.restart();
                link(LinkNews::Up { scale: Some(device.path.display().to_string()) })
            }
            Event::Down { why } => {
                tracing::warn!(bench = %self.id, code = why.code(), "{why}");
                present(0);
                stream.restart();
                link(LinkNews::Down)
            }
            Event::Gap { lost } => {
                tracing::warn!(bench = %self.id, lost, "bytes were lost: the daemon could not keep up");
                self.counts.lost_bytes.get_or_create(&self.label()).inc_by(lost);
                stream.restart();
                link(LinkNews::Lost(lost))
            }
            Event::Silence { since } => {
                tracing::info!(bench = %self.id, seconds = since.as_seconds(), "the scale says nothing");
                present(0);
                Work::Silent(self.id)
            }
            Event::Control(_) => return true,
        };
        self.core.send(work).await.is_ok()
    }

    /// The moment is the reader's; the wall clock is read now, a few milliseconds later at most.
    fn stamp(&self, at: Moment) -> Stamp {
        Stamp { mono: at, ..self.clock.now() }
    }

    fn label(&self) -> OfBench {
        OfBench { bench: self.id.0 }
    }
}

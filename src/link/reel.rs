//! A tape as a source.

use super::tape::{Body, Tape};
use super::{Got, Identity, Source, Why};
use crate::clock::Clock;
use crate::measure::{Moment, Span};
use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::Duration;

/// How fast a tape is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// Each chunk when its time has come, counted from the opening.
    RealTime,
    /// As fast as it is taken.
    Fast,
}

/// Plays a tape once. Items carry the tape's time, counted from the moment of opening.
pub struct Reel {
    path: PathBuf,
    chunks: VecDeque<(Moment, Body)>,
    pace: Pace,
    clock: Clock,
    start: Moment,
}

impl Reel {
    /// `path` is only what the tape is called in messages.
    pub fn new(path: impl Into<PathBuf>, tape: Tape, pace: Pace, clock: Clock) -> Reel {
        let chunks = tape.chunks.into_iter().map(|chunk| (chunk.at, chunk.body)).collect();
        Reel { path: path.into(), chunks, pace, clock, start: Moment::default() }
    }
}

impl Source for Reel {
    fn open(&mut self) -> Result<Identity, Why> {
        if self.chunks.is_empty() {
            return Err(Why::TapeEnded);
        }
        self.start = self.clock.mono();
        Ok(Identity { path: self.path.clone(), device: self.path.clone(), better: None })
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let Some((at, body)) = self.chunks.front_mut() else {
            return Err(Why::TapeEnded);
        };
        let due = self.start.plus(Span(at.0));
        let left = due.since(self.clock.mono());
        if self.pace == Pace::RealTime && left > Span::ZERO {
            std::thread::park_timeout(Duration::from_nanos(left.min(super::settings::READ_TIMEOUT).0));
            return Ok(Got::Quiet);
        }
        let got = match body {
            Body::Control(words) => Got::Control { words: std::mem::take(words), at: Some(due) },
            Body::Bytes(bytes) => {
                let count = bytes.len().min(buffer.len());
                buffer[..count].copy_from_slice(&bytes[..count]);
                bytes.drain(..count);
                if !bytes.is_empty() {
                    return Ok(Got::Bytes { count, at: Some(due) });
                }
                Got::Bytes { count, at: Some(due) }
            }
        };
        self.chunks.pop_front();
        Ok(got)
    }

    fn close(&mut self) {}

    fn patient(&self) -> bool {
        self.pace == Pace::Fast
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Event, Reader, Ring};

    /// A fast tape waits for its taker: a ring far too small for it loses nothing.
    #[test]
    fn a_fast_tape_loses_nothing_to_a_slow_taker() {
        let text: String = (0..500).map(|n| format!("{n}.5\tline {n}\\x0a\n{n}.75\t!choose {n}\n")).collect();
        let clock = Clock::system();
        let reel = Reel::new("t.tape", Tape::parse(&text).unwrap(), Pace::Fast, clock);
        let mut reader = Reader::with_ring(reel, clock, Ring::new(8, 64)).unwrap();
        let (mut bytes, mut words, mut start, mut last) = (Vec::new(), Vec::new(), None, Moment(0));
        while let Some(item) = reader.recv_within(Duration::from_secs(20)) {
            match item.event {
                Event::Up { .. } => {}
                Event::Bytes(some) => {
                    start.get_or_insert(item.at);
                    last = item.at;
                    bytes.extend(some);
                }
                Event::Control(line) => words.push(line),
                Event::Down { why } => assert_eq!(why, Why::TapeEnded),
                other => panic!("{other:?}"),
            }
        }
        assert!(reader.ended());
        assert_eq!(bytes, (0..500).map(|n| format!("line {n}\n")).collect::<String>().into_bytes());
        assert_eq!(words, (0..500).map(|n| format!("choose {n}")).collect::<Vec<_>>());
        assert_eq!(last.since(start.unwrap()), Span::seconds(499), "items carry the tape's time");
    }

    #[test]
    fn in_real_time_a_chunk_waits_for_its_second() {
        let clock = Clock::system();
        let tape = Tape::parse("0.000\tfirst\n0.350\tsecond\n").unwrap();
        let mut reader = Reader::spawn(Reel::new("t.tape", tape, Pace::RealTime, clock), clock).unwrap();
        let start = clock.mono();
        let mut seen = Vec::new();
        while let Some(item) = reader.recv_within(Duration::from_secs(20)) {
            if let Event::Bytes(bytes) = item.event {
                seen.push((bytes, item.at, clock.mono()));
            }
        }
        assert_eq!(seen.iter().map(|(bytes, ..)| &bytes[..]).collect::<Vec<_>>(), [&b"first"[..], b"second"]);
        assert_eq!(seen[1].1.since(seen[0].1), Span::millis(350));
        assert!(seen[1].2 >= seen[1].1, "it came before its time");
        assert!(seen[1].2.since(start) > Span::millis(200));
    }
}

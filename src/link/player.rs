//! Plays timed bytes on a pseudo-terminal, in real time or faster.

use super::pty::Pty;
use crate::clock::Clock;
use crate::measure::{Moment, Span};
use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// One thing to do on the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cue {
    Send(Vec<u8>),
    /// What a scale that answers only when asked would say from now on.
    Hold(Vec<u8>),
    Unplug,
    Plug,
    /// Something that is not seen on the line, such as a command of the operator.
    Note(String),
}

/// How to play.
#[derive(Debug, Clone)]
pub struct Playing {
    pub clock: Clock,
    /// 1 is real time, 10 is ten times faster. Must be above 0.
    pub speed: f64,
    /// The request that a held answer is sent for.
    pub poll: Option<Vec<u8>>,
}

/// The longest wait between two looks at the stop flag.
const SLICE: Span = Span::millis(50);

/// Plays `cues`, whose moments start at 0 and never run backwards, until they end or `stop` is set.
/// `sent` hears what happened and when, in the time of the cues: bytes as they were sent, answers too. While it hears a
/// note, the time of the cues stands still.
pub fn play(
    pty: &mut Pty,
    cues: impl Iterator<Item = (Moment, Cue)>,
    playing: &Playing,
    stop: &AtomicBool,
    mut sent: impl FnMut(Moment, &Cue),
) -> io::Result<()> {
    let mut start = playing.clock.mono();
    let mut held = Vec::new();
    let mut asked = Asked::default();
    let mut last = Moment::default();
    for (at, cue) in cues {
        let due = start.plus(stretched(Span(at.0), 1.0 / playing.speed));
        loop {
            if stop.load(Ordering::Relaxed) {
                return Ok(());
            }
            let now = playing.clock.mono();
            let left = due.since(now);
            if left == Span::ZERO {
                break;
            }
            let patience = Duration::from_nanos(left.min(SLICE).0);
            let Some(poll) = &playing.poll else {
                std::thread::sleep(patience);
                continue;
            };
            let mut buffer = [0; 64];
            let count = pty.read(&mut buffer, patience)?;
            for _ in 0..asked.count(&buffer[..count], poll) {
                if held.is_empty() {
                    continue;
                }
                let answer = Cue::Send(held.clone());
                pty.write(&held)?;
                let now = Moment::default().plus(stretched(playing.clock.mono().since(start), playing.speed));
                last = now.min(at).max(last);
                sent(last, &answer);
            }
        }
        match &cue {
            Cue::Send(bytes) => _ = pty.write(bytes)?,
            Cue::Hold(bytes) => {
                held.clone_from(bytes);
                continue;
            }
            Cue::Unplug => pty.unplug(),
            Cue::Plug => pty.plug()?,
            Cue::Note(_) => {}
        }
        last = at;
        let before = playing.clock.mono();
        sent(at, &cue);
        if matches!(cue, Cue::Note(_)) {
            // A command may wait seconds for a slow disk. Catching up behind it would press all that the scale shows in
            // the meantime into one moment, in which nothing rests.
            start = start.plus(playing.clock.mono().since(before));
        }
    }
    Ok(())
}

/// Playing speed is no measurement: floating point is good enough for it.
fn stretched(span: Span, times: f64) -> Span {
    Span((span.0 as f64 * times) as u64)
}

/// Finds requests in what a listener sends, wherever its writes are cut.
#[derive(Default)]
struct Asked {
    tail: Vec<u8>,
}

impl Asked {
    fn count(&mut self, bytes: &[u8], poll: &[u8]) -> usize {
        self.tail.extend_from_slice(bytes);
        let (mut count, mut from) = (0, 0);
        while let Some(at) = find(&self.tail[from..], poll) {
            count += 1;
            from += at + poll.len();
        }
        let keep = (self.tail.len() - from).min(poll.len().saturating_sub(1));
        self.tail.drain(..self.tail.len() - keep);
        count
    }
}

fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    (!wanted.is_empty()).then(|| bytes.windows(wanted.len()).position(|window| window == wanted)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn requests_are_counted_however_they_are_cut(noise in proptest::collection::vec(0_usize..3, 0..30), cut in 1_usize..5) {
            let parts = [&b"SI\r\n"[..], b"S", b"\r\nI"];
            let stream = noise.iter().map(|&part| parts[part]).collect::<Vec<_>>().concat();
            let mut asked = Asked::default();
            let total: usize = stream.chunks(cut).map(|chunk| asked.count(chunk, b"SI\r\n")).sum();
            let text = String::from_utf8(stream).unwrap();
            prop_assert_eq!(total, text.matches("SI\r\n").count());
        }
    }
}

//! What decoding costs, family by family, beside three floors from the same run: cutting the same bytes at their frame
//! ends, cutting them and adding up the digits of each piece as they stand, and a regular expression that takes value
//! and unit out of each piece.
//!
//! `cargo bench --bench decode [-- NAME]`; a name measures the families whose names contain it. The bytes come in pieces
//! of 4096, as from a recording. A port brings them in smaller ones, and 80 frames a second need none of this.

use bismar::dialect::{Census, Dialect, Flags, Kind, Options, Parity, ReadUnit, Reading, Stability, Stream, encode};
use bismar::measure::{Displayed, Unit};
use regex::bytes::Regex;
use std::hint::black_box;
use std::time::{Duration, Instant};

const BYTES: usize = 1 << 19;
const PIECE: usize = 4096;
/// The best of so many: what the machine does besides only ever adds.
const ROUNDS: usize = 7;

const OPTIONS: Options =
    Options { unit: None, comma: false, decimals: None, joined: false, census: Census::Settled(Parity::Clear) };

fn main() {
    // cargo passes --bench; anything else is part of a name.
    let part = std::env::args().skip(1).find(|argument| !argument.starts_with("--")).unwrap_or_default();
    let regex = Regex::new(r"([-+]? *[0-9]*\.?[0-9]+) *([A-Za-z]*)").expect("a regular expression");
    println!("family                  bytes    decode   a frame    cut at ends     digits  regex   decode to cut, digits, regex");
    for dialect in Dialect::ALL.iter().copied().filter(|dialect| dialect.name().contains(&part)) {
        Measured::of(dialect, &regex).print(dialect);
    }
}

/// Weights that change from frame to frame, in the first words that the family has for everything beside them, or in
/// grams where it has them.
fn stream_of(dialect: Dialect) -> (Vec<u8>, usize) {
    let says = dialect.facts().says;
    let unit = says.units.iter().find(|unit| **unit == Unit::Gram).or(says.units.first());
    let exponent = -says.decimals.1.clamp(says.decimals.0, 2.max(says.decimals.0));
    let (mut bytes, mut frames) = (Vec::with_capacity(BYTES + 128), 0);
    while bytes.len() < BYTES {
        let count = (frames as i64 * 7919) % says.most.min(99_998);
        let reading = Reading {
            value: Some(Displayed { count, exponent }),
            unit: unit.map_or(ReadUnit::Unstated, |unit| ReadUnit::Stated(*unit)),
            kind: says.kinds.first().copied().unwrap_or(Kind::Unknown),
            stability: says.stability.first().copied().unwrap_or(Stability::Unknown),
            division: says.division.then_some(Displayed { count: 1, exponent }),
            ..Reading::without_weight(Flags::default())
        };
        encode(dialect, &reading, &OPTIONS, &mut bytes).expect("what the facts say can be said");
        frames += 1;
    }
    (bytes, frames)
}

/// The number that the digits of a piece make, whatever stands between them: one look at each byte, and nothing checked.
fn digits(piece: &[u8]) -> u64 {
    piece.iter().fold(0, |sum: u64, byte| match byte {
        b'0'..=b'9' => sum.wrapping_mul(10).wrapping_add(u64::from(byte - b'0')),
        _ => sum,
    })
}

/// The byte that cuts the stream into its frames: a line end, ETX, or else the one that stands about once in each.
fn end_mark(bytes: &[u8], frames: usize) -> u8 {
    let often = |mark: u8| memchr::memchr_iter(mark, bytes).count();
    let usual = [b'\n', 0x03, b'\r'].into_iter().find(|mark| often(*mark) == frames);
    usual.unwrap_or_else(|| (0..=u8::MAX).min_by_key(|mark| often(*mark).abs_diff(frames)).expect("a byte"))
}

/// Seconds for the whole stream.
struct Measured {
    bytes: usize,
    frames: usize,
    decode: f64,
    cut: f64,
    digits: f64,
    regex: f64,
}

impl Measured {
    fn of(dialect: Dialect, regex: &Regex) -> Measured {
        let (bytes, frames) = stream_of(dialect);
        let end = end_mark(&bytes, frames);
        let [mut decode, mut cut, mut added, mut matched] = [Duration::MAX; 4];
        let mut places = regex.capture_locations();
        for _ in 0..ROUNDS {
            let mut given = 0;
            decode = decode.min(time(|| {
                let mut stream = Stream::new(dialect, OPTIONS);
                for piece in bytes.chunks(PIECE) {
                    stream.push(piece, &mut |reading| given += usize::from(black_box(reading).value.is_some()));
                }
                stream.silence(&mut |_| given += 1);
            }));
            assert_eq!(given, frames, "{}", dialect.name());
            cut = cut.min(time(|| {
                let mut start = 0;
                for at in memchr::memchr_iter(end, &bytes) {
                    black_box(&bytes[start..at]);
                    start = at + 1;
                }
            }));
            added = added.min(time(|| {
                let mut start = 0;
                for at in memchr::memchr_iter(end, &bytes) {
                    black_box(digits(&bytes[start..at]));
                    start = at + 1;
                }
            }));
            matched = matched.min(time(|| {
                let mut start = 0;
                for at in memchr::memchr_iter(end, &bytes) {
                    regex.captures_read(&mut places, &bytes[start..at]);
                    black_box((places.get(1), places.get(2)));
                    start = at + 1;
                }
            }));
        }
        let [decode, cut, digits, regex] = [decode, cut, added, matched].map(|took| took.as_secs_f64());
        Measured { bytes: bytes.len(), frames, decode, cut, digits, regex }
    }

    fn print(&self, dialect: Dialect) {
        let frame = |seconds: f64| seconds * 1e9 / self.frames as f64;
        println!(
            "{:22} {:6.1} {:6.0} MB/s {:6.0} ns {:6.1} ns {:6.0} MB/s {:4.0} ns {:4.0} ns {:8.1} {:6.1} {:8.2}",
            dialect.name(),
            self.bytes as f64 / self.frames as f64,
            self.bytes as f64 / self.decode / 1e6,
            frame(self.decode),
            frame(self.cut),
            self.bytes as f64 / self.cut / 1e6,
            frame(self.digits),
            frame(self.regex),
            self.decode / self.cut,
            self.decode / self.digits,
            self.decode / self.regex,
        );
    }
}

fn time(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

//! One event as one line of text.
//!
//! ```text
//! {"prev":"<32 hex digits>","store":"…","seq":7,"v":1,…,"kind":"…","body":{…}}<TAB><8 hex digits>
//! ```
//!
//! `prev` is the hash of the whole line before (without its newline); the first line of a store carries a hash made
//! from the store's id. The digits after the tab are the CRC-32 of all that stands before the tab. A line of a batch of
//! several carries `"part":[k,n]` after `prev`: a batch counts only when all its lines are there.
//! `cut -f1 roll/*.roll | jq .` reads it with nothing of ours.
//!
//! The hash is the first 128 bits of BLAKE3: it guards against rot and mix-ups, for which 64 bits would do, and not
//! against somebody who forges a history.

use crate::facts::{Event, SCHEMA, StoreId};
use std::fmt;

/// No line is longer, newline included: a damaged file cannot make a reader swallow all of it.
pub const LINE_MAX: usize = 1 << 20;

/// The hash of a line.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct LineHash(pub [u8; 16]);

impl LineHash {
    pub fn of(line: &[u8]) -> LineHash {
        let mut short = [0; 16];
        short.copy_from_slice(&blake3::hash(line).as_bytes()[..16]);
        LineHash(short)
    }

    /// What stands for the line before the first.
    pub fn genesis(store: StoreId) -> LineHash {
        LineHash::of(format!("bismar roll {store}").as_bytes())
    }
}

impl fmt::Display for LineHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", u128::from_be_bytes(self.0))
    }
}

impl fmt::Debug for LineHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// What the start of a line says, read without the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    pub prev: LineHash,
    /// Which line of its batch this is, from 1, and how many there are.
    pub part: (u32, u32),
    pub store: StoreId,
    pub seq: u64,
    pub schema: u16,
}

impl Header {
    /// The sequence number of the first line of this line's batch.
    pub fn batch_start(&self) -> u64 {
        self.seq.saturating_sub(u64::from(self.part.0 - 1))
    }

    pub fn ends_batch(&self) -> bool {
        self.part.0 == self.part.1
    }
}

/// Why a line is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadLine {
    #[error("it is longer than {LINE_MAX} bytes")]
    TooLong,
    #[error("it has no checksum after a tab")]
    NoChecksum,
    #[error("its checksum does not fit")]
    Checksum,
    #[error("it does not start with {0} as this program writes it")]
    Start(&'static str),
    #[error("it is of schema {found}, and this program knows up to {SCHEMA}: use a newer program")]
    Newer { found: u16 },
    #[error("it cannot be read as an event: {0}")]
    Unreadable(String),
}

/// The line of an event, without a newline.
pub fn encode(event: &Event, prev: LineHash, part: (u32, u32)) -> Result<Vec<u8>, BadLine> {
    let json = serde_json::to_vec(event).map_err(|error| BadLine::Unreadable(error.to_string()))?;
    let mut line = format!("{{\"prev\":\"{prev}\",").into_bytes();
    if part != (1, 1) {
        line.extend(format!("\"part\":[{},{}],", part.0, part.1).into_bytes());
    }
    line.extend_from_slice(&json[1..]);
    let line = summed(&line);
    if line.len() >= LINE_MAX {
        return Err(BadLine::TooLong);
    }
    Ok(line)
}

/// The line whose JSON this is: with its checksum after it.
pub fn summed(json: &[u8]) -> Vec<u8> {
    let mut line = json.to_vec();
    line.extend(format!("\t{:08x}", crc32fast::hash(json)).into_bytes());
    line
}

/// The JSON of a line, without its checksum.
pub fn json(line: &[u8]) -> Result<&[u8], BadLine> {
    split(line).map(|(json, _)| json)
}

/// Checks the checksum and reads the start. The line has no newline.
pub fn header(line: &[u8]) -> Result<Header, BadLine> {
    if line.len() >= LINE_MAX {
        return Err(BadLine::TooLong);
    }
    let (json, sum) = split(line)?;
    if crc32fast::hash(json) != sum {
        return Err(BadLine::Checksum);
    }
    let mut rest = Cursor(json);
    let prev = rest.skip(b"{\"prev\":\"").and_then(|()| rest.hex(32)).ok_or(BadLine::Start("the hash of the line before"))?;
    let mut part = (1, 1);
    rest.skip(b"\",").ok_or(BadLine::Start("the hash of the line before"))?;
    if rest.skip(b"\"part\":[").is_some() {
        part = rest.part().ok_or(BadLine::Start("its part of a batch"))?;
    }
    let store = rest.skip(b"\"store\":\"").and_then(|()| rest.hex(32)).ok_or(BadLine::Start("the store's id"))?;
    let seq = rest.skip(b"\",\"seq\":").and_then(|()| rest.number()).ok_or(BadLine::Start("its sequence number"))?;
    let schema = rest.skip(b",\"v\":").and_then(|()| rest.number()).ok_or(BadLine::Start("its schema"))?;
    let schema = u16::try_from(schema).unwrap_or(u16::MAX);
    if schema > SCHEMA {
        return Err(BadLine::Newer { found: schema });
    }
    if schema == 0 || seq == 0 {
        return Err(BadLine::Start("a schema and a sequence number from 1"));
    }
    Ok(Header { prev: LineHash(prev.to_be_bytes()), part, store: StoreId(store), seq, schema })
}

/// Reads the whole line. An unknown kind or a body that does not fit is refused, never skipped.
pub fn decode(line: &[u8]) -> Result<(Header, Event), BadLine> {
    let header = header(line)?;
    Ok((header, event(line)?))
}

/// Reads the event of a line whose start has been checked.
pub fn event(line: &[u8]) -> Result<Event, BadLine> {
    let (json, _) = split(line)?;
    serde_json::from_slice(json).map_err(|error| BadLine::Unreadable(error.to_string()))
}

fn split(line: &[u8]) -> Result<(&[u8], u32), BadLine> {
    let at = line.len().checked_sub(9).ok_or(BadLine::NoChecksum)?;
    let (json, end) = line.split_at(at);
    let mut digits = Cursor(&end[1..]);
    match (end[0], digits.hex(8)) {
        (b'\t', Some(sum)) => Ok((json, sum as u32)),
        _ => Err(BadLine::NoChecksum),
    }
}

/// Reads on from the front, byte for byte as this program writes.
struct Cursor<'a>(&'a [u8]);

impl Cursor<'_> {
    fn skip(&mut self, text: &[u8]) -> Option<()> {
        self.0 = self.0.strip_prefix(text)?;
        Some(())
    }

    /// Exactly `digits` lower-case hexadecimal digits.
    fn hex(&mut self, digits: usize) -> Option<u128> {
        let (text, rest) = self.0.split_at_checked(digits)?;
        let mut value = 0;
        for byte in text {
            let digit = match byte {
                b'0'..=b'9' => byte - b'0',
                b'a'..=b'f' => byte - b'a' + 10,
                _ => return None,
            };
            value = value << 4 | u128::from(digit);
        }
        self.0 = rest;
        Some(value)
    }

    fn number(&mut self) -> Option<u64> {
        let digits = self.0.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let (text, rest) = self.0.split_at(digits);
        self.0 = rest;
        std::str::from_utf8(text).ok()?.parse().ok()
    }

    fn part(&mut self) -> Option<(u32, u32)> {
        let k = u32::try_from(self.number()?).ok()?;
        self.skip(b",")?;
        let n = u32::try_from(self.number()?).ok()?;
        self.skip(b"],")?;
        (k >= 1 && k <= n && n > 1).then_some((k, n))
    }
}

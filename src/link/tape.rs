//! Tapes: bytes of a scale with the second at which each chunk came, as text.
//!
//! `# key: value` header lines, then one line a chunk: `SECONDS<TAB>BYTES`, the bytes as printable ASCII with
//! `\xNN` for the rest and `\\` for a backslash. `SECONDS<TAB>!choose BIN` and the like are the operator's commands.

use crate::measure::Moment;

/// A whole tape in memory.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tape {
    /// Header lines in their order.
    pub header: Vec<(String, String)>,
    pub chunks: Vec<Chunk>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chunk {
    /// Time since the tape's start.
    pub at: Moment,
    pub body: Body,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    Bytes(Vec<u8>),
    /// A command of the operator, without its exclamation mark.
    Control(String),
}

/// Why a text is not a tape, with the line counted from 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct TapeFault {
    pub line: usize,
    pub what: String,
}

impl Tape {
    /// The value of a header key.
    pub fn value(&self, key: &str) -> Option<&str> {
        self.header.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str())
    }

    /// Reads a tape. Times must not run backwards.
    pub fn parse(text: &str) -> Result<Tape, TapeFault> {
        let mut tape = Tape::default();
        for (index, line) in text.lines().enumerate() {
            let fault = |what: String| TapeFault { line: index + 1, what };
            if line.is_empty() {
                continue;
            }
            if let Some(comment) = line.strip_prefix('#') {
                if let Some((key, value)) = comment.split_once(':') {
                    tape.header.push((key.trim().to_owned(), value.trim().to_owned()));
                }
                continue;
            }
            let (seconds, rest) =
                line.split_once('\t').ok_or_else(|| fault("there is no tab between the second and the bytes".into()))?;
            let at = moment(seconds).ok_or_else(|| fault(format!("{seconds:?} is not a number of seconds")))?;
            if tape.chunks.last().is_some_and(|last| last.at > at) {
                return Err(fault("its time lies before the line above".into()));
            }
            let body = match rest.strip_prefix('!') {
                Some(command) => Body::Control(command.to_owned()),
                None => Body::Bytes(unescape(rest).map_err(fault)?),
            };
            tape.chunks.push(Chunk { at, body });
        }
        Ok(tape)
    }
}

impl std::fmt::Display for Tape {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (key, value) in &self.header {
            writeln!(f, "# {key}: {value}")?;
        }
        self.chunks.iter().try_for_each(|chunk| write!(f, "{chunk}"))
    }
}

impl std::fmt::Display for Chunk {
    /// One line with its line end.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let micros = self.at.0 / 1000;
        write!(f, "{}.{:06}\t", micros / 1_000_000, micros % 1_000_000)?;
        match &self.body {
            Body::Control(command) => writeln!(f, "!{command}"),
            Body::Bytes(bytes) => writeln!(f, "{}", escape(bytes)),
        }
    }
}

/// Bytes as a tape writes them. A leading `!` is escaped: it would read as a command.
pub fn escape(bytes: &[u8]) -> String {
    use std::fmt::Write;
    let mut text = String::with_capacity(bytes.len() + 8);
    for (index, &byte) in bytes.iter().enumerate() {
        match byte {
            b'\\' => text.push_str("\\\\"),
            b'!' if index == 0 => text.push_str("\\x21"),
            b' '..=b'~' => text.push(byte as char),
            _ => _ = write!(text, "\\x{byte:02x}"),
        }
    }
    text
}

/// The bytes that [`escape`] wrote; the error says what is wrong.
pub fn unescape(text: &str) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((&byte, after)) = rest.split_first() {
        rest = after;
        if byte != b'\\' {
            bytes.push(byte);
            continue;
        }
        match rest {
            [b'\\', after @ ..] => {
                bytes.push(b'\\');
                rest = after;
            }
            [b'x', high, low, after @ ..] => {
                let digit = |byte: u8| (byte as char).to_digit(16);
                let (Some(high), Some(low)) = (digit(*high), digit(*low)) else {
                    return Err("\\x must be followed by two hexadecimal digits".into());
                };
                bytes.push((high * 16 + low) as u8);
                rest = after;
            }
            _ => return Err("a backslash must be followed by x and two hexadecimal digits, or by a backslash".into()),
        }
    }
    Ok(bytes)
}

/// Seconds with up to nine decimals.
fn moment(text: &str) -> Option<Moment> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || fraction.len() > 9 || !plain(whole) || !plain(fraction) {
        return None;
    }
    let nanos = format!("{fraction:0<9}").parse::<u64>().ok()?;
    whole.parse::<u64>().ok()?.checked_mul(1_000_000_000)?.checked_add(nanos).map(Moment)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_tape_written_is_read_back(chunks in proptest::collection::vec((0_u64..5_000_000, proptest::collection::vec(any::<u8>(), 1..40)), 0..20)) {
            let mut at = 0;
            let chunks = chunks.into_iter().map(|(gap, bytes)| {
                at += gap * 1000;
                Chunk { at: Moment(at), body: Body::Bytes(bytes) }
            }).collect();
            let tape = Tape { header: vec![("tape".into(), "1".into()), ("division".into(), "1g".into())], chunks };
            prop_assert_eq!(Tape::parse(&tape.to_string()), Ok(tape));
        }
    }

    #[test]
    fn faults_name_their_line() {
        let line = |text: &str| Tape::parse(text).unwrap_err().line;
        assert_eq!(line("# tape: 1\n0.1\tok\n0.2 no tab\n"), 3);
        assert_eq!(line("0.1\tok\n0.05\tearlier\n"), 2);
        assert_eq!(line("0.1\t\\q\n"), 1);
        assert_eq!(line("zero\tx\n"), 1);
    }
}

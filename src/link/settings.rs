//! How a port is asked to be: path, line, polling, modem lines.

use crate::dialect::{self, LineSettings};
use crate::measure::Span;
use serialport::SerialPortBuilder;
use std::path::PathBuf;
use std::time::Duration;

/// How long a read waits for a byte: long enough to cost nothing while idle, short enough to stop at once.
pub const READ_TIMEOUT: Span = Span::millis(100);

/// Everything that is asked of a serial port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// As configured: best a link that stays with the device.
    pub path: PathBuf,
    pub line: Line,
    /// Only for a scale that must be asked.
    pub poll: Option<Poll>,
    /// Raised at open unless the owner says otherwise: some scales and adapters send nothing without it.
    pub dtr: bool,
    pub rts: bool,
}

/// Speed and frame of the line, written `9600 8N1`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    pub baud: u32,
    /// 7 or 8.
    pub data_bits: u8,
    pub parity: Parity,
    /// 1 or 2.
    pub stop_bits: u8,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    None,
    Even,
    Odd,
}

/// Bytes that ask for a weight, and how often they are sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Poll {
    pub bytes: Vec<u8>,
    pub every: Span,
}

/// Why a text is not a line setting.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not a line setting: write speed, data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2), as in \"9600 8N1\""
)]
pub struct BadLine {
    pub text: String,
}

impl Settings {
    /// A port that is only listened to, at 9600 8N1, with both modem lines raised.
    pub fn new(path: impl Into<PathBuf>) -> Settings {
        Settings { path: path.into(), line: Line::default(), poll: None, dtr: true, rts: true }
    }

    /// The same as the serial library wants it, for the device that `path` has turned out to be.
    pub(super) fn builder(&self, device: &str) -> SerialPortBuilder {
        let wait = self.poll.as_ref().map_or(READ_TIMEOUT, |poll| poll.every.min(READ_TIMEOUT));
        serialport::new(device, self.line.baud)
            .data_bits(match self.line.data_bits {
                7 => serialport::DataBits::Seven,
                _ => serialport::DataBits::Eight,
            })
            .parity(match self.line.parity {
                Parity::None => serialport::Parity::None,
                Parity::Even => serialport::Parity::Even,
                Parity::Odd => serialport::Parity::Odd,
            })
            .stop_bits(match self.line.stop_bits {
                2 => serialport::StopBits::Two,
                _ => serialport::StopBits::One,
            })
            .flow_control(serialport::FlowControl::None)
            .timeout(Duration::from_nanos(wait.0))
            .dtr_on_open(self.dtr)
            .exclusive(true)
    }
}

impl Default for Line {
    fn default() -> Line {
        Line { baud: 9600, data_bits: 8, parity: Parity::None, stop_bits: 1 }
    }
}

impl From<LineSettings> for Line {
    fn from(usual: LineSettings) -> Line {
        let parity = match usual.parity {
            dialect::Parity::Even => Parity::Even,
            dialect::Parity::Odd => Parity::Odd,
            _ => Parity::None,
        };
        Line { baud: usual.speed, data_bits: usual.data_bits, parity, stop_bits: usual.stop_bits }
    }
}

impl std::str::FromStr for Line {
    type Err = BadLine;

    /// Reads `9600 8N1`, `9600-8N1`, or a speed alone.
    fn from_str(text: &str) -> Result<Line, BadLine> {
        let bad = || BadLine { text: text.to_owned() };
        let (speed, frame) = text.split_once([' ', '-', ',']).unwrap_or((text, "8N1"));
        let baud = speed.parse::<u32>().ok().filter(|&baud| baud > 0).ok_or_else(bad)?;
        let &[data @ (b'7' | b'8'), parity, stop @ (b'1' | b'2')] = frame.trim().as_bytes() else {
            return Err(bad());
        };
        let parity = match parity.to_ascii_uppercase() {
            b'N' => Parity::None,
            b'E' => Parity::Even,
            b'O' => Parity::Odd,
            _ => return Err(bad()),
        };
        Ok(Line { baud, data_bits: data - b'0', parity, stop_bits: stop - b'0' })
    }
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        write!(f, "{} {}{parity}{}", self.baud, self.data_bits, self.stop_bits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pseudo-terminal takes any parity and ignores it, so what is asked for can only be checked here.
    #[test]
    fn the_port_is_asked_for_what_is_set() {
        use serialport::{DataBits, FlowControl, Parity as P, StopBits};
        let plain = |data, parity, stop| {
            serialport::new("/dev/ttyS9", 4800)
                .data_bits(data)
                .parity(parity)
                .stop_bits(stop)
                .flow_control(FlowControl::None)
                .timeout(Duration::from_millis(100))
                .dtr_on_open(true)
                .exclusive(true)
        };
        for (text, expected) in [
            ("4800 8N1", plain(DataBits::Eight, P::None, StopBits::One)),
            ("4800 7E1", plain(DataBits::Seven, P::Even, StopBits::One)),
            ("4800 7O2", plain(DataBits::Seven, P::Odd, StopBits::Two)),
            ("4800 8E2", plain(DataBits::Eight, P::Even, StopBits::Two)),
        ] {
            let settings = Settings { line: text.parse().unwrap(), ..Settings::new("/dev/serial/by-id/x") };
            assert_eq!(settings.builder("/dev/ttyS9"), expected, "{text}");
        }
        let quick = Settings { poll: Some(Poll { bytes: b"W".to_vec(), every: Span::millis(40) }), ..Settings::new("x") };
        assert_eq!(quick.builder("x"), Settings::new("x").builder("x").timeout(Duration::from_millis(40)));
        let slow = Settings { poll: Some(Poll { bytes: b"W".to_vec(), every: Span::seconds(2) }), ..Settings::new("x") };
        assert_eq!(slow.builder("x"), Settings::new("x").builder("x"));
        let low = Settings { dtr: false, ..Settings::new("x") };
        assert_eq!(low.builder("x"), Settings::new("x").builder("x").dtr_on_open(false));
    }

    #[test]
    fn lines_are_read_as_written() {
        for text in ["9600 8N1", "1200 7E1", "115200 7O2"] {
            assert_eq!(text.parse::<Line>().unwrap().to_string(), text);
        }
        assert_eq!("2400".parse::<Line>().unwrap().to_string(), "2400 8N1");
        assert_eq!("2400-7e1".parse::<Line>().unwrap().to_string(), "2400 7E1");
        let usual = |dialect: dialect::Dialect| Line::from(dialect.facts().usual).to_string();
        assert_eq!(usual(dialect::Dialect::StxStatusWords), "9600 7E1");
        assert_eq!(usual(dialect::Dialect::HeaderComma), "9600 8N1");
        for text in ["", "0 8N1", "9600 9N1", "9600 8X1", "9600 8N3", "9600 8N", "fast 8N1", "-9600"] {
            assert!(text.parse::<Line>().is_err(), "{text}");
        }
    }
}

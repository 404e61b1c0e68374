//! What scales send: one file a frame family, each with a pure decoder and a pure encoder.
//!
//! [`Stream`] turns the bytes of one scale into readings: it takes out the parity bits, finds the frames and hands
//! each to its family's decoder. Nothing here reads a clock: whoever reads the port tells when a line fell silent.

mod bare_number;
mod census;
mod facts;
mod header_comma;
mod hunt;
mod letter_reply;
mod lf_framer;
mod lf_status_chars;
mod line_framer;
mod number;
mod options;
#[cfg(test)]
mod properties;
mod reading;
mod stream;
mod stx_framer;
mod stx_status_words;
mod unit_word;
mod verdict;

pub use census::{Census, Parity};
pub use facts::{Facts, LineSettings};
pub use hunt::{Doubt, recognise};
pub use options::{Options, Unsayable};
pub use reading::{Flags, Kind, News, ReadUnit, Reading, Stability};
pub use stream::{Stream, Tally};

use serde::{Deserialize, Serialize};

/// A frame family.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dialect {
    HeaderComma,
    StxStatusWords,
    LetterReply,
    LfStatusChars,
    BareNumber,
}

impl Dialect {
    pub const ALL: [Dialect; 5] =
        [Dialect::HeaderComma, Dialect::StxStatusWords, Dialect::LetterReply, Dialect::LfStatusChars, Dialect::BareNumber];

    pub const fn name(self) -> &'static str {
        match self {
            Dialect::HeaderComma => "header-comma",
            Dialect::StxStatusWords => "stx-status-words",
            Dialect::LetterReply => "letter-reply",
            Dialect::LfStatusChars => "lf-status-chars",
            Dialect::BareNumber => "bare-number",
        }
    }

    pub fn from_name(name: &str) -> Option<Dialect> {
        Dialect::ALL.into_iter().find(|dialect| dialect.name() == name)
    }

    /// What is known of the family beside its bytes.
    pub const fn facts(self) -> &'static Facts {
        match self {
            Dialect::HeaderComma => &header_comma::FACTS,
            Dialect::StxStatusWords => &stx_status_words::FACTS,
            Dialect::LetterReply => &letter_reply::FACTS,
            Dialect::LfStatusChars => &lf_status_chars::FACTS,
            Dialect::BareNumber => &bare_number::FACTS,
        }
    }
}

/// Appends the frame that says `reading` to `out`, terminator and checksum included.
///
/// Kind, stability, zero mark and division are left unsaid where the family has no place for them
/// ([`Dialect::facts`] tells); a value, unit, range or event that it cannot say is an error, and `out` is unchanged.
pub fn encode(dialect: Dialect, reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let before = out.len();
    let outcome = match dialect {
        Dialect::HeaderComma => header_comma::encode(reading, options, out),
        Dialect::StxStatusWords => stx_status_words::encode(reading, out),
        Dialect::LetterReply => letter_reply::encode(reading, options, out),
        Dialect::LfStatusChars => lf_status_chars::encode(reading, options, out),
        Dialect::BareNumber => bare_number::encode(reading, options, out),
    };
    if outcome.is_err() {
        out.truncate(before);
    }
    outcome
}

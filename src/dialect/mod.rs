//! What scales send: one file a frame family, each with a pure decoder and a pure encoder.

mod reading;

pub use reading::{Flags, Kind, News, ReadUnit, Reading, Stability};

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
}

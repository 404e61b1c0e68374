//! What came of what was pressed.

use crate::config::Act;
use crate::measure::Moment;

/// One card, one number, one key: what it asks for, or why it asks for nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Press {
    /// When it was pressed: of a card or a number its last character, of an Enter the Enter.
    pub at: Moment,
    pub what: Result<Act, Refused>,
}

/// Why nothing is done. Nothing is guessed from what is almost an act.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    #[error("{text:?} is no card of a bin: cards read \"BIN 7\", \"7\" or \"BISMAR-NEXT\"")]
    NoCard { text: String },
    #[error("more than {most} characters came without an end: set the scanner to send Enter after each card")]
    Endless { most: usize },
    #[error("{digits} was typed and no Enter followed: type the number again, then Enter")]
    NoEnter { digits: String },
    #[error("the number that was typed is too long for a bin's")]
    TooLong,
    #[error("the link was cut behind {text:?}: scan or type it again")]
    CutOff { text: String },
    #[error("a key that means nothing here was pressed{}: digits, Enter, + - . and * do", shown(*key))]
    StrangeKey { key: Option<char> },
    #[error("the key with code {code} has no act: give it one under acts")]
    NoAct { code: u16 },
}

impl Refused {
    /// A short fixed name, for logs.
    pub const fn code(&self) -> &'static str {
        match self {
            Refused::NoCard { .. } => "no-card",
            Refused::Endless { .. } => "endless",
            Refused::NoEnter { .. } => "no-enter",
            Refused::TooLong => "too-long",
            Refused::CutOff { .. } => "cut-off",
            Refused::StrangeKey { .. } => "strange-key",
            Refused::NoAct { .. } => "no-act",
        }
    }
}

impl Press {
    pub(super) fn act(at: Moment, act: Act) -> Press {
        Press { at, what: Ok(act) }
    }

    pub(super) fn refused(at: Moment, why: Refused) -> Press {
        Press { at, what: Err(why) }
    }
}

fn shown(key: Option<char>) -> String {
    key.map(|key| format!(" ({key:?})")).unwrap_or_default()
}

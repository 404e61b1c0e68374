//! The flags that describe a scale by a pattern of one's own.

use crate::dialect::Pattern;
use crate::link::tape::{Tape, escape, unescape};
use anyhow::anyhow;
use clap::Args;

#[derive(Args, Debug, Clone)]
pub(super) struct Own {
    /// A regular expression for one whole frame of a scale that no dialect fits, with a part (?<value>…) and, where
    /// the frame has them, (?<unit>…), (?<sign>…), (?<stable>…), (?<moving>…), (?<kind>…), (?<over>…), (?<under>…)
    #[arg(long, value_name = "EXPRESSION")]
    pattern: Option<String>,
    /// The bytes of which each ends a frame of the pattern, such as \x03; without it any mix of CR and LF
    #[arg(long, value_name = "BYTES", requires = "pattern")]
    ends: Option<String>,
}

impl Own {
    /// The pattern of the flags.
    pub fn pattern(&self) -> anyhow::Result<Option<Pattern>> {
        make(self.pattern.as_deref(), self.ends.as_deref())
    }

    /// That of the flags, else that of the tape's header.
    pub fn or_header(&self, tape: &Tape) -> anyhow::Result<Option<Pattern>> {
        match self.pattern()? {
            Some(pattern) => Ok(Some(pattern)),
            None => make(tape.value("pattern"), tape.value("ends")),
        }
    }
}

/// A pattern as header lines of a tape.
pub(super) fn header(pattern: &Pattern) -> [(&'static str, Option<String>); 2] {
    let ends = (pattern.ends() != Pattern::ENDS).then(|| escape(pattern.ends()));
    [("pattern", Some(pattern.frame().to_owned())), ("ends", ends)]
}

fn make(frame: Option<&str>, ends: Option<&str>) -> anyhow::Result<Option<Pattern>> {
    let Some(frame) = frame else { return Ok(None) };
    let ends = match ends {
        Some(text) => unescape(text).map_err(|what| anyhow!("ends {text:?}: {what}"))?,
        None => Pattern::ENDS.to_vec(),
    };
    Pattern::new(frame, &ends).map(Some).map_err(|fault| anyhow!("the pattern {fault}"))
}

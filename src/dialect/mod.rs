//! What scales send: one file a frame family, each with a pure decoder and a pure encoder.
//!
//! [`Stream`] turns the bytes of one scale into readings: it takes out the parity bits, finds the frames and hands
//! each to its family's decoder. Nothing here reads a clock: whoever reads the port tells when a line fell silent.

mod asked;
mod block_fit;
mod block_framer;
mod census;
mod checksum;
mod column;
mod comma_header;
mod facts;
mod families;
mod family;
pub mod hunt;
mod labels;
mod letters;
mod lf_framer;
mod line_framer;
mod line_text;
mod number;
mod options;
mod pattern;
#[cfg(test)]
mod properties;
mod put;
mod reading;
mod report_framer;
mod status_words;
mod stream;
mod stx_framer;
mod tell;
mod unit_word;
mod verdict;

pub use census::{Census, Parity};
pub use facts::{Facts, LineSettings, Says};
pub use families::Dialect;
pub use hunt::{Doubt, recognise};
pub use options::{Options, Unsayable};
pub use pattern::{BadPattern, Pattern};
pub use reading::{Flags, Kind, News, ReadUnit, Reading, Stability};
pub use stream::{Stream, Tally};

impl Dialect {
    pub const fn name(self) -> &'static str {
        self.family().name
    }

    pub fn from_name(name: &str) -> Option<Dialect> {
        Dialect::ALL.iter().copied().find(|dialect| dialect.name() == name)
    }

    /// Every name, in a sentence.
    pub fn names() -> String {
        Dialect::ALL.iter().map(|dialect| dialect.name()).collect::<Vec<_>>().join(", ")
    }

    /// What is known of the family beside its bytes.
    pub const fn facts(self) -> &'static Facts {
        &self.family().facts
    }
}

/// Appends the frame that says `reading` to `out`, terminator and checksum included.
///
/// Kind, stability, zero mark and division are left unsaid where the family has no place for them
/// ([`Dialect::facts`] tells); a value, unit, range or event that it cannot say is an error, and `out` is unchanged.
pub fn encode(dialect: Dialect, reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let before = out.len();
    // Six columns hold a point as well as a digit, and a family that sends none would not read it back.
    let (fewest, most) = dialect.facts().says.decimals;
    if reading.value.is_some_and(|value| !(fewest..=most).contains(&value.exponent.saturating_neg())) {
        return Err(Unsayable::Point);
    }
    let outcome = (dialect.family().encode)(reading, options, out);
    if outcome.is_err() {
        out.truncate(before);
    }
    outcome
}

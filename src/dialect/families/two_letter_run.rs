//! `two-letter-run`: two letters, a weight and a unit run together on a line.
//!
//! ```text
//! ww|wn weight(8-9) unit(2) CR LF
//! ```
//!
//! `ww` is gross, `wn` net. Leading zeros; a minus takes the first digit column. No checksum, and nothing tells rest from
//! motion. A line is read from its last header on, so that a cut one before it does no harm. Fewer than eight columns
//! are a damaged line: the field is filled with zeros.
//!
//! Layout and examples: <https://manualshive.com/en/manual/liden-weighing/luw2001-lbw/1907226?page=17>.

use crate::dialect::asked::{Said, said};
use crate::dialect::column::{Field, field};
use crate::dialect::facts::EIGHT_NONE;
use crate::dialect::facts::PLAIN;
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::{word_of, write_zero_padded};
use crate::dialect::tell::tell;
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "two-letter-run", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Tonne, Unit::Ounce],
        kinds: &[Kind::Gross, Kind::Net],
        most: 9_999_999,
        ..PLAIN
    },
    start_mark: false,
    lock_after: Some(5),
};

const COLUMNS: std::ops::RangeInclusive<usize> = 8..=10;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some((kind, rest)) = last_header(line) else { return Verdict::Refused };
    let rest = rest.trim_ascii_end();
    let letters = rest.iter().rev().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let (weight, word) = rest.split_at(rest.len() - letters);
    let value = match field(weight, options) {
        Some(Field::Weight(_)) if word.is_empty() || !COLUMNS.contains(&weight.len()) => None,
        value => value,
    };
    tell(value, unit_word(word, options), kind, Stability::Unknown)
}

/// The kind that the last header names, and what follows it. No other word of a line has a `w`.
fn last_header(line: &[u8]) -> Option<(Kind, &[u8])> {
    let last = line.iter().rposition(|byte| byte.eq_ignore_ascii_case(&b'w'))?;
    let is_w = |index: usize| line[index].eq_ignore_ascii_case(&b'w');
    match line.get(last + 1) {
        Some(b'n' | b'N') => Some((Kind::Net, &line[last + 2..])),
        Some(_) if last > 0 && is_w(last - 1) => Some((Kind::Gross, &line[last + 1..])),
        _ => None,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, &[])? else { return Err(Unsayable::Mark) };
    out.extend_from_slice(match reading.kind {
        Kind::Gross => b"ww",
        Kind::Net => b"wn",
        Kind::Tare | Kind::Unknown => return Err(Unsayable::Kind),
    });
    write_zero_padded(value, 9, options, out)?;
    let word = word_of(reading.unit, 2)?;
    if word.is_empty() {
        return Err(Unsayable::Unit);
    }
    out.extend_from_slice(word.as_bytes());
    out.extend_from_slice(b"\r\n");
    Ok(())
}

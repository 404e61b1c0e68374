//! `mode-sign-line`: a letter for the kind, a sign, a number in few columns, its unit.
//!
//! ```text
//! [SP] mode sign digits(5-7) SP unit [SP mark] CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | mode | `G` gross, `N` net, `T` tare |
//! | sign | `+`, `-`, blank |
//! | digits | zeros or blanks before them; a point takes a column |
//! | mark | relatives only: `m` moving, `o` over range |
//!
//! Nothing else tells rest from motion. Five or more digits that are all nines are a display that has run over.
//!
//! Layout: <https://manualshive.com/en/manual/brecknell/rd65/2806420?page=8>; the relative with marks:
//! <https://www.manualsdir.com/manuals/347091/fairbanks-pc2250-utility-software-fb2250-series-yellow-jacket-fs-package.html?page=56>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::filled;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::labels::unit_and_mark;
use crate::dialect::letters::{kind_letter, kind_of};
use crate::dialect::line_text::after_echo;
use crate::dialect::number::{number, write_digits};
use crate::dialect::tell::nothing;
use crate::dialect::unit_word::word_for;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "mode-sign-line", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (1, 10),
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: &[Stability::Unknown],
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

/// Columns of the number, its sign among them.
const COLUMNS: std::ops::RangeInclusive<usize> = 6..=8;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(text) = after_echo(line) else { return Verdict::Refused };
    let (letter, rest) = match text {
        [b' ', letter, rest @ ..] | [letter, rest @ ..] => (*letter, rest),
        [] => return Verdict::Quiet,
    };
    let Some(kind) = kind_of(letter) else { return Verdict::Refused };
    match number(rest, options) {
        Some((value, after)) if COLUMNS.contains(&(rest.len() - after.len())) && after.first() == Some(&b' ') => {
            unit_and_mark(after, value, kind, options)
        }
        Some(_) => Verdict::Refused,
        None => filled(rest).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let unit = match to_send(reading, FACTS.says.marks)? {
        Some(value) => {
            let sign = if value.count < 0 { b'-' } else { b'+' };
            out.extend_from_slice(&[b' ', kind_letter(reading.kind)?, sign]);
            let start = out.len();
            write_digits(value, 5, b'0', options, out)?;
            if out.len() - start > 7 {
                return Err(Unsayable::TooWide);
            }
            stated(reading)?
        }
        None => {
            let kind = kind_letter(reading.kind).unwrap_or(b'G');
            out.extend_from_slice(&[b' ', kind]);
            out.extend_from_slice(match reading.flags {
                Flags { error: true, .. } => b" -----",
                Flags { underload: true, .. } => b" _____",
                _ => b" ^^^^^",
            });
            Unit::Kilogram
        }
    };
    out.push(b' ');
    out.extend_from_slice(word_for(unit).as_bytes());
    out.extend_from_slice(b"\r\n");
    Ok(())
}

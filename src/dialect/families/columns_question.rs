//! `columns-question`: a number, its unit, a question mark while it moves, perhaps a legend.
//!
//! ```text
//! [sign] weight(7-12, right-aligned) SP unit(1-5) [blanks] ?|SP [legend] CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | weight | sign in the first column or straight before the digits |
//! | unit | mandatory, a blank before it |
//! | `?` | moving; a blank in its column is stable |
//! | legend | `G` gross, `NET` or `N` net, `T` tare, `PT`, a time of day; `TOTAL` is an accumulator and no weighing |
//!
//! Where the line ends behind the unit there is no column for the question mark, and the frame tells nothing of rest.
//! Pieces and per cent are no weights. Five or more digits that are all nines are a display that has run over;
//! fields of `^`, `_` or `-` are read as over, under and error, which is common practice.
//!
//! Columns: <https://manualslib.fr/manual/558648/Ohaus-Rs232.html?page=5>; legends:
//! <https://azmanual.top/manuals/257071/> page 37.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::{filled, is_run_over};
use crate::dialect::facts::{ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::still_or_not;
use crate::dialect::line_text::after_echo;
use crate::dialect::number::number;
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, LineSettings, Options, Parity, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "columns-question", facts: FACTS, framing: Framing::Line { headed: false }, decode, encode };

const FACTS: Facts = Facts {
    usual: LineSettings { speed: 2400, data_bits: 7, parity: Parity::Clear, stop_bits: 2 },
    speeds: &[2400, 9600, 4800, 1200, 19200],
    rate: (1, 10),
    // A print request adds to the memory of some scales.
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown, Kind::Gross, Kind::Net, Kind::Tare],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

/// The narrowest weight met, and the widest with a sign column before it.
const COLUMNS: std::ops::RangeInclusive<usize> = 6..=14;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(text) = after_echo(line) else { return Verdict::Refused };
    let Some((value, rest)) = number(text, options) else {
        return match filled(text) {
            _ if text.trim_ascii().is_empty() => Verdict::Quiet,
            Some(flags) => nothing(Kind::Unknown, flags),
            None => Verdict::Refused,
        };
    };
    let [b' ', after @ ..] = rest else { return Verdict::Refused };
    if !COLUMNS.contains(&(text.len() - rest.len())) {
        return Verdict::Refused;
    }
    let after = after.trim_ascii_start();
    let end = after.iter().position(|byte| matches!(byte, b' ' | b'?')).unwrap_or(after.len());
    let (word, tail) = after.split_at(end);
    let Some((stability, legend)) = question(tail) else { return Verdict::Refused };
    let kind = match legend {
        b"" => Kind::Unknown,
        b"G" => Kind::Gross,
        b"NET" | b"N" => Kind::Net,
        b"T" | b"PT" => Kind::Tare,
        b"TOTAL" => return Verdict::Reading(beside(Kind::Unknown, Stability::Unknown)),
        _ if is_time(legend) => Kind::Unknown,
        _ => return Verdict::Refused,
    };
    if word.is_empty() {
        return Verdict::Refused;
    }
    if is_run_over(value) {
        return nothing(kind, OVER);
    }
    weight(value, word, beside(kind, stability), options)
}

/// What the question mark says, or the blank in its place, and the legend behind it.
fn question(tail: &[u8]) -> Option<(Stability, &[u8])> {
    let blanks = tail.iter().take_while(|byte| **byte == b' ').count();
    Some(match &tail[blanks..] {
        [b'?', legend @ ..] => (Stability::Motion, legend.trim_ascii()),
        legend if blanks > 1 => (Stability::Stable, legend.trim_ascii_end()),
        legend if blanks == 1 || legend.is_empty() => (Stability::Unknown, legend.trim_ascii_end()),
        _ => return None,
    })
}

fn is_time(legend: &[u8]) -> bool {
    legend.len() >= 4 && legend.contains(&b':') && legend.iter().all(|byte| byte.is_ascii_digit() || *byte == b':')
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    match to_send(reading, FACTS.says.marks)? {
        Some(value) => {
            out.extend_from_slice(if value.count < 0 { b"- " } else { b"  " });
            put_digits(value, 8, b' ', options, out)?;
            out.push(b' ');
            put_unit(stated(reading)?, 5, out)?;
            out.push(still_or_not(reading.stability, b' ', b'?')?);
            out.extend_from_slice(match reading.kind {
                Kind::Unknown => b"   ",
                Kind::Gross => b"G  ",
                Kind::Net => b"NET",
                Kind::Tare => b"T  ",
            });
        }
        None => out.extend_from_slice(match reading.flags {
            Flags { error: true, .. } => b"   -------",
            Flags { underload: true, .. } => b"   _______",
            _ => b"   ^^^^^^^",
        }),
    }
    out.extend_from_slice(b"\r\n");
    Ok(())
}

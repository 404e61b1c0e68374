//! `letter-reply-wide`: the request's letters, a mark, a sign, a number in nine columns and its unit.
//!
//! ```text
//! request(3, left) mark SP sign mass(9, right) SP unit(3, left) CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | request | `S`, `SI`, `SU`, `SUI`, and `C1`, `CU1` of a stream |
//! | mark | blank stable, `?` moving, `^` above range, `v` below range |
//! | unit | mandatory |
//!
//! | other line | meaning |
//! | --- | --- |
//! | `S A` | understood, the mass follows |
//! | `S I`, `S E`, `ES` | not now; gave up waiting for rest; not understood |
//! | `Z D`, `T D` | the scale has been zeroed, tared |
//!
//! `S I` is a refusal, while a frame whose request is `SI` has a weight. A mass out of its columns has lost a digit and
//! is refused; that a column is missing from what is no mass does no harm.
//!
//! Layout: <https://www.easymanua.ls/radwag/ps-2100-r2/manual?p=159>,
//! <https://www.manualshelf.com/manual/radwag/ps-series/technical-data-english/page-82.html>. The replies to zero and
//! tare are common practice.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::still_or_not;
use crate::dialect::line_text::counted;
use crate::dialect::number::{filler, number};
use crate::dialect::put::{put_digits, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, News, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "letter-reply-wide", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 19200, 2400, 38400],
    rate: (1, 20),
    poll: Some(b"SI\r\n"),
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[News::Zeroed, News::Tared],
        division: false,
        most: 99_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(8),
};

/// Columns without the line end, and how many may be missing or too many.
const COLUMNS: usize = 19;
const MISSING: usize = 2;
/// Mark to mass: one that ends elsewhere has lost a digit.
const MASS_END: usize = 11;

fn decode(line: &[u8], options: &Options) -> Verdict {
    match counted(line, COLUMNS - MISSING..=COLUMNS + MISSING, COLUMNS) {
        Some(&[c1, c2, c3, mark, ref rest @ ..]) if is_request([c1, c2, c3]) => mass(rest, mark, options),
        Some(_) => Verdict::Refused,
        None => reply(line.trim_ascii()),
    }
}

fn is_request(columns: [u8; 3]) -> bool {
    matches!(&columns, b"S  " | b"SI " | b"SU " | b"SUI" | b"C1 " | b"CU1")
}

fn mass(rest: &[u8], mark: u8, options: &Options) -> Verdict {
    let stability = match mark {
        b' ' => Stability::Stable,
        b'?' => Stability::Motion,
        b'^' => return nothing(Kind::Unknown, OVER),
        b'v' => return nothing(Kind::Unknown, UNDER),
        _ => return Verdict::Refused,
    };
    let Some((value, after)) = number(rest, options) else {
        return filler(rest).map_or(Verdict::Refused, |flags| nothing(Kind::Unknown, flags));
    };
    let word = after.trim_ascii();
    let misplaced = rest.len() - after.len() != MASS_END;
    if after.first() != Some(&b' ') || word.is_empty() {
        return Verdict::Refused;
    }
    match weight(value, word, beside(Kind::Unknown, stability), options) {
        Verdict::Reading(Reading { value: Some(_), .. }) if misplaced => Verdict::Refused,
        verdict => verdict,
    }
}

/// Whether a status letter may follow these letters.
fn is_answered(id: &[u8]) -> bool {
    matches!(id, b"S" | b"SI" | b"SU" | b"SUI" | b"C0" | b"C1" | b"CU0" | b"CU1" | b"Z" | b"T")
}

fn reply(text: &[u8]) -> Verdict {
    let news = |news| Verdict::Reading(Reading { news: Some(news), ..Reading::without_weight(Flags::default()) });
    match text {
        b"Z D" => news(News::Zeroed),
        b"T D" => news(News::Tared),
        b"ES" => nothing(Kind::Unknown, ERROR),
        // Echoes of requests.
        b"" | b"S" | b"SI" | b"SU" | b"SUI" | b"C0" | b"C1" | b"CU0" | b"CU1" => Verdict::Quiet,
        [id @ .., b' ', status] if is_answered(id) => match status {
            b'A' | b'D' => Verdict::Quiet,
            b'I' | b'E' => nothing(Kind::Unknown, ERROR),
            b'^' => nothing(Kind::Unknown, OVER),
            b'v' => nothing(Kind::Unknown, UNDER),
            _ => Verdict::Refused,
        },
        _ => Verdict::Refused,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let flags = reading.flags;
    let line: &[u8] = match reading.news {
        Some(News::Zeroed) => b"Z D\r\n",
        Some(News::Tared) => b"T D\r\n",
        Some(News::PoweredUp) => return Err(Unsayable::News),
        None => match to_send(reading, FACTS.says.marks)? {
            Some(value) => {
                out.extend_from_slice(b"SI ");
                out.push(still_or_not(reading.stability, b' ', b'?')?);
                out.extend_from_slice(if value.count < 0 { b" -" } else { b"  " });
                put_digits(value, 9, b' ', options, out)?;
                out.push(b' ');
                put_unit(stated(reading)?, 3, out)?;
                b"\r\n"
            }
            None if flags.error => b"S I\r\n",
            None if flags.underload => b"SI v -    0.000 kg \r\n",
            None => b"SI ^      0.000 kg \r\n",
        },
    };
    out.extend_from_slice(line);
    Ok(())
}

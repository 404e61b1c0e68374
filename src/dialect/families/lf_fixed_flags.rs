//! `lf-fixed-flags`: five flags, a number and a unit, each in its fixed place: an open standard of the industry.
//!
//! ```text
//! LF s r n m f weight(10, right-aligned) unit(3, left-aligned) CR
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | s | blank, `Z` centre of zero, `O` over, `U` under, `E` zero error, `T` tare error, `I` not initialised, `e` not on display |
//! | r | range digit |
//! | n | `G` gross, `N` net, `T` tare; `g`, `n` the same in high resolution |
//! | m | `M` moving, blank stable |
//! | f | reserved |
//! | weight | sign and point inside; ten dashes on an error |
//!
//! | other frame | meaning |
//! | --- | --- |
//! | `LF ? CR`, `LF ! CR` | request not understood; the scale received it damaged |
//! | `LF r e c m CR` | diagnosis: blanks are sound, a letter is a fault |
//! | `LF KEY:text CR` | about the scale; its digits are no weights |
//!
//! The number beside `O` and `U` is out of range and is not given out.
//!
//! Frames: <https://www.easymanua.ls/sartorius/pr-5220-series/manual?p=130>; refusals:
//! <https://www.easymanua.ls/sartorius/pr-5211-series/manual?p=49>; diagnosis:
//! <https://www.manualsdir.com/manuals/347101/fairbanks-x-series-pr-5220-ethernet-transmitter.html?page=76>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::number_field;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{kind_letter, kind_of, still_or_not};
use crate::dialect::line_text::counted;
use crate::dialect::number::filler;
use crate::dialect::put::{put_number, put_unit};
use crate::dialect::tell::{beside, nothing, weight};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "lf-fixed-flags", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 19200, 4800, 2400, 38400, 1200],
    rate: (1, 20),
    poll: Some(b"\nW\r"),
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: true,
        news: &[],
        division: false,
        most: 99_999_999,
        decimals: (0, 5),
    },
    // LF opens a frame, but it also ends the lines of many others.
    start_mark: false,
    lock_after: Some(5),
};

/// Flags, weight and unit; blanks behind a short unit may be missing.
const COLUMNS: usize = 18;
const UNIT_AT: usize = 15;

fn decode(line: &[u8], options: &Options) -> Verdict {
    let Some(frame) = counted(line, UNIT_AT + 1..=COLUMNS, COLUMNS) else { return reply(line) };
    let &[s, range, n, m, _, ref rest @ ..] = frame else { return Verdict::Refused };
    let (field, word) = rest.split_at(UNIT_AT - 5);
    let motion = match m {
        b' ' => Stability::Stable,
        b'M' => Stability::Motion,
        _ => return reply(line),
    };
    let kind = match n {
        b'g' => Some(Kind::Gross),
        b'n' => Some(Kind::Net),
        letter => kind_of(letter),
    };
    let (Some(kind), true) = (kind, matches!(range, b' ' | b'0'..=b'9')) else { return reply(line) };
    let word = word.trim_ascii_end();
    if word.first().is_none_or(|first| *first == b' ') {
        return Verdict::Refused;
    }
    let value = number_field(field, options);
    // What is not displayed does not stand still.
    let stability = if value.is_some() { motion } else { Stability::Unknown };
    let without = |flags| Verdict::Reading(Reading { flags, ..beside(kind, stability) });
    match (s, value) {
        (b' ', Some(value)) => weight(value, word, beside(kind, stability), options),
        (b'Z', Some(value)) => {
            let flags = Flags { zero: true, ..Flags::default() };
            weight(value, word, Reading { flags, ..beside(kind, stability) }, options)
        }
        (b' ' | b'Z', None) => filler(field).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
        (b'O', _) => without(OVER),
        (b'U', _) => without(UNDER),
        (b'E' | b'T' | b'I' | b'e', _) => without(ERROR),
        _ => Verdict::Refused,
    }
}

/// What is no weight frame.
fn reply(line: &[u8]) -> Verdict {
    match line {
        b"?" | b"!" => nothing(Kind::Unknown, ERROR),
        b"    " => Verdict::Quiet,
        &[r, e, c, m] if [(r, b'R'), (e, b'E'), (c, b'C'), (m, b'M')].iter().all(|(got, fault)| *got == b' ' || got == fault) => {
            nothing(Kind::Unknown, ERROR)
        }
        // An echoed request, or the one that ends a stream.
        [b'A'..=b'Z' | 0x1b] => Verdict::Quiet,
        _ if is_about_the_scale(line) => Verdict::Quiet,
        _ => Verdict::Refused,
    }
}

fn is_about_the_scale(line: &[u8]) -> bool {
    let key = line.iter().take_while(|byte| byte.is_ascii_uppercase()).count();
    matches!(key, 2..=4) && line.get(key) == Some(&b':') && line.iter().all(|byte| matches!(byte, 0x20..=0x7e))
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let value = to_send(reading, FACTS.says.marks)?;
    let s = match reading.flags {
        Flags { error: true, .. } => b'E',
        Flags { overload: true, .. } => b'O',
        Flags { underload: true, .. } => b'U',
        Flags { zero: true, .. } => b'Z',
        _ => b' ',
    };
    out.extend_from_slice(&[b'\n', s, b'1', kind_letter(reading.kind)?]);
    match value {
        Some(value) => {
            out.extend_from_slice(&[still_or_not(reading.stability, b' ', b'M')?, b' ']);
            put_number(value, 10, options, out)?;
            put_unit(stated(reading)?, 3, out)?;
        }
        None => out.extend_from_slice(b"  ----------kg "),
    }
    out.push(b'\r');
    Ok(())
}

//! `header-comma`: two headers and a number between commas, one line a reading.
//!
//! ```text
//! [address] H1 , H2 , sign data unit CR LF
//! ```
//!
//! | field | values |
//! | --- | --- |
//! | address | two or three digits, on shared lines only |
//! | H1 | `ST` stable, `US` moving, `OL` out of range, `UL` under range, `TL` not level |
//! | H2 | `GS` `G` gross, `NT` `N` net, `TR` `T` tare; `VL` and `RZ` are service values and no weights |
//! | sign | `+`, `-` or blank |
//! | data | 6 to 9 columns, leading zeros or blanks |
//! | unit | may follow a blank or a comma, in any case, or be missing |
//!
//! Met as well: a blank after a comma, no second comma, no comma before the sign, CR only, LF only, a blank value
//! with `OL`, `-` beside `OL` for under range. A line is searched for its last header, so that garbage or a cut line
//! before it does no harm.
//!
//! Full example in hex: <https://www.easymanua.ls/general-measure/m02/manual?p=56>; headers:
//! <https://www.easymanua.ls/excell/h3-series/manual?p=67>.

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{filler, number, write_digits};
use crate::dialect::unit_word::{UnitWord, unit_word, word_for};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family =
    Family { name: "header-comma", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (5, 20),
    // `R` reads as well, but starts a stream that does not end on some scales.
    poll: Some(b"W"),
    says: Says {
        units: &Unit::ALL,
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[],
        division: false,
        most: 999_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(5),
};

/// Letters that are sent as requests; a half-duplex adapter echoes them straight before the reply.
const REQUESTS: &[u8] = b"RWSP";

/// The narrowest data column met.
const COLUMNS_MIN: usize = 6;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Stable,
    Moving,
    OutOfRange,
    UnderRange,
    NotLevel,
}

#[derive(Debug, Clone, Copy)]
struct Header<'a> {
    state: State,
    /// `None`: a service value.
    kind: Option<Kind>,
    rest: &'a [u8],
}

fn decode(line: &[u8], options: &Options) -> Verdict {
    match last_header(line) {
        Some(header) if header.rest.iter().all(|byte| matches!(byte, 0x20..=0x7e)) => read(header, options),
        // An echoed request and nothing else.
        None if matches!(line.trim_ascii(), [letter] if REQUESTS.contains(letter)) => Verdict::Quiet,
        _ => Verdict::Refused,
    }
}

fn read(header: Header, options: &Options) -> Verdict {
    let stability = match header.state {
        State::Stable => Stability::Stable,
        State::Moving => Stability::Motion,
        _ => Stability::Unknown,
    };
    let kind = header.kind.unwrap_or(Kind::Unknown);
    let without = |flags| Verdict::Reading(Reading { kind, stability, ..Reading::without_weight(flags) });
    let minus = header.rest.trim_ascii_start().first() == Some(&b'-');
    match header.state {
        State::OutOfRange if !minus => return without(Flags { overload: true, ..Flags::default() }),
        State::OutOfRange | State::UnderRange => return without(Flags { underload: true, ..Flags::default() }),
        State::NotLevel => return without(Flags { error: true, ..Flags::default() }),
        State::Stable | State::Moving if header.kind.is_none() => return without(Flags::default()),
        State::Stable | State::Moving => {}
    }
    let Some((value, rest)) = number(header.rest, options) else {
        let end = header.rest.iter().rposition(|byte| !byte.is_ascii_alphabetic()).map_or(0, |last| last + 1);
        let flags = filler(header.rest).or_else(|| filler(&header.rest[..end]));
        return flags.map_or(Verdict::Refused, without);
    };
    let columns = header.rest.len() - rest.len();
    let rest = rest.trim_ascii_start();
    let word = rest.strip_prefix(b",").unwrap_or(rest).trim_ascii();
    match unit_word(word, options) {
        // With no unit behind it, only its width tells a whole number from one that a stray line end has cut.
        UnitWord::Mass(_) if word.is_empty() && columns < COLUMNS_MIN => Verdict::Refused,
        UnitWord::Mass(unit) => Verdict::Reading(Reading {
            value: Some(value),
            unit,
            kind,
            stability,
            flags: Flags::default(),
            division: None,
            news: None,
        }),
        UnitWord::NotMass => without(Flags::default()),
        UnitWord::Unknown => Verdict::Refused,
    }
}

fn last_header(line: &[u8]) -> Option<Header<'_>> {
    let mut found = None;
    for start in 0..line.len() {
        if !matches!(line[start].to_ascii_uppercase(), b'S' | b'U' | b'O' | b'T') {
            continue;
        }
        let before = start.checked_sub(1).map(|index| line[index]);
        let echo = start == 1 && before.is_some_and(|letter| REQUESTS.contains(&letter));
        let inside_a_word = before.is_some_and(|byte| byte.is_ascii_alphabetic());
        if inside_a_word && !echo && found.is_none() {
            continue;
        }
        found = header(&line[start..]).or(found);
    }
    found
}

fn header(text: &[u8]) -> Option<Header<'_>> {
    let &[first, second, ref rest @ ..] = text else { return None };
    let state = match [first.to_ascii_uppercase(), second.to_ascii_uppercase()] {
        [b'S', b'T'] => State::Stable,
        [b'U', b'S'] => State::Moving,
        [b'O', b'L'] => State::OutOfRange,
        [b'U', b'L'] => State::UnderRange,
        [b'T', b'L'] => State::NotLevel,
        _ => return None,
    };
    let rest = rest.trim_ascii_start().strip_prefix(b",")?.trim_ascii_start();
    let letters = rest.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let (second, rest) = rest.split_at(letters);
    let is = |word: &str| second.eq_ignore_ascii_case(word.as_bytes());
    let kind = if is("GS") || is("G") {
        Some(Kind::Gross)
    } else if is("NT") || is("N") {
        Some(Kind::Net)
    } else if is("TR") || is("T") {
        Some(Kind::Tare)
    } else if is("VL") || is("RZ") {
        None
    } else {
        return None;
    };
    let rest = rest.trim_ascii_start();
    Some(Header { state, kind, rest: rest.strip_prefix(b",").unwrap_or(rest) })
}

/// With seven columns for the number, more where it needs them.
fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let flags = reading.flags;
    let first = match (reading.value, reading.stability) {
        _ if reading.news.is_some() => return Err(Unsayable::News),
        (None, _) if flags.error => "TL",
        (None, _) if flags.overload || flags.underload => "OL",
        (None, _) => return Err(Unsayable::Nothing),
        (Some(_), _) if flags.overload || flags.underload || flags.error => return Err(Unsayable::Mark),
        (Some(_), Stability::Stable) => "ST",
        (Some(_), Stability::Motion) => "US",
        (Some(_), Stability::Unknown) => return Err(Unsayable::Stability),
    };
    let second = match reading.kind {
        Kind::Gross => "GS",
        Kind::Net => "NT",
        Kind::Tare => "TR",
        Kind::Unknown => return Err(Unsayable::Kind),
    };
    let word = match reading.unit {
        ReadUnit::Stated(unit) => word_for(unit),
        ReadUnit::Unstated | ReadUnit::Absent => "",
        ReadUnit::PoundOunce | ReadUnit::Ambiguous => return Err(Unsayable::Unit),
    };
    let minus = flags.underload || reading.value.is_some_and(|Displayed { count, .. }| count < 0);
    out.extend_from_slice(format!("{first},{second},{}", if minus { '-' } else { '+' }).as_bytes());
    match reading.value {
        Some(value) => write_digits(value, 7, b' ', options, out)?,
        None => out.extend_from_slice(b"       "),
    }
    out.extend_from_slice(word.as_bytes());
    out.extend_from_slice(b"\r\n");
    Ok(())
}

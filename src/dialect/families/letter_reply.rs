//! `letter-reply`: replies that open with a letter of the request and a status letter, one line each.
//!
//! ```text
//! id SP status SP value(10, right-aligned) SP unit CR LF
//! ```
//!
//! | reply | meaning |
//! | --- | --- |
//! | `S S value unit`, `S D value unit` | weight, stable or moving; net if a tare is active, which is not told |
//! | `S I`, `S +`, `S -` | not executable now; above range; below range |
//! | `TA A value unit`, `TA I` | the tare; not executable now |
//! | `Z A`, `ZI S`, `ZI D` | the scale was zeroed |
//! | `T S value unit`, `TI S …`, `TI D …`, `TAC A` | the scale was tared, or its tare cleared |
//! | `I4 A "serial"` | the scale has just been switched on or reset |
//! | `ES`, `ET`, `EL` | the request was not understood |
//!
//! The same lines come as answers to a poll or continuously. Widths differ in practice, so fields are told by
//! blanks; the unit is mandatory. `12:07.50 lb:oz` is pounds and ounces.
//!
//! Replies: <https://mettler-toledo.manymanuals.com/kitchen-scales/al-ic/operations-instructions-7405/72>,
//! <https://manualarchiveguide.com/manuals/OHAUS-7000-Series-Instruction-Manual-4001023?page=111>. The replies to
//! immediate zero and tare requests are common practice.

use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::{number, pounds_and_ounces, write_digits};
use crate::dialect::unit_word::{UnitWord, unit_word, word_for};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, News, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "letter-reply", facts: FACTS, framing: Framing::Line { headed: true }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200, 38400],
    rate: (4, 40),
    poll: Some(b"SI\r\n"),
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        zero: false,
        news: &[News::Zeroed, News::Tared, News::PoweredUp],
        division: false,
        most: 99_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: Some(5),
};

fn decode(line: &[u8], options: &Options) -> Verdict {
    let text = last_reply(line);
    if !text.iter().all(|byte| matches!(byte, 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let (id, rest) = word(text);
    let (status, rest) = word(rest);
    let news = |news| Verdict::Reading(Reading { news: Some(news), ..Reading::without_weight(Flags::default()) });
    match (id, status) {
        (b"S", b"S") => weight(rest, Kind::Unknown, Stability::Stable, None, options),
        (b"S", b"D") => weight(rest, Kind::Unknown, Stability::Motion, None, options),
        (b"TA", b"A") => weight(rest, Kind::Tare, Stability::Unknown, None, options),
        (b"T" | b"TI", b"S") => weight(rest, Kind::Tare, Stability::Stable, Some(News::Tared), options),
        (b"TI", b"D") => weight(rest, Kind::Tare, Stability::Motion, Some(News::Tared), options),
        (b"Z", b"A") | (b"ZI", b"S" | b"D") if rest.is_empty() => news(News::Zeroed),
        (b"TAC", b"A") if rest.is_empty() => news(News::Tared),
        (b"I4", b"A") => news(News::PoweredUp),
        (b"ES" | b"ET" | b"EL", b"") => Verdict::Reading(Reading::without_weight(ERROR)),
        (b"S" | b"T" | b"TI" | b"TA" | b"TAC" | b"Z" | b"ZI", b"I" | b"L") if rest.is_empty() => {
            Verdict::Reading(Reading::without_weight(ERROR))
        }
        (b"S" | b"T" | b"TI" | b"Z" | b"ZI", b"+") if rest.is_empty() => {
            Verdict::Reading(Reading::without_weight(Flags { overload: true, ..Flags::default() }))
        }
        (b"S" | b"T" | b"TI" | b"Z" | b"ZI", b"-") if rest.is_empty() => {
            Verdict::Reading(Reading::without_weight(Flags { underload: true, ..Flags::default() }))
        }
        // Echoes of requests that only read.
        (b"S" | b"SI" | b"SR" | b"SIR" | b"TA", b"") => Verdict::Quiet,
        _ => Verdict::Refused,
    }
}

fn weight(text: &[u8], kind: Kind, stability: Stability, news: Option<News>, options: &Options) -> Verdict {
    let reading = Reading { kind, stability, news, ..Reading::without_weight(Flags::default()) };
    if text.is_empty() && news.is_some() {
        return Verdict::Reading(Reading { kind: Kind::Unknown, stability: Stability::Unknown, ..reading });
    }
    let Some((first, rest)) = number(text, options) else { return Verdict::Refused };
    if let Some(rest) = rest.strip_prefix(b":") {
        let negative = text.trim_ascii_start().starts_with(b"-");
        return match number(rest, options) {
            Some((ounces, unit)) if unit.trim_ascii().eq_ignore_ascii_case(b"lb:oz") && rest[0].is_ascii_digit() => {
                match pounds_and_ounces(first, ounces, negative) {
                    Some(total) => Verdict::Reading(Reading { value: Some(total), unit: ReadUnit::PoundOunce, ..reading }),
                    None => Verdict::Refused,
                }
            }
            _ => Verdict::Refused,
        };
    }
    match unit_word(rest.trim_ascii(), options) {
        UnitWord::Mass(ReadUnit::Unstated) if rest.trim_ascii().is_empty() => Verdict::Refused,
        UnitWord::Mass(unit) => Verdict::Reading(Reading { value: Some(first), unit, ..reading }),
        UnitWord::NotMass => Verdict::Reading(reading),
        UnitWord::Unknown => Verdict::Refused,
    }
}

/// From the last place where a weight reply can begin, else from the first printable byte: what stands before it
/// is line noise or a reply that was cut.
fn last_reply(line: &[u8]) -> &[u8] {
    let opens = |start: &usize| {
        let before = start.checked_sub(1).map(|index| line[index]);
        matches!(line[*start..], [b'S', b' ', b'S' | b'D', b' ', ..]) && !before.is_some_and(|byte| byte.is_ascii_alphabetic())
    };
    let printable = || line.iter().position(|byte| matches!(byte, 0x21..=0x7e)).unwrap_or(0);
    let start = (0..line.len()).rev().find(opens).unwrap_or_else(printable);
    line[start..].trim_ascii_end()
}

/// The first word of `text`, and the text after the blanks that follow it.
fn word(text: &[u8]) -> (&[u8], &[u8]) {
    let end = text.iter().position(|&byte| byte == b' ').unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    (word, rest.trim_ascii_start())
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let flags = reading.flags;
    let Some(value) = reading.value else {
        let line: &[u8] = match (reading.news, flags) {
            (Some(News::Zeroed), _) => b"Z A\r\n",
            (Some(News::Tared), _) => b"TAC A\r\n",
            (Some(News::PoweredUp), _) => b"I4 A \"0\"\r\n",
            (None, Flags { error: true, .. }) => b"S I\r\n",
            (None, Flags { overload: true, .. }) => b"S +\r\n",
            (None, Flags { underload: true, .. }) => b"S -\r\n",
            (None, _) => return Err(Unsayable::Nothing),
        };
        out.extend_from_slice(line);
        return Ok(());
    };
    if flags.overload || flags.underload || flags.error {
        return Err(Unsayable::Mark);
    }
    let head = match (reading.kind, reading.news, reading.stability) {
        (Kind::Tare, None, _) => "TA A",
        (Kind::Tare, Some(News::Tared), Stability::Stable) => "T S",
        (Kind::Tare, Some(News::Tared), Stability::Motion) => "TI D",
        (_, Some(_), _) => return Err(Unsayable::News),
        (_, None, Stability::Stable) => "S S",
        (_, None, Stability::Motion) => "S D",
        (_, None, Stability::Unknown) => return Err(Unsayable::Stability),
    };
    let ReadUnit::Stated(unit) = reading.unit else { return Err(Unsayable::Unit) };
    let mut digits = Vec::with_capacity(16);
    if value.count < 0 {
        digits.push(b'-');
    }
    write_digits(value, 0, b' ', options, &mut digits)?;
    out.extend_from_slice(head.as_bytes());
    out.resize(out.len() + 1 + 10_usize.saturating_sub(digits.len()), b' ');
    out.extend_from_slice(&digits);
    out.extend_from_slice(format!(" {}\r\n", word_for(unit)).as_bytes());
    Ok(())
}

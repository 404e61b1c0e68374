//! `diy-text`: a line of text from a home-made scale, with a number and its unit somewhere in it.
//!
//! ```text
//! Reading: 12.3 lbs calibration_factor: -7050.00 CR LF
//! reading,0.0kg,-10.00 CR LF
//! ```
//!
//! Boards with a load-cell amplifier print labels, raw counts and calibration factors on one line. So a number counts
//! only if a word for a unit of mass follows it, straight or behind one blank, and if it is not part of a word; a line
//! with two such numbers is refused, and one with none is passed over. So is one in which it is open whether a sign
//! or a digit belongs to the number: a dash and a blank before it, or another number. A comma between digits may be a decimal mark,
//! group thousands or part two fields, so a number behind one is refused wherever that is open. Anything can look
//! like this: it is never recognised by itself.
//!
//! Lines: <https://forum.arduino.cc/t/hx711/680577>,
//! <https://forum.arduino.cc/t/half-bridge-load-cell-problem/640398>.

use crate::dialect::asked::{stated, to_send};
use crate::dialect::column::is_run_over;
use crate::dialect::facts::{EIGHT_NONE, OVER, Says};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::number;
use crate::dialect::put::put_number;
use crate::dialect::tell::{beside, nothing};
use crate::dialect::unit_word::{UnitWord, unit_word, word_for};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family =
    Family { name: "diy-text", facts: FACTS, framing: Framing::Line { headed: false }, decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 115_200, 57_600, 38_400, 19_200],
    rate: (1, 10),
    // Such boards take letters for changes of their calibration factor.
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: false,
        pound_ounce: false,
        kinds: &[Kind::Unknown],
        stability: &[Stability::Unknown],
        marks: &[],
        zero: false,
        news: &[],
        division: false,
        most: 9_999_999,
        decimals: (0, 5),
    },
    start_mark: false,
    lock_after: None,
};

/// What is found at one number of a line.
enum Found {
    Nothing,
    Weight(Displayed, ReadUnit),
    /// A unit follows, but the number is none or may be part of another.
    Doubtful,
}

fn decode(line: &[u8], options: &Options) -> Verdict {
    if !line.iter().all(|byte| matches!(byte, b'\t' | 0x20..=0x7e)) {
        return Verdict::Refused;
    }
    let mut weight = None;
    let mut start = 0;
    while let Some(step) = line[start..].iter().position(u8::is_ascii_digit) {
        let first = start + step;
        let first = if first > start && line[first - 1] == b'.' { first - 1 } else { first };
        let end = line[first..].iter().position(|byte| !belongs(*byte, options)).map_or(line.len(), |length| first + length);
        match candidate(line, first, end, options) {
            Found::Nothing => {}
            Found::Weight(value, unit) if weight.is_none() => weight = Some((value, unit)),
            Found::Weight(..) | Found::Doubtful => return Verdict::Refused,
        }
        start = end;
    }
    match weight {
        None => Verdict::Quiet,
        Some((value, _)) if is_run_over(value) => nothing(Kind::Unknown, OVER),
        Some((value, unit)) => {
            Verdict::Reading(Reading { value: Some(value), unit, ..beside(Kind::Unknown, Stability::Unknown) })
        }
    }
}

const fn belongs(byte: u8, options: &Options) -> bool {
    byte.is_ascii_digit() || byte == b'.' || (byte == b',' && options.comma)
}

/// Judges the number in `line[first..end]`.
fn candidate(line: &[u8], first: usize, end: usize, options: &Options) -> Found {
    let mut digits = &line[first..end];
    let mut after = &line[end..];
    // With a decimal comma, the one that ends a field is no part of its number.
    if let [most @ .., b','] = digits {
        (digits, after) = (most, &line[end - 1..]);
    }
    let after = after.strip_prefix(b" ").unwrap_or(after);
    let letters = after.iter().take_while(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b':')).count();
    let word = &after[..letters];
    let unit = match unit_word(word, options) {
        UnitWord::Mass(unit) if !word.is_empty() => unit,
        _ => return Found::Nothing,
    };
    let before = &line[..first];
    let (minus, before) = match before {
        [before @ .., sign @ (b'-' | b'+')] => (*sign == b'-', before),
        _ => (false, before),
    };
    match before {
        [.., last] if last.is_ascii_alphanumeric() || *last == b'_' => {
            return if before.len() == first { Found::Nothing } else { Found::Doubtful };
        }
        // A dash or a minus with a blank behind it; what one bit makes of a minus; a digit torn off.
        [.., b'-', b' '] | [.., b'/' | b')' | b'%'] | [.., b' ', b','] | [.., b'0'..=b'9', b' '] => return Found::Doubtful,
        _ => {}
    }
    if let [.., b'0'..=b'9', b','] = before {
        // A field of its own has a point, and not three digits before it as a group of thousands has.
        let whole = digits.iter().position(|byte| *byte == b'.');
        if options.comma || whole.is_none_or(|whole| whole == 3) {
            return Found::Doubtful;
        }
    }
    match number(digits, options) {
        Some((value, b"")) => Found::Weight(if minus { value.negated() } else { value }, unit),
        _ => Found::Doubtful,
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Some(value) = to_send(reading, FACTS.says.marks)? else { return Err(Unsayable::Mark) };
    if reading.kind == Kind::Tare {
        return Err(Unsayable::Kind);
    }
    let unit = stated(reading)?;
    out.extend_from_slice(b"Reading: ");
    put_number(value, 9, options, out)?;
    out.push(b' ');
    out.extend_from_slice(word_for(unit).as_bytes());
    out.extend_from_slice(b"\r\n");
    Ok(())
}

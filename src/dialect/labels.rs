//! Lines that open with a word for the kind of weight.

use super::asked::{stated, to_send};
use super::column::{filled, is_run_over};
use super::facts::{ERROR, OVER, UNDER};
use super::line_text::after_noise;
use super::number::number;
use super::put::put_number;
use super::tell::{beside, nothing, weight};
use super::unit_word::word_for;
use super::verdict::Verdict;
use super::{Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Displayed;

/// Reads a labelled line; `None` where no label opens it.
///
/// A cut line or noise before the last written-out label does no harm. Behind a damaged byte a single letter is no
/// label: it may be all that is left of a word.
pub(super) fn labelled(line: &[u8], options: &Options) -> Option<Verdict> {
    let text = after_noise(line);
    let noisy = text.len() < line.len();
    let text = text.trim_ascii();
    let first = label(text).filter(|(_, letters, _)| !noisy || *letters > 1);
    let verdict = first.map(|(kind, _, rest)| amount(rest, kind, options));
    match verdict {
        None | Some(Verdict::Refused) => last_label(text).map(|(kind, rest)| amount(rest, kind, options)).or(verdict),
        good => good,
    }
}

/// The kind, the letters of its word, and what stands behind it.
fn label(text: &[u8]) -> Option<(Kind, usize, &[u8])> {
    let letters = text.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let (word, rest) = text.split_at(letters);
    let is = |names: &[&str]| names.iter().any(|name| word.eq_ignore_ascii_case(name.as_bytes()));
    let kind = match word.first()?.to_ascii_uppercase() {
        b'G' if is(&["g", "gr", "gs", "gross"]) => Kind::Gross,
        b'N' if is(&["n", "nt", "net"]) => Kind::Net,
        b'T' if is(&["t", "tr", "tare"]) => Kind::Tare,
        b'P' if is(&["pt"]) => Kind::Tare,
        _ => return None,
    };
    let after = rest.trim_ascii_start();
    let more = after.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let after = match &after[..more] {
        word if word.eq_ignore_ascii_case(b"wt") || word.eq_ignore_ascii_case(b"weight") => {
            let after = &after[more..];
            after.strip_prefix(b".").unwrap_or(after)
        }
        _ => after,
    };
    // One bit makes a minus an equals sign: that must stand where no minus can.
    if let Some(after) = rest.strip_prefix(b"=") {
        return Some((kind, letters, after));
    }
    let after = after.trim_ascii_start();
    Some((kind, letters, after.strip_prefix(b":").unwrap_or(after)))
}

/// The last written-out label that does not open the text.
fn last_label(text: &[u8]) -> Option<(Kind, &[u8])> {
    (1..text.len())
        .rev()
        .filter(|&start| text[start].is_ascii_alphabetic() && !text[start - 1].is_ascii_alphabetic())
        .filter_map(|start| label(&text[start..]))
        .find(|(_, letters, _)| *letters > 2)
        .map(|(kind, _, rest)| (kind, rest))
}

/// A number and its unit behind a label.
fn amount(text: &[u8], kind: Kind, options: &Options) -> Verdict {
    match number(text, options) {
        Some((value, rest)) => unit_and_mark(rest, value, kind, options),
        None => filled(text).map_or(Verdict::Refused, |flags| nothing(kind, flags)),
    }
}

/// What follows a number whose kind is known: its unit, which only a configured one may replace, and perhaps a mark
/// for motion or overload.
pub(super) fn unit_and_mark(rest: &[u8], value: Displayed, kind: Kind, options: &Options) -> Verdict {
    let rest = rest.trim_ascii();
    let end = rest.iter().position(|&byte| matches!(byte, b' ' | b'?')).unwrap_or(rest.len());
    let (word, mark) = rest.split_at(end);
    let stability = match mark.trim_ascii() {
        b"" => Stability::Unknown,
        b"?" | b"m" | b"M" | b"MO" => Stability::Motion,
        b"o" | b"O" => return nothing(kind, OVER),
        _ => return Verdict::Refused,
    };
    if word.is_empty() && options.unit.is_none() {
        return Verdict::Refused;
    }
    if is_run_over(value) {
        return nothing(kind, OVER);
    }
    weight(value, word, beside(kind, stability), options)
}

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

/// One line: the label, the number in nine columns, its unit.
pub(super) fn put_labelled(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    out.extend_from_slice(match reading.kind {
        Kind::Gross => b"GROSS ",
        Kind::Net => b"NET   ",
        Kind::Tare => b"TARE  ",
        Kind::Unknown => return Err(Unsayable::Kind),
    });
    match to_send(reading, MARKS)? {
        Some(value) => {
            let unit = stated(reading)?;
            put_number(value, 9, options, out)?;
            out.push(b' ');
            out.extend_from_slice(word_for(unit).as_bytes());
        }
        None if reading.flags == ERROR => out.extend_from_slice(b"  -------"),
        None if reading.flags == UNDER => out.extend_from_slice(b"       UL"),
        None => out.extend_from_slice(b"       OL"),
    }
    out.extend_from_slice(b"\r\n");
    Ok(())
}

//! The own pattern: a scale that no family fits, described by one regular expression with named parts.
//!
//! It must fit a whole frame, so that a cut one does not pass, and its part `value` must hold a whole number, so that
//! `.*` before it cannot eat digits or a sign. Matching takes time in proportion to the frame, whatever the expression.

mod framer;

pub(super) use framer::PatternFramer;

use super::number::{filler, number};
use super::unit_word::{UnitWord, unit_word};
use super::verdict::Verdict;
use super::{Flags, Kind, Options, Reading, Stability};
use regex::bytes::{CaptureLocations, Regex, RegexBuilder};
use std::sync::Arc;

/// One expression, checked. Cheap to clone; two are equal when their texts are.
#[derive(Debug, Clone)]
pub struct Pattern {
    frame: Arc<str>,
    ends: Arc<[u8]>,
    regex: Regex,
    /// Where each of [`PARTS`] is among the groups.
    parts: [Option<usize>; PARTS.len()],
}

/// The names that parts can have.
const PARTS: [&str; 15] = [
    "value", "sign", "before", "after", "unit", "kind", "stable", "moving", "gross", "net", "tare", "over", "under", "error",
    "zero",
];
const VALUE: usize = 0;
const SIGN: usize = 1;
const BEFORE: usize = 2;
const AFTER: usize = 3;
const UNIT: usize = 4;
const KIND: usize = 5;
const STABLE: usize = 6;
const MOVING: usize = 7;
const GROSS: usize = 8;
const NET: usize = 9;
const TARE: usize = 10;
const OVER: usize = 11;
const UNDER: usize = 12;
const ERROR: usize = 13;
const ZERO: usize = 14;

/// Limits of the expression: characters, bytes when compiled, depth.
const LENGTH_MAX: usize = 512;
const COMPILED_MAX: usize = 1 << 18;
const NEST_MAX: u32 = 32;
const ENDS_MAX: usize = 8;
/// So many nines, and nothing else, are a display that has run over.
const NINES_MIN: usize = 5;

/// Why a text is no pattern, and what would do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadPattern {
    #[error("is empty: write an expression with a part named value, as in (?<value>[-0-9.]+) *(?<unit>kg)")]
    Empty,
    #[error("is longer than {LENGTH_MAX} characters: describe one frame, not several")]
    TooLong,
    #[error("holds a control character: write it as \\x02")]
    Control,
    #[error("begins or ends with a blank, which is easily lost: write it as \\x20")]
    EdgeBlank,
    #[error("is no regular expression ({0}): mend it, or write a backslash before a sign that stands for itself")]
    Regex(String),
    #[error("has no part named value: put (?<value>…) around the digits")]
    NoValue,
    #[error("has a part named {0}, which means nothing here; there are {names}", names = PARTS.join(", "))]
    Part(String),
    #[error("must be one to {ENDS_MAX} bytes below 80 hexadecimal, each of which ends a frame")]
    Ends,
}

impl Pattern {
    /// What ends a frame where nothing else is said: any mix of CR and LF.
    pub const ENDS: &'static [u8] = b"\r\n";

    /// Checks an expression for one whole frame without its end, and the bytes of which each ends a frame.
    pub fn new(frame: &str, ends: &[u8]) -> Result<Pattern, BadPattern> {
        if frame.is_empty() {
            return Err(BadPattern::Empty);
        }
        if frame.chars().count() > LENGTH_MAX {
            return Err(BadPattern::TooLong);
        }
        if frame.chars().any(char::is_control) {
            return Err(BadPattern::Control);
        }
        if frame.trim() != frame {
            return Err(BadPattern::EdgeBlank);
        }
        if ends.is_empty() || ends.len() > ENDS_MAX || !ends.is_ascii() {
            return Err(BadPattern::Ends);
        }
        let build = |text: &str| {
            RegexBuilder::new(text)
                .unicode(false)
                .size_limit(COMPILED_MAX)
                .dfa_size_limit(COMPILED_MAX)
                .nest_limit(NEST_MAX)
                .build()
                .map_err(|fault| BadPattern::Regex(reason(&fault)))
        };
        // By itself first: what only closes the brackets put around it is not what was meant.
        let alone = build(frame)?;
        let names = || alone.capture_names().flatten();
        if let Some(unknown) = names().find(|name| !PARTS.contains(name)) {
            return Err(BadPattern::Part(unknown.to_owned()));
        }
        if !names().any(|name| name == PARTS[VALUE]) {
            return Err(BadPattern::NoValue);
        }
        let regex = build(&format!(r"\A(?:{frame})\z"))?;
        let place = |part: &str| regex.capture_names().position(|name| name == Some(part));
        let parts = PARTS.map(place);
        Ok(Pattern { frame: frame.into(), ends: ends.into(), regex, parts })
    }

    pub fn frame(&self) -> &str {
        &self.frame
    }

    pub fn ends(&self) -> &[u8] {
        &self.ends
    }

    fn decode(&self, frame: &[u8], places: &mut CaptureLocations, options: &Options) -> Verdict {
        if self.regex.captures_read(places, frame).is_none() {
            return Verdict::Refused;
        }
        let span = |part: usize| self.parts[part].and_then(|group| places.get(group));
        let text = |part: usize| span(part).map(|(from, to)| &frame[from..to]);
        let there = |part: usize| text(part).is_some_and(|text| !text.is_empty());
        let flags = Flags { overload: there(OVER), underload: there(UNDER), error: there(ERROR), zero: there(ZERO) };
        let Some(kind) = self.kind(text(KIND), there) else { return Verdict::Refused };
        let said = Reading { kind, stability: self.stability(there), ..Reading::without_weight(flags) };
        if flags.overload || flags.underload || flags.error {
            return Verdict::Reading(said);
        }
        let Some((from, to)) = span(VALUE).filter(|(from, to)| from < to) else { return Verdict::Quiet };
        let field = &frame[from..to];
        if let Some(filled) = overrun(field) {
            return Verdict::Reading(Reading { flags: filled, ..said });
        }
        let before = &frame[span(BEFORE).filter(|part| part.1 == from).map_or(0, |part| part.1)..from];
        let after = &frame[to..span(AFTER).filter(|part| part.0 == to).map_or(frame.len(), |part| part.0)];
        if self.is_cut(before, after) {
            return Verdict::Refused;
        }
        let Some((value, b"")) = number(field, options).map(|(value, rest)| (value, rest.trim_ascii())) else {
            return Verdict::Refused;
        };
        let value = match text(SIGN).map(<[u8]>::trim_ascii) {
            Some(b"-") if value.count >= 0 && !field.contains(&b'-') => value.negated(),
            Some(b"-") => return Verdict::Refused,
            Some(b"+" | b"") | None => value,
            Some(_) => return Verdict::Refused,
        };
        let unit = match unit_word(text(UNIT).unwrap_or_default().trim_ascii(), options) {
            UnitWord::Mass(unit) => unit,
            UnitWord::NotMass => return Verdict::Reading(said),
            UnitWord::Unknown => return Verdict::Refused,
        };
        Verdict::Reading(Reading { value: Some(value), unit, ..said })
    }

    /// Whether the number goes on outside of its part: a digit, a point, or a minus that no part has taken.
    fn is_cut(&self, before: &[u8], after: &[u8]) -> bool {
        let of_number = |byte: Option<&u8>| byte.is_some_and(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','));
        // A comma between fields touches the number too; with a digit behind it, it could be its decimals.
        let comma = |near: Option<&u8>, next: Option<&u8>| near == Some(&b',') && !next.is_some_and(u8::is_ascii_digit);
        let (left, right) = (before.last(), after.first());
        if of_number(left) && !comma(left, before.iter().nth_back(1)) || of_number(right) && !comma(right, after.get(1)) {
            return true;
        }
        let minus = before.trim_ascii_end().last() == Some(&b'-') || after.trim_ascii_start().first() == Some(&b'-');
        minus && self.parts[SIGN].is_none()
    }

    fn kind(&self, word: Option<&[u8]>, there: impl Fn(usize) -> bool) -> Option<Kind> {
        const WORDS: [(&str, Kind); 13] = [
            ("", Kind::Unknown),
            ("g", Kind::Gross),
            ("gs", Kind::Gross),
            ("gr", Kind::Gross),
            ("gross", Kind::Gross),
            ("b", Kind::Gross),
            ("n", Kind::Net),
            ("nt", Kind::Net),
            ("net", Kind::Net),
            ("t", Kind::Tare),
            ("tr", Kind::Tare),
            ("tare", Kind::Tare),
            ("pt", Kind::Tare),
        ];
        let word = word.unwrap_or_default().trim_ascii();
        let marked = [(GROSS, Kind::Gross), (NET, Kind::Net), (TARE, Kind::Tare)];
        match marked.into_iter().find(|(part, _)| there(*part)) {
            Some((_, kind)) => Some(kind),
            None => WORDS.iter().find(|(known, _)| word.eq_ignore_ascii_case(known.as_bytes())).map(|(_, kind)| *kind),
        }
    }

    /// Where only one of the two marks exists, its absence is the other.
    fn stability(&self, there: impl Fn(usize) -> bool) -> Stability {
        match (self.parts[STABLE].map(|_| there(STABLE)), self.parts[MOVING].map(|_| there(MOVING))) {
            (_, Some(true)) | (Some(false), None) => Stability::Motion,
            (Some(true), _) | (None, Some(false)) => Stability::Stable,
            _ => Stability::Unknown,
        }
    }
}

impl PartialEq for Pattern {
    fn eq(&self, other: &Pattern) -> bool {
        (&self.frame, &self.ends) == (&other.frame, &other.ends)
    }
}

impl Eq for Pattern {}

/// What a value says that is no weight: a filler, or nines alone.
fn overrun(field: &[u8]) -> Option<Flags> {
    let digits = field.iter().filter(|byte| byte.is_ascii_digit());
    let nines = field.iter().filter(|byte| **byte == b'9').count();
    if nines >= NINES_MIN && nines == digits.count() {
        return Some(Flags { overload: true, ..Flags::default() });
    }
    filler(field)
}

/// The last line of the library's explanation, without the picture above it.
fn reason(fault: &regex::Error) -> String {
    match fault {
        regex::Error::CompiledTooBig(_) => "it is too large: repeat less".into(),
        fault => {
            let text = fault.to_string();
            let last = text.lines().last().unwrap_or_default();
            last.strip_prefix("error: ").unwrap_or(last).to_owned()
        }
    }
}

#[cfg(test)]
mod tests;

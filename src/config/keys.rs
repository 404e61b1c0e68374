//! What lies beside a scale to choose bins with: a scanner, a number pad, a pedal.

use super::reader::{Faults, Table};
use super::values::line;
use crate::measure::Span;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use toml::de::DeValue;

/// One device of a bench, from a `[[bench.keys]]`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeysConfig {
    pub at: KeysAt,
    pub kind: KeysKind,
}

/// Where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeysAt {
    /// An input device, which is taken for this bench alone: nothing else on the machine hears its keys.
    Device(PathBuf),
    /// A serial port of its own. `line` is as in `9600 8N1`; none means that.
    Port { path: PathBuf, line: Option<String> },
}

/// What it is, and how its keys are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeysKind {
    /// Reads cards.
    Scanner,
    /// Digits and Enter. A single digit that stands for so long needs no Enter; none means that each number does.
    Pad { pause: Option<Span> },
    /// What each key does, by its code. An empty map means that every key does [`Act::Next`].
    Pedal { acts: BTreeMap<u16, Act> },
}

/// What a card, a key or a pedal asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Choose the bin with this number.
    Bin(u32),
    /// Choose the bin with the next higher number.
    Next,
    /// Pause the session, or resume it.
    Pause,
    /// Mark the last drop as doubtful.
    Doubtful,
    /// The next load is an intake.
    Intake,
}

/// How long a single digit stands before it is taken without Enter, unless the configuration says otherwise.
const PAUSE_MS: u64 = 1000;
const PAUSES: std::ops::RangeInclusive<u64> = 0..=10_000;

impl Act {
    /// The acts that are written as a word.
    pub const WORDS: [(&str, Act); 4] =
        [("next", Act::Next), ("pause", Act::Pause), ("doubtful", Act::Doubtful), ("intake", Act::Intake)];

    /// An act by its word, in any letter case.
    pub fn from_word(word: &str) -> Option<Act> {
        Act::WORDS.into_iter().find(|(known, _)| known.eq_ignore_ascii_case(word)).map(|(_, act)| act)
    }
}

impl std::fmt::Display for Act {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Act::Bin(number) => write!(f, "bin-{number}"),
            act => f.write_str(Act::WORDS.iter().find(|(_, other)| other == act).map_or("", |(word, _)| word)),
        }
    }
}

impl KeysConfig {
    pub fn path(&self) -> &Path {
        match &self.at {
            KeysAt::Device(path) | KeysAt::Port { path, .. } => path,
        }
    }

    /// Reads one `[[bench.keys]]`. Without a place it has none, which is a fault that has been told.
    pub(super) fn read(mut table: Table<'_, '_>, faults: &mut Faults<'_>) -> Option<KeysConfig> {
        let path = |text: &str| match text.is_empty() {
            true => Err("must name the device".into()),
            false => Ok(PathBuf::from(text)),
        };
        let device = table.text("device", faults, path);
        let port = table.text("port", faults, path);
        let serial = table.value("port").is_some();
        match (table.value("device"), table.value("port")) {
            (Some(_), Some(port)) => {
                faults.at(port.span().start, &table.path("port"), "stands beside device: keep the one that it hangs on")
            }
            (None, None) => {
                let what = "is missing: name the device, as in \"/dev/input/by-id/…-event-kbd\", or its serial port as port";
                faults.at(table.offset(), &table.path("device"), what);
            }
            _ => {}
        }
        let line = table.text("line", faults, line);
        let alien = |table: &mut Table<'_, '_>, faults: &mut Faults<'_>, key: &'static str, what: &str| {
            if let Some(value) = table.value(key) {
                faults.at(value.span().start, &table.path(key), what);
            }
        };
        if !serial {
            alien(&mut table, faults, "line", "is for a scanner on a serial port, named by port");
        }
        let name = table.text("kind", faults, |text| match text {
            "scanner" | "pad" | "pedal" => Ok(text.to_owned()),
            _ => Err("must be scanner, pad or pedal".into()),
        });
        let name = name.as_deref().unwrap_or("scanner");
        if serial && name != "scanner" {
            alien(&mut table, faults, "kind", "cannot be on a serial port: only a scanner can");
        }
        let pause = table.number("pause_ms", faults, PAUSES).unwrap_or(PAUSE_MS);
        let acts = acts(&mut table, faults);
        if name != "pad" {
            alien(&mut table, faults, "pause_ms", "is for a pad: write kind = \"pad\", or leave it out");
        }
        if name != "pedal" {
            alien(&mut table, faults, "acts", "is for a pedal: write kind = \"pedal\", or leave it out");
        }
        table.finish(faults);
        let at = device.map(KeysAt::Device).or(port.map(|path| KeysAt::Port { path, line }))?;
        let kind = match name {
            "pad" => KeysKind::Pad { pause: Some(Span::millis(pause)).filter(|pause| *pause > Span::ZERO) },
            "pedal" => KeysKind::Pedal { acts },
            _ => KeysKind::Scanner,
        };
        Some(KeysConfig { at, kind })
    }
}

/// Reads `acts = { KEY_F1 = "next", KEY_F2 = 7 }`.
fn acts(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> BTreeMap<u16, Act> {
    let mut acts = BTreeMap::new();
    let Some(value) = table.value("acts") else { return acts };
    let path = table.path("acts");
    let Some(pairs) = value.get_ref().as_table() else {
        faults.at(value.span().start, &path, "must be a table, as in { KEY_F1 = \"next\", KEY_F2 = 7 }");
        return acts;
    };
    if pairs.is_empty() {
        faults.at(value.span().start, &path, "names no key: leave it out, and every key chooses the next bin");
    }
    for (key, value) in pairs {
        let name: &str = key.get_ref();
        let path = format!("{path}.{name}");
        let code = name.parse::<evdev::KeyCode>().map(evdev::KeyCode::code);
        if code.is_err() {
            faults.at(key.span().start, &path, "is no name of a key: names are as in KEY_F1, and the tool evtest shows them");
        }
        let act = act(value.get_ref());
        if act.is_none() {
            let what = "must be a bin's number, or one of \"next\", \"pause\", \"doubtful\", \"intake\"";
            faults.at(value.span().start, &path, what);
        }
        if let (Ok(code), Some(act)) = (code, act) {
            acts.insert(code, act);
        }
    }
    acts
}

fn act(value: &DeValue<'_>) -> Option<Act> {
    match value {
        DeValue::String(word) => Act::from_word(word),
        DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix()).ok().map(Act::Bin),
        _ => None,
    }
}

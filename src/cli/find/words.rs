//! What the search tells a person.

use crate::config::PortName;
use crate::dialect::hunt::{Candidate, Factor, Hunter, Moved, Picture, Reason, Scorer};
use crate::dialect::{LineSettings, Parity, ReadUnit};
use crate::link::{Line, Modem, Why};
use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// Candidates that are shown.
const SHOWN: usize = 4;
const PRESS: &str = "no data: press the scale's print key, or set its output to continuous (see the notes on output)";

pub fn line(line: LineSettings) -> String {
    Line::from(line).to_string()
}

pub fn moved(why: Moved) -> String {
    match why {
        Moved::TooFast(Factor::Times(times)) => format!("the bytes show that the port is {times} times too fast"),
        Moved::TooFast(Factor::TwelveOrMore) => "only zeros: the port is twelve times too fast, or more".to_owned(),
        Moved::FramingErrors => "too many characters come broken at this speed".to_owned(),
        Moved::NothingFits => "bytes came, and no family understands them".to_owned(),
        Moved::ParityBit(_) => "good letters with a parity bit behind eight bits".to_owned(),
    }
}

pub fn hopeless(picture: Picture) -> String {
    match picture {
        Picture::Inverted => "the levels of the line are swapped: RS-232 and TTL are each other's inverse, so put a level \
             converter between scale and adapter, or take one away"
            .to_owned(),
        _ => "only zeros and ones come, at any speed: the wire is loose, the ground is missing, or the levels do not fit"
            .to_owned(),
    }
}

pub fn exhausted(scorer: &Scorer) -> String {
    format!(
        "every speed was tried twice and no family understands this scale; last came: {}\n\
         keep a recording with: bismar record PORT --output unknown.tape",
        scorer.raw().escape_ascii()
    )
}

pub fn given_up(scorer: &Scorer, modem: Modem) -> String {
    match scorer.taken() {
        0 => silence(scorer.picture(), modem).join("\n"),
        _ => format!("the time is up and nothing is certain; last came: {}", scorer.raw().escape_ascii()),
    }
}

/// Why nothing may have come.
pub fn silence(picture: Picture, modem: Modem) -> Vec<String> {
    let mut lines = vec![PRESS.to_owned()];
    if picture == Picture::Break {
        lines = vec!["the line is held low: the plug is half in, or the levels are swapped".to_owned()];
    }
    if modem.clear_to_send == Some(false) {
        lines.push(
            "CTS is low: the scale may wait for a handshake; connect CTS and RTS, or switch its handshake off in its menu"
                .to_owned(),
        );
    }
    lines
}

/// What came so far, and who understands it.
pub fn seen(hunter: &Hunter) -> Vec<String> {
    let scorer = hunter.scorer();
    let mut lines = vec![format!("{} bytes at {}: {}", scorer.taken(), line(hunter.line()), scorer.raw().escape_ascii())];
    if scorer.picture() == Picture::Break {
        lines.push("the line is held low".to_owned());
    }
    match scorer.parity() {
        (Parity::Clear, _) | (_, false) => {}
        (parity, true) => lines.push(format!("seven bits and parity ({parity:?})").to_lowercase()),
    }
    lines.extend(scorer.candidates().iter().take(SHOWN).map(candidate));
    lines
}

fn candidate(candidate: &Candidate) -> String {
    let reasons: Vec<String> = candidate.reasons.iter().map(reason).collect();
    let unit = match candidate.unit {
        ReadUnit::Stated(unit) => format!(" {}", unit.symbol()),
        _ => String::new(),
    };
    let value = candidate.last.and_then(|reading| reading.value);
    let value = value.map_or_else(String::new, |value| format!(" reads {value}{unit}"));
    let others = candidate.confusions.iter().map(|dialect| dialect.name()).collect::<Vec<_>>().join(", ");
    let others = if others.is_empty() { others } else { format!("; looks like {others}") };
    format!("{}{value}: {}{others}", candidate.dialect.name(), reasons.join(", "))
}

fn reason(reason: &Reason) -> String {
    match reason {
        Reason::InRow(frames) => format!("{frames} in a row"),
        Reason::Checked(frames) => format!("{frames} checksums right"),
        Reason::Needs(frames) => format!("{frames} more needed"),
        Reason::Unexplained(bytes) => format!("{bytes} bytes not explained"),
        Reason::WithoutWeight(frames) => format!("{frames} frames without a weight (overload, error or another mode)"),
        Reason::ProvesNothing => "proves nothing without a known weight".to_owned(),
    }
}

/// Why the port cannot be had, with the group or the program that has it.
pub fn unopened(why: Why, name: &PortName) -> anyhow::Error {
    let PortName::Device(path) = name else { return why.into() };
    let more = match &why {
        Why::Denied { .. } => {
            group_of(path).map(|group| format!("it belongs to the group {group}: sudo usermod -aG {group} $USER"))
        }
        Why::Busy { .. } => holder_of(path).map(|holder| format!("it is held by {holder}")),
        _ => None,
    };
    match more {
        Some(more) => anyhow::anyhow!("{why}\n{more}"),
        None => why.into(),
    }
}

fn group_of(path: &Path) -> Option<String> {
    let id = path.metadata().ok()?.gid().to_string();
    let groups = std::fs::read_to_string("/etc/group").ok()?;
    let fields = |line: &str| line.split(':').map(str::to_owned).collect::<Vec<_>>();
    groups.lines().map(fields).find(|group| group.get(2) == Some(&id)).map(|group| group[0].clone())
}

/// The program that has the device open, as far as this user may look.
fn holder_of(path: &Path) -> Option<String> {
    let device = path.canonicalize().ok()?;
    let own = std::process::id().to_string();
    let processes = std::fs::read_dir("/proc").ok()?.flatten();
    for process in processes.filter(|process| process.file_name().to_string_lossy() != own) {
        let Ok(handles) = std::fs::read_dir(process.path().join("fd")) else { continue };
        if handles.flatten().any(|handle| std::fs::read_link(handle.path()).is_ok_and(|open| open == device)) {
            let name = std::fs::read_to_string(process.path().join("comm")).unwrap_or_default();
            return Some(format!("{} (process {})", name.trim(), process.file_name().to_string_lossy()));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_is_told_with_what_the_line_shows() {
        let told = |picture, modem| silence(picture, modem).join("\n");
        assert!(told(Picture::Unclear, Modem::default()).contains("print key"));
        let low = Modem { clear_to_send: Some(false), ..Modem::default() };
        assert!(told(Picture::Unclear, low).contains("CTS is low"));
        assert!(!told(Picture::Unclear, Modem { clear_to_send: Some(true), ..low }).contains("CTS"));
        assert!(told(Picture::Break, low).contains("held low"));
        assert!(hopeless(Picture::Inverted).contains("swapped"));
    }

    #[test]
    fn a_port_that_is_not_ours_is_told_with_its_owner() {
        let path = Path::new("/dev/null");
        let told = unopened(Why::Denied { path: path.into() }, &path.into()).to_string();
        assert!(told.contains(&format!("the group {}", group_of(path).unwrap())), "{told}");
    }
}

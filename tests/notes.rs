//! The frames printed in `firmware-notes/`: the program reads each as the notes say.

use bismar::dialect::Dialect;
use std::process::Command;

const DIALECTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/firmware-notes/dialects");
const BOARD: &str = include_str!("../firmware-notes/load-cell-board.md");

#[test]
fn every_frame_in_the_notes_is_read_as_they_say() {
    let mut frames = Vec::new();
    for dialect in Dialect::ALL.iter().map(|dialect| dialect.name()) {
        let notes = std::fs::read_to_string(format!("{DIALECTS}/{dialect}.md")).unwrap_or_else(|why| panic!("{dialect}: {why}"));
        let printed = printed_frames(dialect, &notes);
        assert!(printed.len() >= 2, "{dialect}: only {} frames were found", printed.len());
        frames.extend(printed);
    }
    let faults: Vec<String> = frames.iter().filter_map(fault).collect();
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

#[test]
fn the_check_sees_planted_faults() {
    let frame = |hex: &str, says: &str| Frame { dialect: "header-comma".into(), hex: hex.into(), says: says.into() };
    let good = "53542c4e542c2b2020312e3233346b670d0a";
    assert_eq!(fault(&frame(good, "1.234 kg, net, stable")), None);
    for wrong in ["1.23 kg, net, stable", "1.234 lb, net, stable", "1.234 kg, net, moving", "overload, no weight"] {
        assert!(fault(&frame(good, wrong)).is_some(), "{wrong}");
    }
    assert!(fault(&frame("53542c4e54", "1.234 kg, net, stable")).is_some(), "a frame that is none passed");
}

#[test]
fn the_line_for_a_board_of_ones_own_is_read() {
    let hex = BOARD.lines().find_map(|line| line.trim_start().strip_prefix("ST,GS,")).and_then(|line| line.split_once("kg"));
    let frame =
        Frame { dialect: "header-comma".into(), hex: hex.unwrap().1.replace(' ', ""), says: "0.857 kg, gross, stable".into() };
    assert_eq!(fault(&frame), None);
}

struct Frame {
    dialect: String,
    hex: String,
    says: String,
}

/// Table rows with a cell of hexadecimal bytes; the last cell says what is read.
fn printed_frames(dialect: &str, notes: &str) -> Vec<Frame> {
    let mut frames = Vec::new();
    for line in notes.lines() {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let bytes = cells.iter().find_map(|cell| bytes_in(cell));
        if let (true, Some(hex), Some(says)) = (line.starts_with('|'), bytes, cells.last()) {
            frames.push(Frame { dialect: dialect.to_owned(), hex, says: (*says).to_owned() });
        }
    }
    frames
}

fn bytes_in(cell: &str) -> Option<String> {
    let inside = cell.strip_prefix('`')?.strip_suffix('`')?;
    let pairs: Vec<&str> = inside.split(' ').collect();
    let hexadecimal = |pair: &&str| pair.len() == 2 && pair.bytes().all(|byte| byte.is_ascii_hexdigit());
    (pairs.len() >= 4 && pairs.iter().all(hexadecimal)).then(|| pairs.concat())
}

/// How the program's reading of a frame differs from what the notes say of it.
fn fault(frame: &Frame) -> Option<String> {
    let output = Command::new(env!("CARGO_BIN_EXE_bismar"))
        .args(["decode", "--dialect", &frame.dialect, "--hex", &frame.hex])
        .output()
        .unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<serde_json::Value> = printed.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let said: Vec<&str> = frame.says.split(';').collect();
    let told = |what: &str| format!("{} {} ({}): {what}", frame.dialect, frame.hex, frame.says);
    if lines.len() != said.len() {
        return Some(told(&format!("{} readings", lines.len())));
    }
    lines.iter().zip(said).find(|(reading, says)| !agrees(reading, says)).map(|(reading, _)| told(&reading.to_string()))
}

/// Whether a reading is what the words say; a frame that tells several has words for each, with semicolons between.
fn agrees(reading: &serde_json::Value, text: &str) -> bool {
    let says = |word: &str| text.split([' ', ',', ':']).any(|part| part.trim_end_matches('.') == word);
    let field = |key: &str| reading[key].as_str().unwrap_or_default();
    let shown = match (reading["value"].as_str(), field("unit")) {
        (None, _) => text.ends_with("no weight"),
        (Some(value), "unstated") => says(value),
        (Some(value), "lb:oz") => says(value) && says("lb") && says("oz"),
        (Some(value), unit) => says(value) && says(unit),
    };
    let steady = match field("stability") {
        "stable" => !says("moving"),
        "motion" => says("moving"),
        _ => !says("moving") && !says("stable"),
    };
    let kind = ["gross", "net", "tare"].into_iter().all(|kind| !says(kind) || field("kind") == kind);
    shown && steady && kind
}

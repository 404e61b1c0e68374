//! The laws of the house that source text can show. Each law is tried on planted text too: a law that catches nothing
//! is no law.

#[path = "support/source.rs"]
mod source;

use source::{File, climbs, files, lines_with, names_under, top};

/// The rooms of the core, each of which may import those before it.
const CORE: [&str; 5] = ["measure", "dialect", "settle", "facts", "attribute"];
/// Rooms in which there is no clock, file, socket, thread, randomness or waiting.
const PURE: [&str; 9] = ["measure", "dialect", "settle", "facts", "attribute", "economy", "haul", "query", "command"];
/// The one file of the pure rooms that waits: through it the faces reach the running core.
const DESK: &str = "src/command/desk.rs";

const TOP: [&str; 9] =
    ["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "src", "firmware-notes", "tests", "systemd", "demo"];

/// Packages, and names that read a clock, with the only places for them.
const CONFINED: [(&str, &[&str]); 11] = [
    ("serialport", &["src/link/"]),
    ("evdev", &["src/link/", "src/config/keys.rs"]),
    ("sled", &["src/store/"]),
    ("axum", &["src/http/"]),
    ("clap", &["src/cli/", "src/main.rs"]),
    ("clap_complete", &["src/cli/"]),
    ("clap_mangen", &["src/cli/"]),
    ("SystemTime", &["src/clock.rs"]),
    ("Instant::now", &["src/clock.rs"]),
    ("Timestamp::now", &["src/clock.rs"]),
    ("Zoned::now", &["src/clock.rs"]),
];

/// Where a floating-point number can neither be stored nor reported as a mass or an amount: the simulated world, the
/// speed at which a tape is played, the second of a replayed step, gauges for monitoring; and the oscillation of a shaken
/// platform, whose level leaves there as a whole number of thousandths.
const FLOATS: [&str; 8] = [
    "src/settle/shake.rs",
    "src/settle/sway.rs",
    "src/sim/",
    "src/link/player.rs",
    "src/cli/simulate.rs",
    "src/cli/replay/",
    "src/cli/demo/live.rs",
    "src/daemon/counts.rs",
];

const LONGEST: usize = 500;

#[test]
fn rooms_import_only_what_lies_before_them() {
    holds(&sources(), import_faults);
    let caught = |path: &str, text: &str| !import_faults(&File::new(path, text)).is_empty();
    assert!(caught("src/measure/mass.rs", "use crate::dialect::Reading;"));
    assert!(caught("src/facts/fact.rs", "use crate::{measure::Mass, attribute::Drop};"));
    assert!(caught("src/settle/engine.rs", "fn f() { crate::store::roll() }"));
    assert!(caught("src/cli/status.rs", "use crate::daemon::serve;"));
    assert!(caught("src/store/roll.rs", "use crate::{\n    facts::{Event, Fact},\n    clock,\n};"));
    assert!(caught("src/link/serial.rs", "use super::super::store;"));
    assert!(caught("src/cellar/mod.rs", "use crate::measure::Mass;"));
    assert!(caught("src/query/mod.rs", "use crate::command::Order;"));
    assert!(caught("src/economy/pay.rs", "use crate::attribute::Input;"));
    assert!(caught("src/attribute/bench.rs", "use crate::economy::ratio;"));
    assert!(!caught("src/query/worth.rs", "use crate::economy::ratio;"));
    assert!(!caught("src/attribute/bench.rs", "use crate::{facts::{Books, Fact}, settle};\nuse super::bench;"));
    assert!(!caught("src/link/mod.rs", "//! See crate::store.\nconst NAME: &str = \"crate::store\";"));
}

#[test]
fn packages_and_clocks_stay_where_they_belong() {
    holds(&sources(), confinement_faults);
    let caught = |path: &str, text: &str| !confinement_faults(&File::new(path, text)).is_empty();
    assert!(caught("src/daemon/mod.rs", "use serialport::SerialPort;"));
    assert!(caught("src/daemon/keys.rs", "use evdev::KeyCode;"));
    assert!(caught("src/query/mod.rs", "let tree = sled::open(path);"));
    assert!(caught("src/render/html.rs", "use axum::response::Html;"));
    assert!(caught("src/daemon/mod.rs", "use clap::Parser;"));
    assert!(caught("src/http/mod.rs", "let now = jiff::Timestamp::now();"));
    assert!(caught("src/link/reader.rs", "let start = std::time::Instant::now();"));
    assert!(!caught("src/daemon/mod.rs", "let due = tokio::time::Instant::now() + wait;"));
    assert!(!caught("src/link/serial.rs", "use serialport::SerialPort; // not sled"));
    assert!(!caught("src/http/mod.rs", "let unsledded = 1;"));
}

#[test]
fn the_core_is_pure() {
    holds(&sources(), purity_faults);
    let caught = |path: &str, text: &str| !purity_faults(&File::new(path, text)).is_empty();
    for impure in [
        "use std::fs::File;",
        "use std::{collections::BTreeMap, fs};",
        "use std::net::TcpStream;",
        "std::thread::sleep(pause);",
        "use std::time::Instant;",
        "let home = std::env::var(name);",
        "tokio::spawn(work);",
        "async fn settle() {}",
        "let dice = rand::rng();",
    ] {
        for room in PURE {
            assert!(caught(&format!("src/{room}/engine.rs"), impure), "{impure} in {room}");
        }
        assert!(!caught("src/store/roll.rs", impure), "{impure}");
    }
    assert!(caught(DESK, "use std::fs;"));
    assert!(!caught(DESK, "async fn ask() { tokio::task::yield_now().await }"));
    assert!(!caught("src/settle/engine.rs", "fn f() {}\n#[cfg(test)]\nmod tests {\n    use std::fs;\n}\n"));
    assert!(caught("src/settle/engine.rs", "#[cfg(test)]\nmod tests {\n    fn g() {}\n}\nuse std::fs;\n"));
}

#[test]
fn floating_point_stays_away_from_masses_and_amounts() {
    holds(&sources(), float_faults);
    let caught = |path: &str, text: &str| !float_faults(&File::new(path, text)).is_empty();
    assert!(caught("src/measure/mass.rs", "pub fn grams(&self) -> f64 { 0.0 }"));
    assert!(caught("src/render/table.rs", "let shown = kilograms as f32;"));
    assert!(caught("src/facts/fact.rs", "let half = 0.5;"));
    assert!(!caught("src/sim/platform.rs", "let noise: f64 = 0.1;"));
    assert!(!caught("src/measure/mass.rs", "// an f64 would not do\nlet first = pair.0;\nlet range = 0..5;"));
}

#[test]
fn files_are_short() {
    let all = files("src", &[".rs"]).into_iter().chain(files("tests", &[".rs"])).collect::<Vec<_>>();
    holds(&all, length_faults);
    assert!(!length_faults(&File::new("src/x.rs", &"\n".repeat(LONGEST + 1))).is_empty());
    assert!(length_faults(&File::new("src/x.rs", &"\n".repeat(LONGEST))).is_empty());
}

#[test]
fn nothing_is_left_over() {
    holds(&written(), leftover_faults);
    let caught = |path: &str, text: &str| !leftover_faults(&File::new(path, text)).is_empty();
    for left in [
        concat!("// TO", "DO later"),
        concat!("# FIX", "ME"),
        concat!("db", "g!(mass);"),
        concat!("un", "implemented!()"),
        concat!("to", "do!()"),
    ] {
        assert!(caught("src/settle/engine.rs", left), "{left}");
    }
    assert!(caught("README.md", concat!("see /ro", "ot/notes")));
    assert!(caught("tests/roll.rs", concat!("\"/ho", "me/someone/tape\"")));
    assert!(!caught("README.md", "the method /homework is fine"));
}

#[test]
fn the_top_level_is_fixed() {
    let names: Vec<String> =
        std::fs::read_dir(top()).unwrap().flatten().map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    let faults = strangers(&names);
    assert!(faults.is_empty(), "these do not belong at the top: {faults:?}");
    let planted = ["src", "docs", ".gitignore", "target", "Makefile"].map(str::to_owned);
    assert_eq!(strangers(&planted), ["docs", "Makefile"]);
}

fn sources() -> Vec<File> {
    let found = files("src", &[".rs"]);
    assert!(found.len() > 20, "the sources were not found");
    found
}

/// Everything that a person wrote, recordings and found seeds left out.
fn written() -> Vec<File> {
    let mut all = Vec::new();
    for (folder, endings) in [
        ("src", &[".rs", ".js", ".css"][..]),
        ("tests", &[".rs", ".md", ".sh"]),
        ("systemd", &[""]),
        ("firmware-notes", &[""]),
        ("demo", &[""]),
        (".ci", &[""]),
    ] {
        all.extend(files(folder, endings));
    }
    for name in ["README.md", "DEVELOPERS.md", "Cargo.toml"] {
        all.push(File { path: name.into(), text: std::fs::read_to_string(top().join(name)).unwrap() });
    }
    all
}

fn holds(files: &[File], law: impl Fn(&File) -> Vec<String>) {
    let faults: Vec<String> = files.iter().flat_map(law).collect();
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

/// The rooms that a room may import; none for a room that the law does not know. The two ends of the program are free.
fn allowed(room: &str) -> Option<Vec<&'static str>> {
    let beside = ["store", "link", "sim", "config", "clock"];
    let core_before = |room: &str| CORE.into_iter().take_while(|&other| other != room).collect::<Vec<_>>();
    let with = |more: &[&'static str]| CORE.iter().chain(more).copied().collect::<Vec<_>>();
    Some(match room {
        _ if CORE.contains(&room) => core_before(room),
        "economy" => vec!["measure", "facts"],
        "haul" => vec!["measure", "facts", "economy"],
        "query" | "command" => with(&["economy", "haul"]),
        "render" => with(&["economy", "haul", "query", "command"]),
        "http" => with(&["economy", "haul", "query", "command", "render"]),
        "daemon" => [with(&["economy", "haul", "query", "command", "render", "http"]), beside.to_vec()].concat(),
        "cli" => [with(&["economy", "haul", "query", "command", "render"]), beside.to_vec()].concat(),
        "store" => vec!["measure", "facts"],
        "link" => vec!["measure", "dialect", "config", "clock"],
        "sim" => vec!["measure", "dialect", "settle"],
        "config" => vec!["measure", "dialect", "settle"],
        "clock" => vec!["measure"],
        _ => return None,
    })
}

fn import_faults(file: &File) -> Vec<String> {
    let (room, code) = (file.room(), file.code());
    if ["lib", "main"].contains(&room) {
        return Vec::new();
    }
    let Some(allowed) = allowed(room) else {
        return vec![format!("{}: the import law knows no room {room}", file.path)];
    };
    let strangers = names_under(&code, "crate").into_iter().filter(|(_, name)| name != room && !allowed.contains(&name.as_str()));
    let mut faults: Vec<String> =
        strangers.map(|(line, name)| format!("{}:{line}: {room} must not import {name}", file.path)).collect();
    // A test module is one deeper, so there the same climb stays inside.
    let out = climbs(&file.working_code()).into_iter().filter(|&(_, steps)| steps >= file.depth());
    faults.extend(out.map(|(line, _)| format!("{}:{line}: leaves its room by super; write crate::", file.path)));
    faults
}

fn confinement_faults(file: &File) -> Vec<String> {
    let code = file.working_code().replace("tokio::time::Instant::now", "tokio_now");
    let mut faults = Vec::new();
    for (name, places) in CONFINED {
        if !places.iter().any(|place| file.path.starts_with(place)) {
            faults.extend(
                lines_with(&code, name).into_iter().map(|line| format!("{}:{line}: {name} belongs in {places:?}", file.path)),
            );
        }
    }
    faults
}

fn purity_faults(file: &File) -> Vec<String> {
    if !PURE.contains(&file.room()) {
        return Vec::new();
    }
    let code = file.working_code();
    let impure = ["fs", "net", "thread", "time", "env", "process", "os"];
    let mut faults: Vec<String> = names_under(&code, "std")
        .into_iter()
        .filter(|(_, name)| impure.contains(&name.as_str()))
        .map(|(line, name)| format!("{}:{line}: std::{name} in the core", file.path))
        .collect();
    let waiting: &[&str] = if file.path == DESK { &["rand", "rustix"] } else { &["rand", "rustix", "tokio", "async", "await"] };
    for word in waiting {
        faults.extend(lines_with(&code, word).into_iter().map(|line| format!("{}:{line}: {word} in the core", file.path)));
    }
    faults
}

fn float_faults(file: &File) -> Vec<String> {
    if FLOATS.iter().any(|place| file.path.starts_with(place)) {
        return Vec::new();
    }
    let code = file.working_code();
    let named = ["f32", "f64"].into_iter().flat_map(|word| lines_with(&code, word));
    named.chain(float_literals(&code)).map(|line| format!("{}:{line}: a floating-point number", file.path)).collect()
}

/// Lines with a literal such as `0.5`; `pair.0` and `0..5` are none.
fn float_literals(code: &str) -> Vec<usize> {
    let bytes = code.as_bytes();
    let digit = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit);
    let literal = |&(at, _): &(usize, &str)| {
        let start = (0..at).rev().take_while(|&before| digit(Some(before)) || bytes[before] == b'_').last();
        let Some(start) = start.filter(|_| digit(at.checked_sub(1)) && digit(Some(at + 1))) else { return false };
        // `one.0.1` is a field of a field, and `x1.0` none either.
        start == 0 || !(bytes[start - 1] == b'.' || bytes[start - 1].is_ascii_alphanumeric())
    };
    code.match_indices('.').filter(literal).map(|(at, _)| source::line_of(code, at)).collect()
}

fn length_faults(file: &File) -> Vec<String> {
    let lines = file.text.lines().count();
    if lines > LONGEST { vec![format!("{}: {lines} lines; {LONGEST} is the most", file.path)] } else { Vec::new() }
}

fn leftover_faults(file: &File) -> Vec<String> {
    let words =
        [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("db", "g!"), concat!("un", "implemented!"), concat!("to", "do!")];
    let places =
        [concat!("/ro", "ot/"), concat!("/ho", "me/"), concat!("/wo", "rk/"), concat!("/Us", "ers/"), concat!("/tmp/", "w/")];
    let mut faults = Vec::new();
    for word in words.into_iter().chain(places) {
        for (at, _) in file.text.match_indices(word) {
            let inside = file.text[..at].chars().next_back().is_some_and(|before| before.is_alphanumeric() || before == '_');
            if !inside {
                faults.push(format!("{}:{}: {word} is left", file.path, source::line_of(&file.text, at)));
            }
        }
    }
    faults
}

fn strangers(names: &[String]) -> Vec<&String> {
    names.iter().filter(|name| !name.starts_with('.') && *name != "target" && !TOP.contains(&name.as_str())).collect()
}

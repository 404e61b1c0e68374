//! The files under `systemd/`: the unit is analysed by systemd's own tool, the others are read as their readers would.
//!
//! A machine without the tool skips its checks and says so; where `BISMAR_CI=1` is set that is a failure.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const UNIT: &str = include_str!("../systemd/bismar.service");
const RULES: &str = include_str!("../systemd/60-bismar.rules");
const ACCOUNTS: &str = include_str!("../systemd/bismar.sysusers");
const LAN: &str = include_str!("../systemd/bismar.service.d/lan-tablet.conf");
const EXAMPLE: &str = include_str!("../systemd/bismar.toml");
const KEYS: &str = include_str!("../systemd/bismar.service.d/keys.conf");
const BRIDGE: &str = include_str!("../systemd/bismar.service.d/bridge.conf");
const USB: &str = include_str!("../systemd/bismar.service.d/usb-scale.conf");
const ON_BOARD: &str = include_str!("../systemd/bismar.service.d/on-board-port.conf");

/// Tenths of systemd's exposure level; 100 is the worst.
const MOST_EXPOSED: u32 = 13;

#[test]
fn systemd_finds_no_fault_in_the_unit() {
    let Some(tool) = tool("systemd-analyze") else { return };
    let faults = verify(&tool, &runnable(UNIT), &[]);
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn systemd_finds_no_fault_in_the_drop_ins_once_they_are_used() {
    let Some(tool) = tool("systemd-analyze") else { return };
    let drop_ins = [
        ("lan-tablet.conf", LAN),
        ("on-board-port.conf", ON_BOARD),
        ("keys.conf", KEYS),
        ("bridge.conf", BRIDGE),
        ("usb-scale.conf", USB),
    ];
    let drop_ins = drop_ins.map(|(name, text)| (name, switched_on(text)));
    let faults = verify(&tool, &runnable(UNIT), &drop_ins);
    assert!(faults.is_empty(), "{faults:#?}");
    assert!(drop_ins.iter().all(|(_, text)| text.lines().any(is_setting)));
}

#[test]
fn the_verifier_sees_planted_faults() {
    let Some(tool) = tool("systemd-analyze") else { return };
    for (from, to) in [("WatchdogSec=30", "WatchdogSec=soon"), ("Restart=always", "Restart=eagerly"), ("UMask=", "UMusk=")] {
        let broken = runnable(UNIT).replacen(from, to, 1);
        assert!(!verify(&tool, &broken, &[]).is_empty(), "{to} went unseen");
    }
    assert!(!verify(&tool, UNIT.replace("/usr/bin/bismar", "/nowhere/bismar").as_str(), &[]).is_empty());
    let broken = [("lan-tablet.conf", switched_on(LAN).replace("IPAddressAllow=", "IPAddressAllow=neighbours"))];
    assert!(!verify(&tool, &runnable(UNIT), &broken).is_empty(), "a fault in a drop-in went unseen");
}

#[test]
fn the_unit_is_locked_in() {
    let Some(tool) = tool("systemd-analyze") else { return };
    let (calm, said) = exposure_is_at_most(&tool, UNIT, MOST_EXPOSED);
    assert!(calm, "{said}");
    let loosened = UNIT.replace("ProtectClock=yes", "ProtectClock=no");
    assert!(!exposure_is_at_most(&tool, &loosened, MOST_EXPOSED).0, "a loosened unit passed");
}

/// What the program counts on, whatever the score says.
#[test]
fn the_unit_keeps_what_the_program_needs() {
    let settings: Vec<&str> = UNIT.lines().filter(|line| is_setting(line)).collect();
    for needed in [
        "Type=notify",
        "ExecStart=/usr/bin/bismar serve --config /etc/bismar/bismar.toml",
        "WatchdogSec=30",
        "Restart=always",
        "RestartPreventExitStatus=78",
        "StateDirectory=bismar",
        "RuntimeDirectory=bismar",
        "Group=bismar",
        "SupplementaryGroups=dialout",
        "DeviceAllow=char-ttyUSB rw",
        "DeviceAllow=char-ttyACM rw",
        "IPAddressAllow=localhost",
        "Environment=BISMAR_BOOT_ID=%b",
    ] {
        assert!(settings.contains(&needed), "{needed} is gone");
    }
    // Each of these takes the serial port away, and the analyser would praise it.
    for harmful in ["PrivateDevices=yes", "PrivateUsers=yes", "PrivateNetwork=yes", "DynamicUser=yes"] {
        assert!(!settings.contains(&harmful), "{harmful}");
    }
}

#[test]
fn the_drop_ins_do_nothing_as_they_come() {
    for text in [LAN, ON_BOARD, KEYS] {
        assert_eq!(text.lines().filter(|line| is_setting(line)).count(), 0);
    }
}

#[test]
fn every_udev_line_is_well_formed() {
    for (number, line) in udev_lines(RULES) {
        assert_eq!(udev_fault(&line), None, "line {number}: {line}");
    }
    let active: Vec<String> = udev_lines(RULES).into_iter().map(|(_, line)| line).filter(|line| !line.starts_with('#')).collect();
    assert!(active.iter().all(|line| !line.contains("idVendor")), "adapters are named by their owner only");
    let labels = |key: &str| {
        let mark = format!("{key}=\"");
        let mut names: Vec<String> = active
            .iter()
            .filter_map(|line| line.split_once(mark.as_str()))
            .filter_map(|(_, rest)| rest.split('"').next().map(str::to_owned))
            .collect();
        names.sort();
        names.dedup();
        names
    };
    assert_eq!(labels("GOTO"), labels("LABEL"), "a jump without its label");
}

#[test]
fn the_udev_check_sees_planted_faults() {
    for broken in [
        "SUBSYSTEM==tty",
        "SUBSYSTEM==\"tty\" GROUP=\"dialout\"",
        "SUBSYSTEMM==\"tty\"",
        "ATTRS{idVendor}=\"0403\"",
        "GROUP==\"dialout",
        "SYMLINK==+\"x\"",
    ] {
        assert!(udev_fault(broken).is_some(), "{broken} went unseen");
    }
}

/// `udevadm verify` came with systemd 254.
#[test]
fn udev_itself_finds_no_fault() {
    let Some(tool) = optional_tool("udevadm") else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("60-bismar.rules");
    let switched: String =
        udev_lines(RULES).into_iter().map(|(_, line)| line.trim_start_matches('#').to_owned() + "\n").collect();
    std::fs::write(&file, switched).unwrap();
    let output = run(Command::new(&tool).args(["verify", "--no-style"]).arg(&file));
    let said = text(&output);
    if said.contains("Unknown command") || said.contains("unrecognized") {
        return skipped("this udevadm cannot verify rules");
    }
    assert!(output.status.success(), "{said}");
}

#[test]
fn the_accounts_file_makes_what_the_unit_runs_as() {
    let Some(tool) = tool("systemd-sysusers") else { return };
    let root = tempfile::tempdir().unwrap();
    let file = root.path().join("bismar.conf");
    std::fs::create_dir(root.path().join("etc")).unwrap();
    std::fs::write(root.path().join("etc/group"), "dialout:x:20:\n").unwrap();
    std::fs::write(&file, ACCOUNTS).unwrap();
    let output = run(Command::new(&tool).arg("--root").arg(root.path()).arg(&file));
    assert!(output.status.success(), "{}", text(&output));
    let read = |name: &str| std::fs::read_to_string(root.path().join("etc").join(name)).unwrap();
    assert!(read("passwd").lines().any(|line| line.starts_with("bismar:") && line.contains(":/var/lib/bismar:")));
    assert!(read("group").lines().any(|line| line.starts_with("dialout:") && line.ends_with(":bismar")));
}

/// As it comes it sets the one key that must be there; with every key switched on it is still one configuration.
#[test]
fn the_example_configuration_is_toml_with_one_key_set_and_with_all() {
    let as_it_comes: toml::Table = EXAMPLE.parse().unwrap();
    let bench = as_it_comes["bench"][0].as_table().unwrap();
    assert_eq!(bench.keys().collect::<Vec<_>>(), ["port"]);
    assert!(["store", "http", "quotes"].iter().all(|table| as_it_comes[*table].as_table().unwrap().is_empty()));
    let offered = EXAMPLE.lines().filter(|line| line.starts_with('#') && !line.starts_with("# ") && line.contains('=')).count();
    let all: toml::Table = switched_on(EXAMPLE).parse().unwrap();
    assert_eq!(leaves(&toml::Value::Table(all)), offered + 1, "a line that is switched on sets no key");
}

/// Keys that are set, those of tables within tables too.
fn leaves(value: &toml::Value) -> usize {
    match value {
        toml::Value::Table(table) => table.values().map(leaves).sum(),
        toml::Value::Array(list) if list.iter().any(toml::Value::is_table) => list.iter().map(leaves).sum(),
        _ => 1,
    }
}

/// The program itself finds no fault in the example, as it comes and with every line switched on.
#[test]
fn the_example_configuration_is_good() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bismar.toml");
    let check = |text: &str| {
        std::fs::write(&file, text).unwrap();
        let output = run(Command::new(env!("CARGO_BIN_EXE_bismar")).arg("check-config").arg(&file));
        (output.status.code(), self::text(&output))
    };
    for example in [EXAMPLE.to_owned(), switched_on(EXAMPLE)] {
        let (code, said) = check(&example);
        assert_eq!(code, Some(0), "{said}");
    }
    let (code, said) = check(&switched_on(EXAMPLE).replace("9600 8N1", "9600 9N1"));
    assert!(code == Some(78) && said.contains("bench[1].line"), "{said}");
}

/// The defaults that the example names are those of the program.
#[test]
fn the_example_configuration_names_the_defaults() {
    let variable = |name: &str| match name {
        "STATE_DIRECTORY" => Some("/var/lib/bismar".to_owned()),
        "RUNTIME_DIRECTORY" => Some("/run/bismar".to_owned()),
        _ => None,
    };
    let plain = bismar::config::parse(EXAMPLE, variable).unwrap();
    let named = bismar::config::parse(&switched_on(EXAMPLE), variable).unwrap();
    assert_eq!((plain.currency, plain.stale_after), (named.currency, named.stale_after));
    assert_eq!((plain.listen, &plain.names), (named.listen, &named.names));
    assert_eq!((&plain.store, &plain.socket), (&named.store, &named.socket));
    let (plain, named) = (&plain.benches[0], &named.benches[0]);
    assert_eq!((&plain.name, plain.dialect, plain.comma, plain.manner), (&named.name, named.dialect, named.comma, named.manner));
    let bare = "[[bench]]\nport = \"a\"\n[[bench.keys]]\ndevice = \"/dev/input/by-id/usb-pad-event-kbd\"\nkind = \"pad\"\n";
    let bare = bismar::config::parse(bare, variable).unwrap();
    assert!(plain.keys.is_empty());
    assert_eq!(named.keys.iter().find(|keys| keys.path() == bare.benches[0].keys[0].path()), bare.benches[0].keys.first());
}

/// The unit with a program that exists here.
fn runnable(unit: &str) -> String {
    unit.replace("/usr/bin/bismar", env!("CARGO_BIN_EXE_bismar"))
}

/// A drop-in with every setting that it offers.
fn switched_on(text: &str) -> String {
    text.lines()
        .map(|line| {
            line.strip_prefix('#')
                .filter(|rest| rest.starts_with('[') || !rest.starts_with(' ') && rest.contains('='))
                .unwrap_or(line)
        })
        .fold(String::new(), |all, line| all + line + "\n")
}

fn is_setting(line: &str) -> bool {
    line.contains('=') && !line.starts_with('#')
}

/// What the analyser says of this unit. It ends with 0 at values that it cannot read, so its words count, not its exit;
/// what it says of other units of this machine does not.
fn verify(tool: &Path, unit: &str, drop_ins: &[(&str, String)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bismar.service");
    std::fs::write(&file, unit).unwrap();
    for (name, text) in drop_ins {
        let beside = folder.path().join("bismar.service.d");
        std::fs::create_dir_all(&beside).unwrap();
        std::fs::write(beside.join(name), text).unwrap();
    }
    let output = run(Command::new(tool).args(["verify", "--man=no"]).arg(&file));
    text(&output).lines().filter(|line| line.contains("bismar")).map(str::to_owned).collect()
}

fn exposure_is_at_most(tool: &Path, unit: &str, tenths: u32) -> (bool, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bismar.service");
    std::fs::write(&file, unit).unwrap();
    let threshold = format!("--threshold={tenths}");
    let output = run(Command::new(tool).args(["security", "--offline=true", &threshold]).arg(&file));
    (output.status.success(), text(&output))
}

/// The rules with their line numbers, those left commented for the owner too, without prose.
fn udev_lines(rules: &str) -> Vec<(usize, String)> {
    let kept = |line: &str| !line.is_empty() && !line.starts_with("# ") && line != "#";
    rules.lines().enumerate().map(|(index, line)| (index + 1, line.to_owned())).filter(|(_, line)| kept(line)).collect()
}

/// What is wrong with one rule line: `KEY{attribute}` operator `"value"`, comma between.
fn udev_fault(line: &str) -> Option<String> {
    const MATCH_ONLY: [&str; 7] = ["ACTION", "KERNEL", "KERNELS", "SUBSYSTEM", "SUBSYSTEMS", "ATTRS", "DRIVERS"];
    const SET_ONLY: [&str; 6] = ["GROUP", "MODE", "SYMLINK", "GOTO", "LABEL", "OWNER"];
    let mut rest = line.trim_start_matches('#').trim();
    while !rest.is_empty() {
        let Some(end) = rest.find(['=', '!', '+', '-', ':']) else { return Some(format!("no operator in {rest:?}")) };
        let key = rest[..end].split('{').next().unwrap_or_default();
        if rest[..end].contains('{') != rest[..end].ends_with('}') {
            return Some(format!("an open brace in {:?}", &rest[..end]));
        }
        let Some(open) = rest.find('"') else { return Some(format!("no quoted value in {rest:?}")) };
        let operator = &rest[end..open];
        let fits = match operator {
            "==" | "!=" => MATCH_ONLY.contains(&key) || key == "ENV",
            "=" | "+=" | ":=" => SET_ONLY.contains(&key) || key == "ENV",
            _ => false,
        };
        if !fits {
            return Some(format!("{key} does not go with {operator:?}"));
        }
        let Some(close) = rest[open + 1..].find('"') else { return Some(format!("an open quote in {rest:?}")) };
        rest = rest[open + 1 + close + 1..].trim_start();
        match rest.strip_prefix(',') {
            Some(after) => rest = after.trim_start(),
            None if rest.is_empty() => {}
            None => return Some(format!("no comma before {rest:?}")),
        }
    }
    None
}

/// A tool of the system, or a skip that is seen, or in CI a failure.
fn tool(name: &str) -> Option<PathBuf> {
    let found = optional_tool(name);
    assert!(found.is_some() || std::env::var_os("BISMAR_CI").is_none(), "{name} is missing, and BISMAR_CI is set");
    found
}

fn optional_tool(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file());
    if found.is_none() {
        skipped(&format!("there is no {name} on this machine"));
    }
    found
}

/// Past the test runner, which keeps what a passing test prints.
fn skipped(why: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stderr(), "skipped: {why}");
}

fn run(command: &mut Command) -> Output {
    command.env("SYSTEMD_COLORS", "0").env("SYSTEMD_PAGER", "").output().unwrap()
}

fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

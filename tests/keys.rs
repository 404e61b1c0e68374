//! Choosing bins with a scanner, in a running daemon: on a serial port that is a real pseudo-terminal, and as keys of
//! an input device where this machine can make one.

#[path = "support/bench.rs"]
mod bench;
// Other tests use the rest of it.
#[allow(dead_code)]
#[path = "support/station.rs"]
mod station;

use bench::BENCH;
use bismar::command::{BinRef, Edit, Input, Order, Refusal};
use bismar::facts::{BinChange, SessionId};
use bismar::link::pty::Pty;
use bismar::measure::{Mass, Moment, Span, Stamp};
use bismar::settle::Manner;
use evdev::uinput::VirtualDevice;
use evdev::{AttributeSet, EventType, InputEvent, KeyCode};
use proptest::prelude::*;
use station::Station;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::Duration;

/// Looks until what is waited for is there: far more than any machine needs.
const LOOKS: u32 = 600;

/// A daemon with a scanner on a second port, and bins 3, 7 and 12.
struct Daemon {
    station: Station,
    scanner: Pty,
}

impl Daemon {
    fn start() -> Daemon {
        let mut scanner = None;
        let station = Station::with(|folder| {
            let link = folder.join("scanner");
            scanner = Some(Pty::open(Some(&link)).unwrap());
            format!("[[bench.keys]]\nport = {link:?}\n")
        });
        let bench = Daemon { station, scanner: scanner.unwrap() };
        bench.make_bins();
        bench.logged("keys are present", 1);
        bench
    }

    fn make_bins(&self) {
        for bin in [12, 3, 7] {
            assert_eq!(self.station.say(&format!("bin make {bin}")).code, Some(0));
        }
    }

    fn scan(&self, text: &str) {
        assert_eq!(self.scanner.write(text.as_bytes()).unwrap(), text.len());
    }

    /// Waits until `status` says so.
    fn shows(&self, wanted: &str) {
        shows(&self.station, wanted);
    }

    /// Waits until the metrics have this line.
    fn counts(&self, wanted: &str) {
        let mut metrics = String::new();
        for _ in 0..LOOKS {
            metrics = get(&self.station.address(), "/metrics");
            if metrics.lines().any(|line| line == wanted) {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("{wanted} is not in:\n{metrics}");
    }

    /// Waits until the log has so many lines with these words.
    fn logged(&self, words: &str, times: usize) {
        let found = || self.station.log().lines().filter(|line| line.contains(words)).count();
        for _ in 0..LOOKS {
            if found() >= times {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("{words:?} is not {times} times in:\n{}", self.station.log());
    }
}

fn shows(station: &Station, wanted: &str) {
    let mut said = String::new();
    for _ in 0..LOOKS {
        said = station.say("status").out;
        if said.split_whitespace().collect::<Vec<_>>().join(" ").contains(wanted) {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("{wanted:?} is not in:\n{said}\n{}", station.log());
}

#[test]
fn cards_choose_bins_and_pause_the_session() {
    let bench = Daemon::start();
    bench.scan("BIN 7\r\n");
    bench.shows("Bin 7:");
    // Quicker than the disk: each of the two counts from the one before.
    bench.scan("bismar:next\rBISMAR-NEXT\r");
    bench.shows("Bin 3:");
    // Behind this one comes no Enter; silence ends it.
    bench.scan("12");
    bench.shows("Bin 12:");

    bench.scan("BISMAR-PAUSE\r");
    bench.logged("no-session", 1);
    assert_eq!(bench.station.say("session start").code, Some(0));
    bench.scan("BISMAR-PAUSE\r");
    bench.shows("paused");
    bench.scan("BISMAR-PAUSE\r");
    bench.shows("running");

    bench.scan("BISMAR-INTAKE\r");
    bench.shows("Intake the next load");
    for (card, code) in [("4006381333931", "no-card"), ("BIN 99", "unknown-bin"), ("BISMAR-DOUBTFUL", "no-drop")] {
        bench.scan(&format!("{card}\r"));
        bench.logged(code, 1);
    }
    bench.shows("Bin 12:");
    for (name, count) in [("keys_present", 1), ("presses_total", 7), ("refused_presses_total", 4)] {
        bench.counts(&format!("bismar_{name}{{bench=\"1\",keys=\"1\"}} {count}"));
    }

    // Seven presses, seven keys, and each event stands at the moment of its press: the number within its key.
    let mut station = bench.station;
    station.stop();
    let (mut moments, mut keys) = (Vec::new(), Vec::new());
    for event in pressed(&station.books()) {
        let key = event["cause"].as_str().unwrap().to_owned();
        let at = key.rsplit('-').nth(1).unwrap().parse::<u64>().unwrap();
        assert_eq!(event["mono"], at, "{key}");
        moments.push(at);
        keys.push(key);
    }
    assert_eq!(keys.len(), 7, "{keys:?}");
    assert!(moments.is_sorted(), "{moments:?}");
    keys.sort();
    keys.dedup();
    assert_eq!(keys.len(), 7, "one key serves two presses");
}

#[test]
fn a_scanner_that_was_pulled_out_is_found_again() {
    let mut bench = Daemon::start();
    bench.scan("BIN 7\r");
    bench.shows("Bin 7:");
    bench.scan("BIN 1");
    bench.scanner.unplug();
    bench.logged("keys are absent", 1);
    bench.scanner.plug().unwrap();
    bench.logged("keys are present", 2);
    bench.scan("2\r");
    bench.logged("unknown-bin", 1);
    bench.shows("Bin 7:");
    bench.scan("3\r");
    bench.shows("Bin 3:");
}

/// Needs /dev/uinput, which neither a container nor the machine that checks each change has: there it is skipped, and
/// says so. What is decided about strokes is tested without it, beside the code; here the kernel brings them.
#[test]
fn keys_of_an_input_device_choose_bins() {
    const CODES: [KeyCode; 3] = [KeyCode::KEY_KP7, KeyCode::KEY_KPENTER, KeyCode::KEY_KPPLUS];
    let keys: AttributeSet<KeyCode> = CODES.into_iter().collect();
    let made = VirtualDevice::builder().and_then(|made| made.name("bismar-test-pad").with_keys(&keys)?.build());
    let mut pad = match made {
        Ok(pad) => pad,
        Err(fault) => {
            _ = writeln!(std::io::stderr(), "skipped: no input device can be made here ({fault})");
            return;
        }
    };
    let node = pad.enumerate_dev_nodes_blocking().unwrap().next().expect("the kernel made a node").unwrap();
    let station = Station::with(|_| format!("[[bench.keys]]\ndevice = {node:?}\nkind = \"pad\"\n"));
    let bench = Daemon { station, scanner: Pty::open(None).unwrap() };
    bench.make_bins();
    bench.logged("keys are present", 1);
    let mut tap = |key: KeyCode| {
        for value in [1, 0] {
            pad.emit(&[InputEvent::new(EventType::KEY.0, key.0, value)]).unwrap();
        }
    };
    tap(CODES[0]);
    tap(CODES[1]);
    bench.shows("Bin 7:");
    tap(CODES[2]);
    bench.shows("Bin 12:");
    let taken = evdev::Device::open(&node).unwrap().grab();
    assert!(taken.is_err(), "the pad types into other programs too");
    drop(pad);
    bench.logged("keys are absent", 1);
}

/// The events in the roll that a press caused.
fn pressed(books: &Path) -> Vec<serde_json::Value> {
    let mut files: Vec<_> = std::fs::read_dir(books.join("roll")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let text: String = files.iter().map(|file| std::fs::read_to_string(file).unwrap()).collect();
    let events = text.lines().map(|line| serde_json::from_str(line.split('\t').next().unwrap()).unwrap());
    events.filter(|event: &serde_json::Value| event["cause"].as_str().is_some_and(|key| key.starts_with("keys-"))).collect()
}

fn get(address: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    text
}

proptest! {
    /// From any bin to the next in use, and behind the last to the first.
    #[test]
    fn the_next_bin_goes_round_all_in_use(numbers in proptest::collection::btree_map(1_u32..60, any::<bool>(), 1..8)) {
        let mut bench = bench::Bench::new(Manner::Heap);
        prop_assert_eq!(bench.order(Order::ChooseNextBin), Err(Refusal::NoBin));
        for (number, retired) in numbers.iter().rev() {
            bench.make_bin(*number, None);
            let change = BinChange { retired: Some(*retired), ..BinChange::default() };
            bench.order(Order::ChangeBin { bin: BinRef(*number), change, grade: None, edit: Edit::default() }).unwrap();
        }
        let in_use: Vec<u32> = numbers.into_iter().filter(|(_, retired)| !retired).map(|(number, _)| number).collect();
        for number in in_use.iter().chain(&in_use) {
            bench.order(Order::ChooseNextBin).unwrap();
            let (chosen, _) = bench.core.books().bin_by_number(*number).unwrap();
            prop_assert_eq!(bench.core.books().bench(BENCH).chosen, Some(chosen));
        }
    }
}

#[test]
fn a_session_is_turned_on_and_off() {
    let mut bench = bench::Bench::new(Manner::Heap);
    assert_eq!(bench.order(Order::TurnSession), Err(Refusal::NoSession));
    let session = bench.order(Order::StartSession { feed: None }).unwrap().id;
    for runs in [false, true, false] {
        bench.order(Order::TurnSession).unwrap();
        let state = &bench.core.books().sessions[&SessionId(session)];
        assert_eq!(state.running.is_some(), runs);
    }
}

#[test]
fn a_press_holds_from_when_it_was_pressed() {
    for (ago, first) in [(Span::ZERO, 50), (Span::millis(1500), 0)] {
        let mut bench = bench::Bench::new(Manner::Pan);
        bench.make_bin(1, None);
        bench.make_bin(2, None);
        bench.choose(1);
        bench.rest(4000);
        bench.change(50);
        bench.rest(300);
        let pressed = Stamp { mono: Moment(bench.at.mono.0 - ago.0), ..bench.at };
        let order = Box::new(Order::ChooseNextBin);
        bench.core.step(Input::Order { bench: BENCH, key: None, order, ticket: 1 }, pressed);
        bench.rest(4000);
        bench.change(-50);
        bench.rest(4000);
        assert_eq!((bench.held(1), bench.held(2)), (Mass::grams(first), Mass::grams(50 - first)), "pressed {ago:?} ago");
    }
}

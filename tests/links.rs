//! Links that are no serial port: a bridge behind a real socket, a USB scale by its descriptor; and scales that no family
//! fits, from the configuration's pattern to a tape and back.

#[path = "support/heard.rs"]
mod heard;

use bismar::clock::Clock;
use bismar::config::{HidName, PortName};
use bismar::dialect::{Dialect, Options, Stream};
use bismar::link::hid::{Hid, Nodes, Raw};
use bismar::link::tape::Tape;
use bismar::link::{Asked, Event, Poll, Reader, Stopped, source};
use bismar::measure::Span;
use heard::{bytes, down, next, up};
use std::collections::VecDeque;
use std::io::{self, ErrorKind, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::Duration;

fn bridge() -> (TcpListener, PortName) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let name = PortName::parse(&format!("tcp://{}", listener.local_addr().unwrap())).unwrap();
    (listener, name)
}

fn reader(name: &PortName, poll: Option<Poll>) -> Reader {
    let clock = Clock::system();
    Reader::spawn(source(name, Asked { poll, ..Asked::default() }, clock), clock).unwrap()
}

#[test]
fn a_raw_bridge_passes_every_byte_in_any_pieces() {
    let (listener, name) = bridge();
    let mut reader = reader(&name, None);
    let (mut end, _) = listener.accept().unwrap();
    end.set_nodelay(true).unwrap();
    up(&mut reader);
    let all: Vec<u8> = (0..=255).cycle().take(3000).collect();
    let mut rest = &all[..];
    for size in [1, 2, 700, 3, 64].into_iter().cycle() {
        let (piece, after) = rest.split_at(rest.len().min(size));
        end.write_all(piece).unwrap();
        rest = after;
        if rest.is_empty() {
            break;
        }
    }
    assert_eq!(bytes(&mut reader, all.len()), all);
    end.set_read_timeout(Some(Duration::from_millis(300))).unwrap();
    assert_eq!(end.read(&mut [0; 8]).unwrap_err().kind(), ErrorKind::WouldBlock, "something was sent to the scale");
    assert_eq!(reader.stop(), Stopped::Ended);
}

#[test]
fn a_telnet_bridge_is_understood_and_never_answered() {
    let (listener, name) = bridge();
    let mut reader = reader(&name, None);
    let (mut end, _) = listener.accept().unwrap();
    up(&mut reader);
    end.write_all(b"\xff\xfd\x2c\xff\xfb\x03").unwrap();
    end.write_all(b"12.5\r\x00\xff\xff\xff\xfa\x2c\x6b\x01\xff\xf0ok").unwrap();
    assert_eq!(bytes(&mut reader, 8), b"12.5\r\xffok");
    end.set_read_timeout(Some(Duration::from_millis(300))).unwrap();
    assert_eq!(end.read(&mut [0; 8]).unwrap_err().kind(), ErrorKind::WouldBlock, "the greeting was answered");
}

/// Closed in order, half closed, reset: each is told, and the bridge is called again.
#[test]
fn a_lost_bridge_is_told_and_called_again() {
    let (listener, name) = bridge();
    let mut reader = reader(&name, None);
    let ways: [fn(TcpStream) -> Option<TcpStream>; 3] = [
        |end| {
            drop(end);
            None
        },
        |end| {
            end.shutdown(Shutdown::Write).unwrap();
            Some(end)
        },
        |mut end| {
            // Unread bytes at a close make it a reset.
            end.write_all(b"x").unwrap();
            rustix::net::sockopt::set_socket_linger(&end, Some(Duration::ZERO)).unwrap();
            drop(end);
            None
        },
    ];
    for (round, way) in ways.into_iter().enumerate() {
        let (mut end, _) = listener.accept().unwrap();
        up(&mut reader);
        end.write_all(b"weight\r\n").unwrap();
        assert_eq!(bytes(&mut reader, 8), b"weight\r\n", "round {round}");
        let half_open = way(end);
        let why = down(&mut reader);
        assert_eq!(why.code(), "bridge-gone", "round {round}");
        assert!(why.to_string().contains(&name.to_string()), "{why}");
        drop(half_open);
    }
    let mut end = listener.accept().unwrap().0;
    up(&mut reader);
    end.write_all(b"again").unwrap();
    assert_eq!(bytes(&mut reader, 5), b"again");
}

#[test]
fn a_bridge_that_is_not_there_is_told_and_found_later() {
    let (listener, name) = bridge();
    let address = listener.local_addr().unwrap();
    drop(listener);
    let mut reader = reader(&name, None);
    assert_eq!(down(&mut reader).code(), "no-answer");
    let listener = TcpListener::bind(address).unwrap();
    let _end = listener.accept().unwrap();
    up(&mut reader);
}

#[test]
fn a_bridge_is_asked_only_what_is_configured() {
    let (listener, name) = bridge();
    let poll = Poll { bytes: b"W\r\n".to_vec(), every: Span::millis(50) };
    let mut reader = reader(&name, Some(poll));
    let (mut end, _) = listener.accept().unwrap();
    up(&mut reader);
    let mut asked = [0; 9];
    end.read_exact(&mut asked).unwrap();
    assert_eq!(&asked, b"W\r\nW\r\nW\r\n");
}

/// Status, unit, scaling, weight: the data report of the Scales page of the HID Usage Tables, with report number 3.
const DESCRIPTOR: &[u8] = b"\x05\x8d\x09\x20\xa1\x01\x85\x03\x09\x32\xa1\x02\x09\x70\xa1\x02\x15\x01\x25\x08\x75\x08\x95\x01\
\x19\x71\x29\x78\x81\x00\xc0\x09\x50\xa1\x02\x25\x0c\x19\x51\x29\x5c\x81\x00\xc0\x09\x41\x15\x81\x25\x7f\x81\x02\
\x09\x40\x15\x00\x27\xff\xff\x00\x00\x75\x10\x81\x02\xc0\xc0";

/// A device that plays reports, then is unplugged.
#[derive(Clone, Default)]
struct Played(Arc<Mutex<VecDeque<Vec<u8>>>>);

impl Raw for Played {
    fn descriptor(&self) -> io::Result<Vec<u8>> {
        Ok(DESCRIPTOR.to_vec())
    }

    fn report(&mut self, buffer: &mut [u8]) -> io::Result<Option<usize>> {
        let report = self.0.lock().unwrap().pop_front().ok_or(io::Error::other("unplugged"))?;
        buffer[..report.len()].copy_from_slice(&report);
        Ok(Some(report.len()))
    }
}

impl Nodes for Played {
    fn with_ids(&self, vendor: u16, product: u16) -> Vec<PathBuf> {
        assert_eq!((vendor, product), (0x1a2b, 0x3c4d));
        vec!["/dev/hidraw5".into()]
    }

    fn open(&self, device: &Path) -> io::Result<Box<dyn Raw>> {
        assert_eq!(device, Path::new("/dev/hidraw5"));
        Ok(Box::new(self.clone()))
    }
}

#[test]
fn a_usb_scale_gives_its_data_reports_and_nothing_for_no_data() {
    let played = Played::default();
    let reports: [&[u8]; 5] = [&[3, 4, 11, 0xff, 0x6f, 4], &[0; 6], &[3, 4, 2, 0, 9], &[5, 1, 2, 3], &[3, 3, 12, 0xfe, 0x11, 3]];
    played.0.lock().unwrap().extend(reports.map(<[u8]>::to_vec));
    let clock = Clock::system();
    let hid = Hid::among(HidName::Ids { vendor: 0x1a2b, product: 0x3c4d }, Box::new(played));
    let mut reader = Reader::spawn(hid, clock).unwrap();
    let Event::Up { device } = next(&mut reader).event else { panic!("not open") };
    assert_eq!((device.path.to_str(), device.device.to_str()), (Some("hid:1a2b:3c4d"), Some("/dev/hidraw5")));
    assert_eq!(bytes(&mut reader, 12), [3, 4, 11, 0xff, 0x6f, 4, 3, 3, 12, 0xfe, 0x11, 3]);
    assert_eq!(down(&mut reader).code(), "gone");
}

/// A load whose reports make sense in more than one place is read all the same, since each report comes by itself; and the
/// first after opening, which may be of the weighing before, is not.
#[test]
fn the_first_report_of_a_usb_scale_is_dropped_and_no_other() {
    let played = Played::default();
    let twisted = [3, 4, 3, 0xfd, 3, 4];
    played
        .0
        .lock()
        .unwrap()
        .extend([[3, 4, 3, 0xfd, 0xff, 0], twisted, twisted, [3, 3, 3, 0xfd, 3, 4]].map(|report| report.to_vec()));
    let name = HidName::Path("/dev/hidraw5".into());
    let mut reader = Reader::spawn(Hid::among(name, Box::new(played)), Clock::system()).unwrap();
    let (mut stream, mut shown) = (Stream::new(Dialect::HidScale, Options { joined: true, ..Options::default() }), Vec::new());
    up(&mut reader);
    while let Event::Bytes(bytes) = next(&mut reader).event {
        stream.push(&bytes, &mut |reading| shown.push(reading.value.unwrap().to_string()));
    }
    assert_eq!(shown, ["1.027", "1.027", "1.027"]);
}

fn bismar(arguments: &[&str], input: &[u8]) -> (Option<i32>, String, String) {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_bismar"));
    let output = command.args(arguments).write_stdin(input).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

const OWN: &str = r"W(?<moving>\?)?(?<value>[-+ 0-9.]+)(?<unit>kg|lb)";

#[test]
fn a_pattern_is_tried_on_the_command_line() {
    let (code, told, _) = bismar(&["decode", "--pattern", OWN], b"W?-  0.120kg\r\nhello\r\nW  99999kg\r\nW  1.5lb\r\n");
    let expected = [
        r#"{"value":"-0.120","unit":"kg","kind":"unknown","stability":"motion","flags":[]}"#,
        r#"{"value":null,"unit":"-","kind":"unknown","stability":"stable","flags":["overload"]}"#,
        r#"{"value":"1.5","unit":"lb","kind":"unknown","stability":"stable","flags":[]}"#,
    ];
    assert_eq!((code, told.lines().collect::<Vec<_>>()), (Some(0), expected.to_vec()));
    let (_, ends, _) = bismar(&["decode", "--pattern", OWN, "--ends", r"\x03"], b"W 1.5lb\x03W 2.5lb\x03");
    assert_eq!(ends.lines().count(), 2);
    let (code, _, why) = bismar(&["decode", "--pattern", "kg"], b"");
    assert_eq!(code, Some(1));
    assert!(why.contains("no part named value"), "{why}");
    assert_eq!(bismar(&["decode", "--pattern", OWN, "--dialect", "letter-reply"], b"").0, Some(2));
}

#[test]
fn a_bench_with_a_pattern_is_recorded_and_replayed_without_being_told_again() {
    let folder = tempfile::tempdir().unwrap();
    let tape = folder.path().join("own.tape");
    let (listener, name) = bridge();
    let (name, file) = (name.to_string(), tape.to_str().unwrap());
    let feed = std::thread::spawn(move || {
        let (mut end, _) = listener.accept().unwrap();
        // Until the recording has had its seconds.
        for line in 0.. {
            let grams = if line < 30 { 0 } else { 250 };
            if end.write_all(format!("W  0,{grams:03}kg\r\n").as_bytes()).is_err() {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    });
    let pattern = OWN.replace("0-9.", "0-9,");
    let arguments = ["record", &name, "-o", file, "--pattern", &pattern, "--comma", "--division", "1g", "--seconds", "6"];
    let (code, _, why) = bismar(&arguments, b"");
    assert_eq!(code, Some(0), "{why}");
    feed.join().unwrap();
    let recorded = Tape::parse(&std::fs::read_to_string(&tape).unwrap()).unwrap();
    let with = concat!("bismar ", env!("CARGO_PKG_VERSION"));
    let header = [("tape", "1"), ("pattern", &pattern), ("comma", "true"), ("division", "1g"), ("recorded with", with)];
    for (key, value) in header.into_iter().chain([("device", "serial bridge over TCP")]) {
        assert_eq!(recorded.value(key), Some(value), "{key}");
    }
    assert_eq!(recorded.value("line"), None, "the bridge has the line");
    let (code, steps, why) = bismar(&["replay", file, "--json"], b"");
    assert_eq!(code, Some(0), "{why}");
    assert!(steps.contains(r#""act":"added","grams":"250""#), "{steps}");
}

/// A tape with `NAME.steps` beside it, the output of `bismar replay NAME.tape --json`, is a test by itself.
#[test]
fn every_tape_with_steps_beside_it_replays_to_them() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/tapes");
    let mut tried = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let steps = entry.unwrap().path();
        if steps.extension().is_none_or(|ending| ending != "steps") {
            continue;
        }
        let tape = steps.with_extension("tape");
        let output = Command::new(env!("CARGO_BIN_EXE_bismar")).arg("replay").arg(&tape).arg("--json").output().unwrap();
        assert!(output.status.success(), "{}: {}", tape.display(), String::from_utf8_lossy(&output.stderr));
        let told = String::from_utf8(output.stdout).unwrap();
        assert_eq!(told, std::fs::read_to_string(&steps).unwrap(), "{}", tape.display());
        tried += 1;
    }
    assert!(tried > 0);
}

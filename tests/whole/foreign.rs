//! Scales of other kinds beside a whole daemon: one written by strangers' means, one behind a bridge, one that must be
//! asked and answers late or not, one with seven bits, parity and a decimal comma.

use super::cable::landed;
use super::daemon::Daemon;
use super::scratch::{Scratch, until};
use super::web::Web;
use bismar::dialect::{Dialect, Flags, Options, ReadUnit, Reading, Stability, encode};
use bismar::link::pty::Pty;
use bismar::measure::{Displayed, Unit};
use serde_json::json;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

fn settled(web: &Web, shown: &str) {
    until(shown, || {
        let live = &web.json("/v1/benches/1")["live"];
        (live["shown"] == shown && live["settled"] == true).then_some(())
    });
}

fn landed_are(web: &Web, expected: &[&str]) {
    until(&format!("{expected:?}"), || (landed(web) == expected).then_some(()));
}

/// A bin is chosen and set down, and two pieces land in it.
fn weighs(web: &Web, put: &mut dyn FnMut(i64)) {
    web.done("POST", "/v1/bins", &json!({ "number": 4 }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 4 }));
    settled(web, "0.000");
    put(900);
    until("the bin is set down", || (web.json("/v1/bins/4")["tare"]["grams"] == "900").then_some(()));
    put(120);
    landed_are(web, &["120"]);
    put(75);
    landed_are(web, &["120", "75"]);
}

/// A scale on a thread: what `turn` does with the load in grams, again and again.
struct Talker {
    grams: Arc<AtomicI64>,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Talker {
    fn start(mut turn: impl FnMut(i64) + Send + 'static) -> Talker {
        let (grams, ended) = (Arc::new(AtomicI64::new(0)), Arc::new(AtomicBool::new(false)));
        let (load, end) = (Arc::clone(&grams), Arc::clone(&ended));
        let thread = std::thread::spawn(move || {
            while !end.load(Ordering::Relaxed) {
                turn(load.load(Ordering::Relaxed));
            }
        });
        Talker { grams, ended, thread: Some(thread) }
    }

    fn put(&self, grams: i64) {
        self.grams.fetch_add(grams, Ordering::Relaxed);
    }
}

impl Drop for Talker {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            _ = thread.join();
        }
    }
}

fn frame(dialect: Dialect, grams: i64) -> Vec<u8> {
    let reading = Reading {
        value: Some(Displayed { count: grams, exponent: -3 }),
        unit: ReadUnit::Stated(Unit::Kilogram),
        kind: dialect.facts().says.kinds[0],
        stability: Stability::Stable,
        ..Reading::without_weight(Flags::default())
    };
    let mut bytes = Vec::new();
    encode(dialect, &reading, &Options::default(), &mut bytes).unwrap();
    bytes
}

struct Stranger {
    child: Child,
    path: PathBuf,
}

impl Stranger {
    /// `None` where no Python here knows pyserial.
    fn start() -> Option<Stranger> {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/support/scale.py");
        let knows = |python: &&str| {
            let asked = Command::new(python).args(["-c", "import serial"]).stderr(Stdio::null()).status();
            asked.is_ok_and(|status| status.success())
        };
        let python = ["python3", "/usr/bin/python3"].into_iter().find(|python| knows(python))?;
        let mut child = Command::new(python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let mut path = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut path).unwrap();
        Some(Stranger { child, path: path.trim().into() })
    }

    fn put(&mut self, grams: i64) {
        writeln!(self.child.stdin.as_mut().unwrap(), "put {grams}").unwrap();
    }
}

impl Drop for Stranger {
    fn drop(&mut self) {
        _ = self.child.kill();
        _ = self.child.wait();
    }
}

#[test]
fn a_scale_written_by_other_means_is_weighed() {
    let Some(mut stranger) = Stranger::start() else {
        assert!(std::env::var_os("BISMAR_CI").is_none(), "python3-serial is missing");
        eprintln!("skipped: there is no python3 with pyserial");
        return;
    };
    let scratch = Scratch::at(&stranger.path.display().to_string(), "division = \"1 g\"");
    let daemon = Daemon::start(&scratch);
    weighs(&daemon.web(), &mut |grams| stranger.put(grams));
}

#[test]
fn a_scale_behind_a_bridge_is_weighed_over_a_lost_connection() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.set_nonblocking(true).unwrap();
    let address = format!("tcp://{}", listener.local_addr().unwrap());
    let cut = Arc::new(AtomicBool::new(false));
    let (asked, mut line) = (Arc::clone(&cut), None);
    let scale = Talker::start(move |grams| {
        if asked.swap(false, Ordering::Relaxed) {
            line = None;
        }
        match &mut line {
            None => line = listener.accept().ok().map(|(stream, _)| stream),
            // In two pieces that do not end where frames end.
            Some(stream) => {
                let frame = frame(Dialect::HeaderComma, grams);
                let (head, tail) = frame.split_at(7);
                if stream.write_all(tail).and_then(|()| stream.write_all(head)).is_err() {
                    line = None;
                }
            }
        }
        std::thread::sleep(Duration::from_millis(50));
    });
    let scratch = Scratch::at(&address, "division = \"1 g\"");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    weighs(&web, &mut |grams| scale.put(grams));
    for round in 0..2 {
        cut.store(true, Ordering::Relaxed);
        until("the loss is told", || (daemon.said().matches("bridge-gone").count() == round + 1).then_some(()));
        settled(&web, "1.095");
        assert_eq!(landed(&web), ["120", "75"], "round {round}");
    }
    scale.put(33);
    landed_are(&web, &["120", "75", "33"]);
    assert_eq!(web.json("/v1/bins/4")["mass"]["grams"], "228");
}

/// Of three requests one is answered, and that after the next one has been sent.
#[test]
fn a_scale_that_answers_late_or_not_is_weighed() {
    let scratch = Scratch::new("dialect = \"letter-reply\"\npoll_ms = 60\ndivision = \"1 g\"");
    let pty = Pty::open(Some(&scratch.scale())).unwrap();
    let request = Dialect::LetterReply.facts().poll.unwrap();
    let (mut heard, mut asked) = (Vec::new(), 0);
    let scale = Talker::start(move |grams| {
        let mut buffer = [0; 64];
        let count = pty.read(&mut buffer, Duration::from_millis(20)).unwrap();
        heard.extend_from_slice(&buffer[..count]);
        while heard.starts_with(request) {
            heard.drain(..request.len());
            asked += 1;
            if asked % 3 == 0 {
                std::thread::sleep(Duration::from_millis(100));
                pty.write(&frame(Dialect::LetterReply, grams)).unwrap();
            }
        }
        assert!(heard.len() < request.len(), "something else than the request came: {heard:?}");
    });
    let daemon = Daemon::start(&scratch);
    weighs(&daemon.web(), &mut |grams| scale.put(grams));
}

#[test]
fn seven_bits_with_parity_and_a_decimal_comma_are_weighed_as_configured() {
    let scratch = Scratch::new("line = \"9600 7E1\"\ncomma = true\ndivision = \"1 g\"");
    let pty = Pty::open(Some(&scratch.scale())).unwrap();
    let scale = Talker::start(move |grams| {
        // A pseudo-terminal passes all eight bits, so the parity bit arrives, as from an adapter set to eight.
        let line = format!("ST,GS,+{:4},{:03}kg\r\n", grams / 1000, grams % 1000);
        let even = |byte: u8| byte | (byte.count_ones() as u8 & 1) << 7;
        pty.write(&line.bytes().map(even).collect::<Vec<_>>()).unwrap();
        std::thread::sleep(Duration::from_millis(50));
    });
    let daemon = Daemon::start(&scratch);
    weighs(&daemon.web(), &mut |grams| scale.put(grams));
}

/// One line a load, when it has come to rest, and nothing else; read by a pattern of one's own.
#[test]
fn a_scale_that_prints_once_a_load_is_weighed_by_a_pattern() {
    let own = "division = \"1 g\"\n[bench.pattern]\nframe = 'No\\. *\\d+ +(?<value>[-0-9.]+) (?<unit>kg) (?<stable>#)?'";
    let scratch = Scratch::new(own);
    let pty = Pty::open(Some(&scratch.scale())).unwrap();
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/bins", &json!({ "number": 4 }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 4 }));
    daemon.scale("silent");
    let mut number = 0;
    let mut print = |grams: i64| {
        number += 1;
        pty.write(format!("No.{number:3}  {:4}.{:03} kg #\r\n", grams / 1000, grams % 1000).as_bytes()).unwrap();
        // The pace of hands.
        std::thread::sleep(Duration::from_millis(2500));
    };
    // The first line after opening may be a cut one, so it counts for nothing.
    [0, 0, 900].into_iter().for_each(&mut print);
    until("the bin is set down", || (web.json("/v1/bins/4")["tare"]["grams"] == "900").then_some(()));
    [1020, 1095].into_iter().for_each(&mut print);
    landed_are(&web, &["120", "75"]);
}

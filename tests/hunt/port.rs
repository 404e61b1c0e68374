//! On a real pseudo-terminal: a scale that speaks at its own speed, whatever the port is set to.

use crate::speaker::{frames, weighing};
use crate::uart::{Frame, Wire};
use bismar::clock::Clock;
use bismar::dialect::Dialect;
use bismar::link::pty::Pty;
use bismar::link::{Listener, Why};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// A scale that sends its frames ten times a second until it is dropped; the port hears them as a port at the speed that
/// the listener has set would. With a request it answers that and is silent otherwise.
struct Scale {
    stop: Arc<AtomicBool>,
    thread: Option<std::thread::JoinHandle<Vec<u8>>>,
    path: PathBuf,
}

impl Scale {
    fn new(frames: Vec<Vec<u8>>, speed: u32, frame: Frame, request: Option<&'static [u8]>) -> Scale {
        let pty = Pty::open(None).unwrap();
        let path = pty.path().to_owned();
        let stop = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&stop);
        let thread = std::thread::spawn(move || {
            let mut heard = Vec::new();
            for text in frames.iter().cycle() {
                if flag.load(Ordering::Relaxed) {
                    break;
                }
                let mut buffer = [0; 64];
                let count = pty.read(&mut buffer, Duration::from_millis(100)).unwrap();
                heard.extend_from_slice(&buffer[..count]);
                if request.is_some_and(|request| &buffer[..count] != request) {
                    continue;
                }
                let wire = Wire::plain(speed, pty.speed().unwrap(), frame);
                let bytes: Vec<u8> = wire.receive(text).iter().map(|char| char.byte).collect();
                pty.write(&bytes).unwrap();
            }
            heard
        });
        Scale { stop, thread: Some(thread), path }
    }

    /// Ends it, and tells what was sent to it.
    fn end(mut self) -> Vec<u8> {
        self.stop.store(true, Ordering::Relaxed);
        self.thread.take().unwrap().join().unwrap()
    }
}

impl Drop for Scale {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

fn find(port: &Path, state: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bismar"));
    command.arg("find").arg(port).args(arguments).env_remove("STATE_DIRECTORY").env("XDG_STATE_HOME", state);
    command.stdin(Stdio::null()).output().unwrap()
}

fn said(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

#[test]
fn a_scale_at_another_speed_is_found_written_down_and_remembered() {
    let state = tempfile::tempdir().unwrap();
    let file = state.path().join("bismar.toml");
    let scale = Scale::new(weighing(Dialect::HeaderComma), 2400, Frame::SevenEven, None);
    let first = find(&scale.path, state.path(), &["--yes", "--write", file.to_str().unwrap()]);
    let (_, told) = said(&first);
    assert!(first.status.success(), "{told}");
    assert!(told.contains("4 times too fast"), "{told}");
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains("dialect = \"header-comma\"\nline = \"2400 7E1\""), "{text}");
    assert!(bismar::config::parse(&text, |_| None).is_ok(), "{text}");

    let again = find(&scale.path, state.path(), &["--yes"]);
    let (section, told) = said(&again);
    assert!(again.status.success() && told.contains(" at 2400 8N1"), "{told}");
    assert!(!told.contains("too fast"), "it was to begin where it ended: {told}");
    assert!(section.contains("line = \"2400 7E1\""), "{section}");

    let twice = find(&scale.path, state.path(), &["--yes", "--write", file.to_str().unwrap()]);
    assert!(!twice.status.success() && said(&twice).1.contains("already"), "{}", said(&twice).1);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
    assert_eq!(scale.end(), b"", "something was sent to the scale");
}

#[test]
fn nobody_answers_and_nothing_is_written() {
    let state = tempfile::tempdir().unwrap();
    let scale = Scale::new(weighing(Dialect::LetterReply), 9600, Frame::EightNone, None);
    let output = find(&scale.path, state.path(), &[]);
    let (section, told) = said(&output);
    assert!(!output.status.success() && section.is_empty() && told.contains("--yes"), "{told}");
    assert!(told.contains("Does the display show"), "{told}");
}

#[test]
fn plain_numbers_need_a_known_weight() {
    let state = tempfile::tempdir().unwrap();
    let scale = Scale::new(frames(Dialect::BareNumber, [1234]), 4800, Frame::EightNone, None);
    let without = find(&scale.path, state.path(), &["--yes"]);
    assert!(!without.status.success(), "{}", said(&without).0);
    let wrong = find(&scale.path, state.path(), &["--weight", "12.35 kg"]);
    assert!(!wrong.status.success(), "{}", said(&wrong).0);
    let other = find(&scale.path, state.path(), &["--weight", "12.34 kg", "--dialect", "header-comma"]);
    assert!(!other.status.success() && said(&other).1.contains("header-comma does not fit"), "{}", said(&other).1);
    let named = find(&scale.path, state.path(), &["--weight", "12.34 kg", "--dialect", "bare-number"]);
    assert!(named.status.success(), "{}", said(&named).1);
    let right = find(&scale.path, state.path(), &["--weight", "12.34 kg"]);
    let (section, told) = said(&right);
    assert!(right.status.success(), "{told}");
    assert!(section.contains("dialect = \"bare-number\"\nline = \"4800 8N1\"\nunit = \"kg\""), "{section}");
}

#[test]
fn a_silent_scale_is_left_alone_unless_asking_is_allowed() {
    let state = tempfile::tempdir().unwrap();
    let scale = Scale::new(weighing(Dialect::LfStatusChars), 9600, Frame::EightNone, Some(b"W\r"));
    let quiet = find(&scale.path, state.path(), &["--yes", "--seconds", "4"]);
    let (_, told) = said(&quiet);
    assert!(!quiet.status.success() && told.contains("print key"), "{told}");
    assert_eq!(scale.end(), b"");

    let scale = Scale::new(weighing(Dialect::LfStatusChars), 9600, Frame::EightNone, Some(b"W\r"));
    let asked = find(&scale.path, state.path(), &["--yes", "--ask"]);
    let (section, told) = said(&asked);
    assert!(asked.status.success(), "{told}");
    assert!(section.contains("dialect = \"lf-status-chars\"") && section.contains("poll_ms"), "{section}");
    let heard = scale.end();
    assert!(heard.starts_with(b"\x05W\rW\r"), "{}", heard.escape_ascii());
    assert_eq!(heard.iter().filter(|byte| **byte == b'S').count(), 0, "{}", heard.escape_ascii());
}

#[test]
fn a_port_that_cannot_be_had_is_told() {
    let state = tempfile::tempdir().unwrap();
    let missing = find(Path::new("/dev/no-such-port"), state.path(), &[]);
    assert!(!missing.status.success() && said(&missing).1.contains("is not there"), "{}", said(&missing).1);
    let pty = Pty::open(None).unwrap();
    let open = || Listener::open(&pty.path().into(), false, Clock::system());
    let _held = open().unwrap();
    assert!(matches!(open(), Err(Why::Busy { .. })));
    let busy = find(pty.path(), state.path(), &[]);
    assert!(!busy.status.success() && said(&busy).1.contains("in use"), "{}", said(&busy).1);
}

//! Real pseudo-terminals: what a reader sees when cables are pulled, ports are taken and bytes lie about.

#[path = "support/heard.rs"]
mod heard;

use bismar::clock::Clock;
use bismar::link::player::{Cue, Playing, play};
use bismar::link::pty::Pty;
use bismar::link::tape::{Body, Tape};
use bismar::link::{Event, Poll, Reader, Ring, Serial, Settings, Source, Stopped, Why};
use bismar::measure::{Moment, Span};
use bismar::settle::Manner;
use bismar::sim::{Scale, Scenario, Script, Setup, Truth, What};
use heard::{PATIENCE, bytes, down, next, up};
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::AtomicBool;
use std::time::Duration;

fn reader(path: &Path) -> Reader {
    let clock = Clock::system();
    Reader::spawn(Serial::new(Settings::new(path), clock), clock).unwrap()
}

#[test]
fn every_byte_passes_unchanged() {
    let pty = Pty::open(None).unwrap();
    let mut reader = reader(pty.path());
    up(&mut reader);
    // Control codes too: a line that is not raw would turn, swallow or act on some of them.
    let all: Vec<u8> = (0..=255).cycle().take(2048).collect();
    assert_eq!(pty.write(&all).unwrap(), all.len());
    assert_eq!(bytes(&mut reader, all.len()), all);
    assert_eq!(reader.stop(), Stopped::Ended);
}

#[test]
fn a_plain_reader_gets_the_same_bytes_and_nothing_is_echoed() {
    use std::io::Read;
    let pty = Pty::open(None).unwrap();
    let mut plain = std::fs::File::open(pty.path()).unwrap();
    let sent = b"\x02-8  123\r\n\x04\x03";
    pty.write(sent).unwrap();
    let (tell, told) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut got = [0; 12];
        plain.read_exact(&mut got).unwrap();
        tell.send(got).unwrap();
    });
    assert_eq!(&told.recv_timeout(PATIENCE).expect("the bytes are held back"), sent);
    let mut got = [0; 12];
    assert_eq!(pty.read(&mut got, Duration::from_millis(100)).unwrap(), 0, "the scale hears itself");
}

#[test]
fn moments_are_of_the_reading_and_rise() {
    let clock = Clock::system();
    let pty = Pty::open(None).unwrap();
    let mut reader = reader(pty.path());
    let before = clock.mono();
    up(&mut reader);
    let mut last = Moment(0);
    for _ in 0..5 {
        pty.write(b"12.5\r\n").unwrap();
        let mut count = 0;
        while count < 6 {
            let item = next(&mut reader);
            assert!(item.at >= last && item.at <= clock.mono());
            last = item.at;
            if let Event::Bytes(some) = item.event {
                count += some.len();
            }
        }
    }
    assert!(last > before);
    assert!(reader.heartbeat() >= before);
}

#[test]
fn a_pulled_cable_is_told_and_found_again_without_old_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("scale");
    let mut pty = Pty::open(Some(&link)).unwrap();
    let mut reader = reader(&link);
    up(&mut reader);
    pty.write(b"before\n").unwrap();
    assert_eq!(bytes(&mut reader, 7), b"before\n");
    for round in 0..2 {
        pty.unplug();
        assert!(!link.exists());
        assert_eq!(down(&mut reader).code(), "gone", "round {round}");
        pty.plug().unwrap();
        up(&mut reader);
        pty.write(b"after\n").unwrap();
        assert_eq!(bytes(&mut reader, 6), b"after\n");
    }
    drop(pty);
    assert_eq!(down(&mut reader).code(), "gone");
    assert_eq!(down(&mut reader), Why::Missing { path: link });
}

#[test]
fn what_lay_in_the_port_before_it_was_opened_is_dropped() {
    let pty = Pty::open(None).unwrap();
    pty.write(b"stale 99.9 kg\r\nhalf of a li").unwrap();
    let mut reader = reader(pty.path());
    up(&mut reader);
    pty.write(b"fresh\n").unwrap();
    assert_eq!(bytes(&mut reader, 6), b"fresh\n");
}

#[test]
fn a_port_in_use_a_missing_port_and_no_port_are_told_apart() {
    let pty = Pty::open(None).unwrap();
    let path = pty.path().to_owned();
    let mut holder = reader(&path);
    up(&mut holder);
    assert_eq!(down(&mut reader(&path)), Why::Busy { path: path.clone() });

    let folder = tempfile::tempdir().unwrap();
    let none = folder.path().join("none");
    assert_eq!(down(&mut reader(&none)), Why::Missing { path: none });
    let file = folder.path().join("file");
    std::fs::write(&file, "").unwrap();
    assert_eq!(down(&mut reader(&file)), Why::NotTty { path: file });
    let device = Path::new("/dev/null");
    assert_eq!(down(&mut reader(device)), Why::NotTty { path: device.into() });
}

#[test]
fn a_port_that_becomes_free_is_taken() {
    let pty = Pty::open(None).unwrap();
    let mut holder = reader(pty.path());
    up(&mut holder);
    let mut waiting = reader(pty.path());
    assert_eq!(down(&mut waiting).code(), "busy");
    assert_eq!(holder.stop(), Stopped::Ended);
    up(&mut waiting);
    pty.write(b"mine\n").unwrap();
    assert_eq!(bytes(&mut waiting, 5), b"mine\n");
}

#[test]
fn stopping_does_not_wait_for_a_byte() {
    let pty = Pty::open(None).unwrap();
    let mut listening = reader(pty.path());
    up(&mut listening);
    assert_eq!(listening.stop(), Stopped::Ended);
    let mut searching = reader(Path::new("/dev/does-not-exist"));
    assert_eq!(down(&mut searching).code(), "missing");
    assert_eq!(searching.stop(), Stopped::Ended);
}

/// A read that never returns, as some drivers have after an unplugging.
struct Stuck(std::sync::mpsc::Receiver<()>);

impl Source for Stuck {
    fn open(&mut self) -> Result<bismar::link::Identity, Why> {
        Ok(bismar::link::Identity { path: "stuck".into(), device: "stuck".into(), better: None })
    }

    fn read(&mut self, _: &mut [u8]) -> Result<bismar::link::Got, Why> {
        // Ends only with the test.
        _ = self.0.recv();
        Ok(bismar::link::Got::Quiet)
    }

    fn close(&mut self) {}
}

#[test]
fn a_read_that_hangs_is_abandoned_and_seen_by_its_heartbeat() {
    let clock = Clock::system();
    let (release, gate) = std::sync::mpsc::channel();
    let mut reader = Reader::spawn(Stuck(gate), clock).unwrap();
    up(&mut reader);
    let stands = (0..100).any(|_| {
        let beat = reader.heartbeat();
        std::thread::sleep(Duration::from_millis(300));
        reader.heartbeat() == beat
    });
    assert!(stands, "the heart beats although the loop stands still");
    assert_eq!(reader.stop(), Stopped::Abandoned);
    drop(release);
}

#[test]
fn a_quiet_port_has_a_beating_heart_and_tells_of_silence_once() {
    let pty = Pty::open(None).unwrap();
    let mut reader = reader(pty.path());
    up(&mut reader);
    let beat = reader.heartbeat();
    let Event::Silence { since } = next(&mut reader).event else { panic!("no silence") };
    assert!(since >= Span::seconds(3));
    assert!(reader.heartbeat().since(beat) >= Span::seconds(2));
    assert_eq!(reader.recv_within(Duration::from_secs(4)), None, "silence is told again");
    pty.write(b"x").unwrap();
    assert_eq!(bytes(&mut reader, 1), b"x");
    assert!(matches!(next(&mut reader).event, Event::Silence { .. }));
}

#[test]
fn a_slow_taker_loses_the_oldest_and_is_told() {
    let clock = Clock::system();
    let pty = Pty::open(None).unwrap();
    let serial = Serial::new(Settings::new(pty.path()), clock);
    let mut reader = Reader::with_ring(serial, clock, Ring::new(64, 200)).unwrap();
    up(&mut reader);
    let lines: Vec<u8> = (0..100).flat_map(|number| format!("line {number:03}\n").into_bytes()).collect();
    // In pieces, with the reader's heart as the sign that each was read.
    for line in lines.chunks(9) {
        pty.write(line).unwrap();
        let beat = reader.heartbeat();
        let asked = clock.mono();
        while reader.heartbeat() == beat {
            assert!(clock.mono().since(asked) < Span::seconds(30), "the heart stands still");
            std::thread::yield_now();
        }
    }
    pty.write(b"end").unwrap();
    let (mut lost, mut kept) = (0, Vec::new());
    while !kept.ends_with(b"end") {
        match next(&mut reader).event {
            Event::Gap { lost: count } => {
                assert!(kept.is_empty(), "a gap in the middle");
                lost += count as usize;
            }
            Event::Bytes(some) => kept.extend(some),
            other => panic!("{other:?}"),
        }
    }
    assert!(lost > 0, "nothing was lost, so nothing was tested");
    assert_eq!([&lines[..], b"end"].concat()[lost..], kept[..]);
}

#[test]
fn nothing_is_sent_to_the_scale_unless_it_must_be_asked() {
    let pty = Pty::open(None).unwrap();
    let clock = Clock::system();
    let mut listening = reader(pty.path());
    up(&mut listening);
    let mut buffer = [0; 16];
    assert_eq!(pty.read(&mut buffer, Duration::from_millis(500)).unwrap(), 0);
    listening.stop();

    let poll = Some(Poll { bytes: b"Q\r\n".to_vec(), every: Span::millis(50) });
    let serial = Serial::new(Settings { poll, ..Settings::new(pty.path()) }, clock);
    let mut asking = Reader::spawn(serial, clock).unwrap();
    let mut asked = Vec::new();
    while asked.len() < 9 {
        let count = pty.read(&mut buffer, PATIENCE).unwrap();
        assert!(count > 0, "it does not ask");
        asked.extend_from_slice(&buffer[..count]);
    }
    assert!(asked.starts_with(b"Q\r\nQ\r\nQ\r\n"));
    up(&mut asking);
}

#[test]
fn a_scale_that_must_be_asked_answers_what_it_shows_at_that_time() {
    let mut pty = Pty::open(None).unwrap();
    let clock = Clock::system();
    let poll = Poll { bytes: b"W".to_vec(), every: Span::millis(30) };
    let serial = Serial::new(Settings { poll: Some(poll.clone()), ..Settings::new(pty.path()) }, clock);
    let mut reader = Reader::spawn(serial, clock).unwrap();
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let cues = (0..2000_u64).map(|n| (Moment(n * 20_000_000), Cue::Hold(format!("{n:05}\n").into_bytes())));
        let playing = Playing { clock, speed: 1.0, poll: Some(poll.bytes.clone()) };
        let (pty, stop) = (&mut pty, &stop);
        scope.spawn(move || play(pty, cues, &playing, stop, |_, _| {}).unwrap());
        up(&mut reader);
        let text = String::from_utf8(bytes(&mut reader, 60)).unwrap();
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
        let numbers: Vec<u32> = text.lines().take(10).map(|line| line.parse().unwrap()).collect();
        assert_eq!(numbers.len(), 10);
        assert!(numbers.is_sorted() && numbers[0] < numbers[9], "{numbers:?}");
    });
}

#[test]
fn playing_tells_what_was_sent_and_ends_with_its_cues() {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("scale");
    let mut pty = Pty::open(Some(&link)).unwrap();
    let mut reader = reader(&link);
    up(&mut reader);
    let cues = [
        Cue::Send(b"one".to_vec()),
        Cue::Note("choose 3".into()),
        Cue::Send(b"two".to_vec()),
        Cue::Unplug,
        Cue::Send(b"nobody hears this".to_vec()),
        Cue::Plug,
    ];
    let timed = cues.clone().into_iter().enumerate().map(|(index, cue)| (Moment(index as u64 * 2_000_000_000), cue));
    let playing = Playing { clock: Clock::system(), speed: 10.0, poll: None };
    let mut sent = Vec::new();
    play(&mut pty, timed, &playing, &AtomicBool::new(false), |_, cue| sent.push(cue.clone())).unwrap();
    assert_eq!(sent, cues);
    assert_eq!(bytes(&mut reader, 6), b"onetwo");
    assert_eq!(down(&mut reader).code(), "gone");
    up(&mut reader);
}

#[test]
fn the_time_of_the_cues_stands_still_while_a_command_is_heard() {
    let mut pty = Pty::open(None).unwrap();
    let clock = Clock::system();
    let cues = [
        (Moment(0), Cue::Note("choose 3".into())),
        (Moment(40_000_000), Cue::Send(b"one".to_vec())),
        (Moment(80_000_000), Cue::Send(b"two".to_vec())),
    ];
    let command = Duration::from_millis(200);
    let playing = Playing { clock, speed: 1.0, poll: None };
    let (start, mut moments) = (clock.mono(), Vec::new());
    play(&mut pty, cues.into_iter(), &playing, &AtomicBool::new(false), |at, cue| match cue {
        Cue::Note(_) => std::thread::sleep(command),
        _ => moments.push((at, clock.mono().since(start))),
    })
    .unwrap();
    assert_eq!(moments.len(), 2);
    // A late machine makes these later, never earlier.
    for (at, waited) in moments {
        assert!(waited >= Span(at.0 + command.as_nanos() as u64), "{at:?} was played after {waited:?}");
    }
}

#[test]
fn a_link_never_replaces_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.txt");
    std::fs::write(&path, "mine").unwrap();
    assert!(Pty::open(Some(&path)).is_err());
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
}

#[tokio::test]
async fn the_daemon_waits_without_a_thread() {
    let pty = Pty::open(None).unwrap();
    let mut reader = reader(pty.path());
    assert!(matches!(reader.recv().await.unwrap().event, Event::Up { .. }));
    pty.write(b"abc").unwrap();
    let mut got = Vec::new();
    while got.len() < 3 {
        if let Event::Bytes(some) = reader.recv().await.unwrap().event {
            got.extend(some);
        }
    }
    assert_eq!(got, b"abc");
    drop(pty);
    assert!(matches!(reader.recv().await.unwrap().event, Event::Down { .. }));
}

fn bismar() -> Command {
    Command::new(env!("CARGO_BIN_EXE_bismar"))
}

#[test]
fn simulate_plays_its_script_and_writes_tape_and_truth() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let text = "manner = \"heap\"\n[scale]\nrate = 20\n[[do]]\nat = 1\nchoose = 2\n[[do]]\nat = 2\nplace = \"500 g\"\n[[do]]\nat = 6\ndrop = \"62.4 g\"\n";
    std::fs::write(file("s.toml"), text).unwrap();
    let mut command = bismar();
    command.args(["simulate", "--once", "--speed", "50", "--seed", "3", "--scenario"]).arg(file("s.toml"));
    command.arg("--truth").arg(file("truth.json")).arg("--tape").arg(file("s.tape")).arg("--link").arg(file("scale"));
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let first = String::from_utf8(output.stdout).unwrap().lines().next().map(str::to_owned);
    assert_eq!(first.as_deref(), file("scale").to_str());
    assert!(file("scale").symlink_metadata().is_err(), "the link outlives the program");

    let scenario = Scenario::parse(text, 3).unwrap();
    let truth = Truth::of(&scenario.setup, &scenario.script, 3);
    assert_eq!(std::fs::read_to_string(file("truth.json")).unwrap(), truth.to_json() + "\n");
    let tape = Tape::parse(&std::fs::read_to_string(file("s.tape")).unwrap()).unwrap();
    assert_eq!(tape.value("division"), Some("1g"));
    let expected = Scale::new(scenario.setup, scenario.script, 3).unwrap().filter_map(|frame| match frame.what {
        What::Sent { bytes, .. } => Some((frame.at, Body::Bytes(bytes))),
        What::Control(words) => Some((frame.at, Body::Control(words))),
        _ => None,
    });
    // A tape keeps microseconds.
    let expected: Vec<_> = expected.map(|(at, body)| (Moment(at.0 / 1000 * 1000), body)).collect();
    assert_eq!(tape.chunks.into_iter().map(|chunk| (chunk.at, chunk.body)).collect::<Vec<_>>(), expected);
}

#[test]
fn record_writes_what_simulate_sends_until_both_are_told_to_end() {
    let folder = tempfile::tempdir().unwrap();
    let tape = folder.path().join("r.tape");
    let mut simulate = bismar().args(["simulate", "--speed", "20", "--seed", "5"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut lines = BufReader::new(simulate.stdout.take().unwrap()).lines();
    let path = lines.next().unwrap().unwrap();
    let mut record = bismar();
    record.args(["record", &path, "--dialect", "header-comma", "--division", "1g", "--frame", "7E1", "-o"]).arg(&tape);
    let mut record = record.stderr(Stdio::null()).spawn().unwrap();
    let text = || std::fs::read_to_string(&tape).unwrap_or_default();
    let waited = (0..300).any(|_| {
        std::thread::sleep(Duration::from_millis(100));
        text().lines().count() > 100
    });
    for child in [&mut record, &mut simulate] {
        let process = rustix::process::Pid::from_child(child);
        rustix::process::kill_process(process, rustix::process::Signal::TERM).unwrap();
        assert!(child.wait().unwrap().success());
    }
    assert!(waited, "nothing was recorded");
    let recorded = Tape::parse(&text()).unwrap();
    for (key, value) in [("tape", "1"), ("dialect", "header-comma"), ("line", "9600 7E1"), ("division", "1g")] {
        assert_eq!(recorded.value(key), Some(value));
    }
    let bytes = |body: Body| if let Body::Bytes(bytes) = body { bytes } else { Vec::new() };
    let recorded: Vec<u8> = recorded.chunks.into_iter().flat_map(|chunk| bytes(chunk.body)).collect();
    let sent = Scale::new(Setup::default(), Script::session(5, 12, Manner::Heap), 5).unwrap().endless().take(10_000);
    let sent: Vec<u8> =
        sent.filter_map(|frame| if let What::Sent { bytes, .. } = frame.what { Some(bytes) } else { None }).flatten().collect();
    assert!(sent.windows(recorded.len()).any(|window| window == recorded), "the tape differs from what was sent");
}

//! What the whole chain costs: a release daemon beside a scale of 80 frames a second.
//!
//! `cargo bench --bench chain [-- SECONDS]`. Shares are of one core, from the kernel's own account of the process.

use bismar::clock::Clock;
use bismar::link::player::{Cue, Playing, play};
use bismar::link::pty::Pty;
use bismar::settle::Manner;
use bismar::sim::{Scale, Script, Setup, What};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

const RATE: u32 = 80;

fn main() {
    // cargo passes --bench; a number is how many seconds each stretch lasts.
    let seconds = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(10);
    let stretch = Duration::from_secs(seconds);
    let dir = tempfile::tempdir().expect("a directory to work in");
    let link = dir.path().join("scale");
    let mut pty = Pty::open(Some(&link)).expect("a pseudo-terminal");
    let mut daemon = Daemon::start(dir.path(), &link);
    println!("{seconds} s each                  readings       CPU       RSS   goal");
    std::thread::sleep(Duration::from_secs(1));
    measure("a silent scale", &daemon, stretch, "under 20 MB");

    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let setup = Setup { rate: RATE, ..Setup::default() };
            let frames = Scale::new(setup, Script::session(1, 400, Manner::Heap), 1).expect("a scale").endless();
            let cues = frames.filter_map(|frame| match frame.what {
                What::Sent { bytes, .. } => Some((frame.at, Cue::Send(bytes))),
                _ => None,
            });
            play(&mut pty, cues, &Playing { clock: Clock::system(), speed: 1.0, poll: None }, &stop, |_, _| {}).expect("a line");
        });
        std::thread::sleep(Duration::from_secs(2));
        measure("nobody looks", &daemon, stretch, "under 2 %, 20 MB");
        let page = daemon.look();
        measure("one live page", &daemon, stretch, "under 2 %, 20 MB");
        drop(page);
        stop.store(true, Ordering::Relaxed);
    });
    daemon.child.kill().and_then(|()| daemon.child.wait()).expect("the daemon ends");
}

struct Daemon {
    child: Child,
    address: String,
}

impl Daemon {
    fn start(dir: &Path, link: &Path) -> Daemon {
        let (store, socket) = (dir.join("books"), dir.join("sock"));
        let text = format!(
            "[store]\ndirectory = {store:?}\n[http]\nlisten = \"127.0.0.1:0\"\nsocket = {socket:?}\n[[bench]]\nport = {link:?}\n"
        );
        std::fs::write(dir.join("bismar.toml"), text).expect("a configuration");
        let mut command = Command::new(env!("CARGO_BIN_EXE_bismar"));
        command.arg("serve").arg("--config").arg(dir.join("bismar.toml")).env("RUST_LOG", "info").stderr(Stdio::piped());
        let mut child = command.spawn().expect("the daemon");
        let mut lines = BufReader::new(child.stderr.take().expect("a pipe")).lines();
        let found = lines.by_ref().map_while(Result::ok).find_map(|line| {
            line.split_once(" ready address=").map(|(_, after)| after.split(' ').next().unwrap_or_default().to_owned())
        });
        std::thread::spawn(move || lines.for_each(drop));
        Daemon { child, address: found.expect("an address") }
    }

    fn ask(&self, path: &str) -> TcpStream {
        let mut line = TcpStream::connect(&self.address).expect("a connection");
        write!(line, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.address).expect("a request");
        line
    }

    /// A page that looks on: it takes whatever comes.
    fn look(&self) -> TcpStream {
        let line = self.ask("/v1/benches/1/live");
        let mut taken = line.try_clone().expect("a second handle");
        std::thread::spawn(move || while taken.read(&mut [0; 4096]).is_ok_and(|count| count > 0) {});
        line
    }

    /// How many readings it has decoded so far.
    fn readings(&self) -> f64 {
        let mut text = String::new();
        self.ask("/metrics").read_to_string(&mut text).expect("an answer");
        let line = text.lines().find(|line| line.starts_with("bismar_readings_total"));
        line.and_then(|line| line.rsplit(' ').next()?.parse().ok()).unwrap_or(0.0)
    }
}

fn measure(name: &str, daemon: &Daemon, stretch: Duration, goal: &str) {
    let (read, before, start) = (daemon.readings(), cpu(daemon.child.id()), Instant::now());
    std::thread::sleep(stretch);
    let (after, seconds) = (cpu(daemon.child.id()), start.elapsed().as_secs_f64());
    let (share, rate) = ((after - before) / seconds * 100.0, (daemon.readings() - read) / seconds);
    println!("{name:24} {rate:6.1}/s {share:8.2} %  {:6.1} MB   {goal}", resident(daemon.child.id()));
}

/// Seconds that its threads ran, to the nanosecond (proc_pid_schedstat(5)): what stat counts in ticks misses most of a
/// program that runs for some microseconds at a time.
fn cpu(pid: u32) -> f64 {
    let threads = std::fs::read_dir(format!("/proc/{pid}/task")).expect("a running process");
    let run = |thread: std::fs::DirEntry| {
        let text = std::fs::read_to_string(thread.path().join("schedstat")).ok()?;
        text.split(' ').next()?.parse::<u64>().ok()
    };
    threads.flatten().filter_map(run).sum::<u64>() as f64 / 1e9
}

fn resident(pid: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{pid}/status")).expect("a running process");
    let line = text.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap_or_default();
    line.trim_end_matches("kB").trim().parse::<f64>().unwrap_or_default() / 1000.0
}

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
    let (mut daemon, address) = start(dir.path(), &link);
    let pid = daemon.id();
    println!("the daemon, release, over {seconds} s each            CPU share     RSS       goal");
    std::thread::sleep(Duration::from_secs(1));
    measure("no frames, nobody looks", pid, stretch, "under 20 MB");

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
        measure("80 frames a second, nobody looks", pid, stretch, "under 2 %, 20 MB");
        let page = stream(&address);
        measure("80 frames a second, one live page", pid, stretch, "under 2 %, 20 MB");
        drop(page);
        stop.store(true, Ordering::Relaxed);
    });
    daemon.kill().and_then(|()| daemon.wait()).expect("the daemon ends");
}

fn start(dir: &Path, link: &Path) -> (Child, String) {
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
    (child, found.expect("an address"))
}

/// A page that looks on: it takes whatever comes.
fn stream(address: &str) -> TcpStream {
    let mut line = TcpStream::connect(address).expect("a connection");
    write!(line, "GET /v1/benches/1/live HTTP/1.1\r\nHost: {address}\r\n\r\n").expect("a request");
    let mut taken = line.try_clone().expect("a second handle");
    std::thread::spawn(move || while taken.read(&mut [0; 4096]).is_ok_and(|count| count > 0) {});
    line
}

fn measure(name: &str, pid: u32, stretch: Duration, goal: &str) {
    let (before, start) = (cpu(pid), Instant::now());
    std::thread::sleep(stretch);
    let share = (cpu(pid) - before) / start.elapsed().as_secs_f64() * 100.0;
    println!("{name:44} {share:8.2} %  {:6.1} MB  {goal}", resident(pid));
}

/// Seconds of user and system time (proc_pid_stat(5), fields 14 and 15).
fn cpu(pid: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{pid}/stat")).expect("a running process");
    let fields: Vec<&str> = text.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let ticks: u64 = [fields[11], fields[12]].iter().filter_map(|field| field.parse::<u64>().ok()).sum();
    ticks as f64 / rustix::param::clock_ticks_per_second() as f64
}

fn resident(pid: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{pid}/status")).expect("a running process");
    let line = text.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap_or_default();
    line.trim_end_matches("kB").trim().parse::<f64>().unwrap_or_default() / 1000.0
}

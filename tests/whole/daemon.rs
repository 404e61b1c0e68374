//! The binary as a child process.

use super::scratch::{PATIENCE, Scratch, until};
use super::web::Web;
use rustix::process::{Pid, Signal, kill_process};
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

pub struct Daemon {
    child: Child,
    address: SocketAddr,
    said: Arc<Mutex<String>>,
    listening: Option<JoinHandle<()>>,
}

pub fn bismar() -> Command {
    Command::new(env!("CARGO_BIN_EXE_bismar"))
}

impl Daemon {
    pub fn start(scratch: &Scratch) -> Daemon {
        Daemon::start_with(scratch, |_| {})
    }

    /// Starts `serve` and waits until it takes requests.
    pub fn start_with(scratch: &Scratch, more: impl FnOnce(&mut Command)) -> Daemon {
        let mut command = bismar();
        command.arg("serve").arg("--config").arg(scratch.config()).env("RUST_LOG", "info");
        command.env_remove("NOTIFY_SOCKET").env_remove("JOURNAL_STREAM").stdin(Stdio::null()).stderr(Stdio::piped());
        more(&mut command);
        let mut child = command.spawn().unwrap();
        let (found, address) = channel();
        let said = Arc::new(Mutex::new(String::new()));
        let (kept, lines) = (Arc::clone(&said), BufReader::new(child.stderr.take().unwrap()).lines());
        let listening = std::thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if let Some((_, after)) = line.split_once(" ready address=") {
                    let address: SocketAddr = after.split(' ').next().unwrap().parse().unwrap();
                    _ = found.send(address);
                }
                kept.lock().unwrap().push_str(&(line + "\n"));
            }
        });
        let Ok(address) = address.recv_timeout(PATIENCE) else {
            _ = child.kill();
            panic!("the daemon did not start: {}", said.lock().unwrap());
        };
        Daemon { child, address, said, listening: Some(listening) }
    }

    pub fn web(&self) -> Web {
        Web::Port(self.address)
    }

    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// What it said on standard error so far.
    pub fn said(&self) -> String {
        self.said.lock().unwrap().clone()
    }

    /// Waits until the bench's scale is `present`, `silent` or `absent`.
    pub fn scale(&self, state: &str) {
        let web = self.web();
        until(state, || (web.json("/v1/benches/1")["live"]["scale"] == state).then_some(()));
    }

    /// kill -9.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Asks it to stop and gives how it ended, how long that took, and all that it said.
    pub fn stop(mut self) -> (ExitStatus, Duration, String) {
        let start = Instant::now();
        kill_process(Pid::from_child(&self.child), Signal::TERM).unwrap();
        let status = until("the daemon stops", || self.child.try_wait().unwrap());
        let took = start.elapsed();
        self.listening.take().into_iter().for_each(|thread| thread.join().unwrap());
        (status, took, self.said())
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // It is gone already after a stop or a kill.
        _ = self.child.kill();
        _ = self.child.wait();
    }
}

//! A daemon with books of its own and a scale that is not there.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;

/// Tries for the daemon to answer, far more than any machine needs.
const TRIES: u32 = 600;

/// What a process said, and how it ended.
#[derive(Debug)]
pub struct Said {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

pub struct Station {
    folder: TempDir,
    daemon: Child,
}

impl Station {
    /// Starts a daemon and waits until it answers.
    pub fn start() -> Station {
        Station::with(|_| String::new())
    }

    /// The same with more lines under its bench; they may name paths in its folder.
    pub fn with(more: impl FnOnce(&Path) -> String) -> Station {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let text = format!(
            "currency = \"USD\"\n[store]\ndirectory = {:?}\n[http]\nlisten = \"127.0.0.1:0\"\nsocket = {:?}\n[[bench]]\nport = {:?}\nunit = \"kg\"\ndivision = \"1 g\"\n",
            at("books"),
            at("socket"),
            at("no-scale")
        );
        std::fs::write(at("bismar.toml"), text + &more(folder.path())).unwrap();
        let log = File::create(at("log")).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_bismar"));
        let daemon =
            command.arg("serve").arg("--config").arg(at("bismar.toml")).stdin(Stdio::null()).stderr(log).spawn().unwrap();
        let mut station = Station { folder, daemon };
        for _ in 0..TRIES {
            if station.say("status").code == Some(0) {
                return station;
            }
            assert!(station.daemon.try_wait().unwrap().is_none(), "the daemon ended: {}", station.log());
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("the daemon does not answer: {}", station.log());
    }

    /// Runs a verb beside this daemon. Words stand apart by a space.
    pub fn say(&self, words: &str) -> Said {
        let socket = self.socket().display().to_string();
        let words: Vec<&str> = words.split_whitespace().chain(["--at", &socket]).collect();
        // What names a place itself is left alone.
        let named = words.iter().filter(|word| **word == "--at").count() > 1;
        bismar(&words[..words.len() - if named { 2 } else { 0 }])
    }

    /// Ends the daemon as systemd does, and waits for it.
    pub fn stop(&mut self) {
        let pid = rustix::process::Pid::from_child(&self.daemon);
        rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
        let ended = self.daemon.wait().unwrap();
        assert!(ended.success(), "{ended}: {}", self.log());
    }

    pub fn pid(&self) -> u32 {
        self.daemon.id()
    }

    /// The address of its port, as it tells in its log.
    pub fn address(&self) -> String {
        let log = self.log();
        let address = log.split("address=").nth(1).and_then(|rest| rest.split_whitespace().next());
        address.unwrap_or_else(|| panic!("no address in {log}")).to_owned()
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn config(&self) -> PathBuf {
        self.folder().join("bismar.toml")
    }

    pub fn books(&self) -> PathBuf {
        self.folder().join("books")
    }

    pub fn socket(&self) -> PathBuf {
        self.folder().join("socket")
    }

    pub fn log(&self) -> String {
        std::fs::read_to_string(self.folder().join("log")).unwrap()
    }
}

impl Drop for Station {
    fn drop(&mut self) {
        // It may have ended already.
        _ = self.daemon.kill();
        _ = self.daemon.wait();
    }
}

/// Runs the program, in no service and with no daemon named.
pub fn bismar(words: &[&str]) -> Said {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bismar"));
    for variable in ["BISMAR_AT", "RUNTIME_DIRECTORY", "STATE_DIRECTORY"] {
        command.env_remove(variable);
    }
    let output = command.args(words).stdin(Stdio::null()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Said { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

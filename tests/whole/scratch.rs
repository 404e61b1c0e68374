//! What a made-up bench needs: a folder, a configuration, a moment to wait.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// Long enough for any machine: only a hang takes so long.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// The folder of one daemon: configuration, store, socket and the scale's stable path.
pub struct Scratch {
    folder: TempDir,
}

impl Scratch {
    /// `bench` are further lines under `[[bench]]`.
    pub fn new(bench: &str) -> Scratch {
        let scratch = Scratch { folder: tempfile::tempdir().unwrap() };
        scratch.configure(&scratch.scale().display().to_string(), bench);
        scratch
    }

    /// The same with the scale somewhere else.
    pub fn at(port: &str, bench: &str) -> Scratch {
        let scratch = Scratch { folder: tempfile::tempdir().unwrap() };
        scratch.configure(port, bench);
        scratch
    }

    fn configure(&self, port: &str, bench: &str) {
        let [store, socket] = [self.store(), self.socket()];
        let text = format!(
            "zone = \"Europe/Lisbon\"\ncurrency = \"EUR\"\n[store]\ndirectory = {store:?}\n\
             [http]\nlisten = \"127.0.0.1:0\"\nsocket = {socket:?}\nnames = [\"bench.local\"]\n\
             [[bench]]\nport = {port:?}\n{bench}\n"
        );
        std::fs::write(self.config(), text).unwrap();
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn config(&self) -> PathBuf {
        self.path().join("bismar.toml")
    }

    pub fn store(&self) -> PathBuf {
        self.path().join("books")
    }

    pub fn socket(&self) -> PathBuf {
        self.path().join("bismar.sock")
    }

    pub fn scale(&self) -> PathBuf {
        self.path().join("scale")
    }
}

/// Asks again and again until there is an answer; `what` is told when there never is.
pub fn until<T>(what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
    let start = Instant::now();
    loop {
        if let Some(answer) = ask() {
            return answer;
        }
        assert!(start.elapsed() < PATIENCE, "waited in vain: {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

//! The demo's person speaks to the daemon as every client does: HTTP over the Unix socket.

use anyhow::{Context, bail};
use std::io::{Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

pub struct Daemon {
    socket: PathBuf,
}

impl Daemon {
    pub fn at(socket: &Path) -> Daemon {
        Daemon { socket: socket.to_owned() }
    }

    pub fn get(&self, path: &str) -> anyhow::Result<String> {
        self.ask("GET", path, "")
    }

    pub fn post(&self, path: &str, body: &str) -> anyhow::Result<()> {
        self.ask("POST", path, body).map(drop)
    }

    pub fn put(&self, path: &str, body: &str) -> anyhow::Result<()> {
        self.ask("PUT", path, body).map(drop)
    }

    fn ask(&self, method: &str, path: &str, body: &str) -> anyhow::Result<String> {
        let mut stream = UnixStream::connect(&self.socket)?;
        stream.set_read_timeout(Some(Duration::from_secs(10)))?;
        let length = body.len();
        write!(
            stream,
            "{method} {path} HTTP/1.0\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        )?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        let (head, body) = answer.split_once("\r\n\r\n").context("the daemon's answer was cut short")?;
        let status = head.split(' ').nth(1).unwrap_or_default();
        if !status.starts_with('2') {
            bail!("{method} {path}: {status} {body}");
        }
        Ok(body.to_owned())
    }
}

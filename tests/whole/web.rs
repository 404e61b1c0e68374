//! Plain HTTP/1.1 over either door, byte for byte as a test wants it: a browser's library would not send a wrong Host.

use super::scratch::PATIENCE;
use serde_json::Value;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};

/// Where the daemon is asked.
#[derive(Debug, Clone)]
pub enum Web {
    Port(SocketAddr),
    Socket(PathBuf),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value.as_str())
    }

    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|fault| panic!("{fault}: {self:?}"))
    }

    /// The stable end of a problem's type.
    pub fn problem(&self) -> String {
        assert_eq!(self.header("content-type"), Some("application/problem+json"), "{self:?}");
        let problem = self.json();
        assert_eq!(problem["status"], self.status, "{self:?}");
        assert!(problem["title"].is_string() && problem["detail"].is_string(), "{self:?}");
        let kind = problem["type"].as_str().unwrap();
        kind.strip_prefix("urn:bismar:problem:").unwrap_or_else(|| panic!("{kind}")).to_owned()
    }
}

trait Line: Read + Write + Send {}
impl<T: Read + Write + Send> Line for T {}

impl Web {
    pub fn socket(path: &Path) -> Web {
        Web::Socket(path.to_owned())
    }

    fn connect(&self) -> io::Result<Box<dyn Line>> {
        match self {
            Web::Port(address) => {
                let stream = TcpStream::connect(address)?;
                stream.set_read_timeout(Some(PATIENCE))?;
                Ok(Box::new(stream))
            }
            Web::Socket(path) => {
                let stream = UnixStream::connect(path)?;
                stream.set_read_timeout(Some(PATIENCE))?;
                Ok(Box::new(stream))
            }
        }
    }

    pub fn host(&self) -> String {
        match self {
            Web::Port(address) => address.to_string(),
            Web::Socket(_) => "localhost".to_owned(),
        }
    }

    /// One request with these headers; Host, Content-Length and Connection are filled in where they are not given.
    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> io::Result<Answer> {
        let mut line = self.connect()?;
        line.write_all(&self.head(method, path, headers, body))?;
        // A daemon that refuses a large body answers before it has read all of it.
        _ = line.write_all(body);
        let mut bytes = Vec::new();
        match line.read_to_end(&mut bytes) {
            Err(fault) if bytes.is_empty() => return Err(fault),
            _ => {}
        }
        parse(&bytes).ok_or_else(|| io::Error::new(io::ErrorKind::UnexpectedEof, "the answer is not whole"))
    }

    fn head(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
        let mut head = format!("{method} {path} HTTP/1.1\r\n");
        let given = |name: &str| headers.iter().any(|(known, _)| known.eq_ignore_ascii_case(name));
        if !given("host") {
            head += &format!("Host: {}\r\n", self.host());
        }
        if !body.is_empty() || method != "GET" {
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        head += "Connection: close\r\n\r\n";
        head.into_bytes()
    }

    pub fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], b"").unwrap_or_else(|fault| panic!("GET {path}: {fault}"))
    }

    pub fn json(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {answer:?}");
        answer.json()
    }

    /// A write as JSON.
    pub fn write(&self, method: &str, path: &str, body: &Value) -> Answer {
        self.write_with(method, path, &[], body)
    }

    pub fn write_with(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &Value) -> Answer {
        let answer = self.try_write(method, path, headers, body);
        answer.unwrap_or_else(|fault| panic!("{method} {path}: {fault}"))
    }

    /// The same where the daemon may be gone.
    pub fn try_write(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &Value) -> io::Result<Answer> {
        let all: Vec<_> = [("Content-Type", "application/json")].iter().chain(headers).copied().collect();
        self.send(method, path, &all, body.to_string().as_bytes())
    }

    /// A write that must do something now; gives the receipt.
    pub fn done(&self, method: &str, path: &str, body: &Value) -> Value {
        let answer = self.write(method, path, body);
        assert_eq!(answer.status, 201, "{method} {path} {body}: {answer:?}");
        answer.json()
    }

    /// Where the books stand.
    pub fn seq(&self) -> u64 {
        self.json("/v1/reports/yard-run.json")["seq"].as_u64().unwrap()
    }

    /// The states of a live stream as they come; the channel ends with the stream.
    pub fn live(&self, path: &str) -> Receiver<Value> {
        let mut line = self.connect().unwrap();
        line.write_all(&self.head("GET", path, &[("Accept", "text/event-stream")], b"")).unwrap();
        let (sender, receiver) = channel();
        std::thread::spawn(move || {
            for text in BufReader::new(line).lines().map_while(Result::ok) {
                let Some(data) = text.strip_prefix("data:") else { continue };
                if sender.send(serde_json::from_str(data).unwrap()).is_err() {
                    return;
                }
            }
        });
        receiver
    }
}

fn parse(bytes: &[u8]) -> Option<Answer> {
    let end = bytes.windows(4).position(|window| window == b"\r\n\r\n")?;
    let head = std::str::from_utf8(&bytes[..end]).ok()?;
    let mut lines = head.split("\r\n");
    let status = lines.next()?.split(' ').nth(1)?.parse().ok()?;
    let headers = lines.filter_map(|line| line.split_once(':')).map(|(name, value)| (name.to_owned(), value.trim().to_owned()));
    let mut answer = Answer { status, headers: headers.collect(), body: String::new() };
    let rest = &bytes[end + 4..];
    let body = match (answer.header("transfer-encoding"), answer.header("content-length")) {
        (Some("chunked"), _) => unchunked(rest)?,
        (_, Some(length)) => rest.get(..length.parse().ok()?)?.to_vec(),
        _ => rest.to_vec(),
    };
    answer.body = String::from_utf8(body).ok()?;
    Some(answer)
}

fn unchunked(mut rest: &[u8]) -> Option<Vec<u8>> {
    let mut whole = Vec::new();
    loop {
        let end = rest.windows(2).position(|window| window == b"\r\n")?;
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..end]).ok()?, 16).ok()?;
        if size == 0 {
            return Some(whole);
        }
        rest = &rest[end + 2..];
        whole.extend(rest.get(..size)?);
        rest = rest.get(size + 2..)?;
    }
}

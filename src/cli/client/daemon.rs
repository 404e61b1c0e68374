//! Speaking HTTP to the daemon, one question at a time, over its Unix socket or its port.

use super::at::At;
use http_body_util::{BodyExt, Full, Limited};
use hyper::body::Bytes;
use hyper::client::conn::http1;
use hyper::header::{CONTENT_TYPE, HOST, IF_MATCH};
use hyper::{Method, Request, StatusCode};
use hyper_util::rt::TokioIo;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::io;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpStream, UnixStream};
use tokio::runtime::Runtime;

/// From connecting to the last byte of the answer. The daemon answers a write when it is on the disk.
const PATIENCE: Duration = Duration::from_secs(20);
/// Before a write is sent a second time: a daemon that was just restarted needs a moment.
const PAUSE: Duration = Duration::from_millis(500);
/// Ten thousand drops, the most that one list has, are a few megabytes.
const ANSWER_MAX: usize = 64 << 20;

/// Why there is no good answer.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error("no daemon answers at {at} ({source}): start it with `bismar serve --config FILE`, or say where it is with --at")]
    NotThere { at: At, source: io::Error },
    #[error("{at} is not open to you: its owner and its group may speak to the daemon; join the group bismar and log in again")]
    Barred { at: At },
    #[error("the daemon at {at} went away before it answered ({why})")]
    Broken { at: At, why: String },
    #[error("the daemon at {at} did not answer within {} seconds", PATIENCE.as_secs())]
    Slow { at: At },
    /// The detail of its problem document.
    #[error("{0}")]
    Refused(String),
    #[error("what answers at {at} does not speak as this program's daemon does ({why}): are both of one version?")]
    Strange { at: At, why: String },
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// What a write did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub struct Receipt {
    /// The identity of what was made or done.
    pub id: u64,
    /// False when it was so already.
    pub made_now: bool,
}

/// The daemon at one place. Every call blocks until its answer is there.
pub struct Daemon {
    at: At,
    runtime: Runtime,
}

struct Question<'a> {
    method: Method,
    path: &'a str,
    body: Option<String>,
    /// Of the body.
    kind: &'static str,
    key: Option<String>,
    seen: Option<u64>,
}

const JSON: &str = "application/json";

fn fresh_key() -> String {
    format!("cli-{:032x}", rand::random::<u128>())
}

impl Daemon {
    pub fn at(at: At) -> Result<Daemon, Fault> {
        Ok(Daemon { at, runtime: tokio::runtime::Builder::new_current_thread().enable_all().build()? })
    }

    /// Asks for what lies at `path`.
    pub fn get<T: DeserializeOwned>(&self, path: &str) -> Result<T, Fault> {
        let question = Question { method: Method::GET, path, body: None, kind: JSON, key: None, seen: None };
        self.read(&self.ask(&question)?)
    }

    /// Asks for no more than whether it is well there.
    pub fn well(&self, path: &str) -> Result<(), Fault> {
        self.ask(&Question { method: Method::GET, path, body: None, kind: JSON, key: None, seen: None }).map(|_| ())
    }

    pub fn post(&self, path: &str, body: &Value) -> Result<Receipt, Fault> {
        self.write(Method::POST, path, body, None)
    }

    /// Hands in a table.
    pub fn table<T: DeserializeOwned>(&self, path: &str, table: &str) -> Result<T, Fault> {
        let key = Some(format!("cli-{:032x}", rand::random::<u128>()));
        let body = Some(table.to_owned());
        self.read(&self.ask(&Question { method: Method::POST, path, body, kind: "text/csv", key, seen: None })?)
    }

    pub fn put(&self, path: &str, body: &Value) -> Result<Receipt, Fault> {
        self.write(Method::PUT, path, body, None)
    }

    /// Changes what was at version `seen`; it is refused when somebody has changed it since.
    pub fn patch(&self, path: &str, body: &Value, seen: Option<u64>) -> Result<Receipt, Fault> {
        self.write(Method::PATCH, path, body, seen)
    }

    /// Sends a text of another kind as a write of its own, and gives what is answered.
    pub fn send<T: DeserializeOwned>(&self, path: &str, kind: &'static str, text: &str) -> Result<T, Fault> {
        let question =
            Question { method: Method::POST, path, body: Some(text.to_owned()), kind, key: Some(fresh_key()), seen: None };
        self.read(&self.ask_twice(&question)?)
    }

    /// A write carries a key of its own. When the connection breaks nobody knows whether it was done; the same key makes
    /// asking a second time safe.
    fn write(&self, method: Method, path: &str, body: &Value, seen: Option<u64>) -> Result<Receipt, Fault> {
        let question = Question { method, path, body: Some(body.to_string()), kind: JSON, key: Some(fresh_key()), seen };
        self.read(&self.ask_twice(&question)?)
    }

    fn ask_twice(&self, question: &Question<'_>) -> Result<Bytes, Fault> {
        match self.ask(question) {
            Err(Fault::Broken { at, why }) => {
                std::thread::sleep(PAUSE);
                self.ask(question).map_err(|fault| match fault {
                    Fault::NotThere { .. } => {
                        Fault::Broken { at, why: format!("{why}; it may have been done all the same: look before you repeat it") }
                    }
                    other => other,
                })
            }
            other => other,
        }
    }

    fn read<T: DeserializeOwned>(&self, answer: &Bytes) -> Result<T, Fault> {
        serde_json::from_slice(answer).map_err(|fault| self.strange(fault))
    }

    fn strange(&self, why: impl std::fmt::Display) -> Fault {
        Fault::Strange { at: self.at.clone(), why: why.to_string() }
    }

    fn ask(&self, question: &Question<'_>) -> Result<Bytes, Fault> {
        let answered = async {
            match &self.at {
                At::Socket(path) => {
                    self.speak(UnixStream::connect(path).await.map_err(|source| self.away(source))?, question).await
                }
                At::Port(address) => {
                    self.speak(TcpStream::connect(address).await.map_err(|source| self.away(source))?, question).await
                }
            }
        };
        let limited = async { tokio::time::timeout(PATIENCE, answered).await };
        self.runtime.block_on(limited).unwrap_or_else(|_| Err(Fault::Slow { at: self.at.clone() }))
    }

    fn away(&self, source: io::Error) -> Fault {
        let at = self.at.clone();
        if source.kind() == io::ErrorKind::PermissionDenied { Fault::Barred { at } } else { Fault::NotThere { at, source } }
    }

    async fn speak<S>(&self, stream: S, question: &Question<'_>) -> Result<Bytes, Fault>
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let broken = |fault: hyper::Error| Fault::Broken { at: self.at.clone(), why: fault.to_string() };
        // Behind the socket nobody looks at the host; the port answers for this name always.
        let mut request = Request::builder().method(&question.method).uri(question.path).header(HOST, "localhost");
        if question.body.is_some() {
            request = request.header(CONTENT_TYPE, question.kind);
        }
        if let Some(key) = &question.key {
            request = request.header("idempotency-key", key);
        }
        if let Some(seen) = question.seen {
            request = request.header(IF_MATCH, format!("\"{seen}\""));
        }
        let body = Full::new(Bytes::from(question.body.clone().unwrap_or_default()));
        let request = request.body(body).map_err(|fault| self.strange(fault))?;
        let (mut sender, connection) = http1::handshake(TokioIo::new(stream)).await.map_err(broken)?;
        // What goes wrong with the connection is told by the request on it.
        tokio::spawn(connection);
        let (head, body) = sender.send_request(request).await.map_err(broken)?.into_parts();
        let body = Limited::new(body, ANSWER_MAX).collect().await;
        let body = body.map_err(|fault| Fault::Broken { at: self.at.clone(), why: fault.to_string() })?.to_bytes();
        if head.status.is_success() { Ok(body) } else { Err(self.refused(head.status, &body)) }
    }

    fn refused(&self, status: StatusCode, body: &[u8]) -> Fault {
        #[derive(Deserialize)]
        struct Problem {
            detail: String,
        }
        match serde_json::from_slice::<Problem>(body) {
            Ok(problem) => Fault::Refused(problem.detail),
            Err(_) => self.strange(status),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};
    use std::os::unix::net::UnixListener;
    use std::path::Path;

    /// A daemon that hangs up after the first `breaks` requests without an answer; it gives back what it was sent.
    fn fickle(path: &Path, breaks: usize, answer: &'static str) -> std::thread::JoinHandle<Vec<String>> {
        let listener = UnixListener::bind(path).unwrap();
        std::thread::spawn(move || {
            let mut heard = Vec::new();
            for turn in 0..=breaks {
                let (mut stream, _) = listener.accept().unwrap();
                let mut request = Vec::new();
                while !request.ends_with(b"}") {
                    let mut some = [0; 1024];
                    let count = stream.read(&mut some).unwrap();
                    assert_ne!(count, 0, "the request ended early");
                    request.extend_from_slice(&some[..count]);
                }
                heard.push(String::from_utf8(request).unwrap());
                if turn == breaks {
                    let head = "HTTP/1.1 201 Created\r\ncontent-length:";
                    write!(stream, "{head} {}\r\n\r\n{answer}", answer.len()).unwrap();
                }
            }
            heard
        })
    }

    fn key(request: &str) -> &str {
        request.lines().find_map(|line| line.strip_prefix("idempotency-key: ")).expect("a key")
    }

    #[test]
    fn a_broken_write_is_sent_again_under_its_own_key() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sock");
        let server = fickle(&path, 1, r#"{"id":7,"seq":9,"made_now":true}"#);
        let daemon = Daemon::at(At::Socket(path)).unwrap();
        let receipt = daemon.post("/v1/bins", &serde_json::json!({"number": 3})).unwrap();
        assert_eq!(receipt, Receipt { id: 7, made_now: true });
        let heard = server.join().unwrap();
        assert_eq!(key(&heard[0]), key(&heard[1]));
        assert!(heard[1].starts_with("POST /v1/bins HTTP/1.1\r\n") && heard[1].ends_with("{\"number\":3}"), "{}", heard[1]);
    }

    #[test]
    fn a_write_is_not_sent_a_third_time() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sock");
        let server = fickle(&path, 2, "");
        let daemon = Daemon::at(At::Socket(path.clone())).unwrap();
        let fault = daemon.put("/v1/benches/1/bin", &serde_json::json!({})).unwrap_err();
        assert!(matches!(fault, Fault::Broken { .. }), "{fault}");
        // Another write is another key; it also lets the server end.
        _ = daemon.post("/v1/bins", &serde_json::json!({}));
        let heard = server.join().unwrap();
        assert_ne!(key(&heard[1]), key(&heard[2]));
    }
}

//! Where the daemon is.

use crate::config::{SOCKET_NAME, default_socket};
use std::fmt;
use std::path::{Path, PathBuf};

/// The directory that the service's unit has made for it.
const SERVICE_DIRECTORY: &str = "/run/bismar";

/// The daemon's Unix socket, or its address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum At {
    Socket(PathBuf),
    /// Host and port.
    Port(String),
}

impl At {
    /// The place that was named, else the usual one: this user's daemon, or the service's where only that one is there.
    pub fn or_usual(named: Option<At>, variable: impl Fn(&str) -> Option<String>) -> At {
        named.unwrap_or_else(|| {
            let own = default_socket(variable);
            let service = Path::new(SERVICE_DIRECTORY).join(SOCKET_NAME);
            At::Socket(if !own.exists() && service.exists() { service } else { own })
        })
    }

    /// Reads `127.0.0.1:8737`, `http://bench.local:8737` or the path of a socket.
    pub fn parse(text: &str) -> Result<At, String> {
        let usage = "name the daemon's socket by its path, or its address with a port, as in 127.0.0.1:8737";
        if text.starts_with("https://") {
            return Err("the daemon does not speak https; write http:// and the address".into());
        }
        let bare = text.strip_prefix("http://").map(|rest| rest.trim_end_matches('/'));
        if bare.is_none() && (text.contains('/') || !text.contains(':')) {
            return if text.is_empty() { Err(usage.into()) } else { Ok(At::Socket(PathBuf::from(text))) };
        }
        let address = bare.unwrap_or(text);
        let port = address.rsplit_once(':').filter(|(host, _)| !host.is_empty()).and_then(|(_, port)| port.parse::<u16>().ok());
        port.map(|_| At::Port(address.to_owned())).ok_or_else(|| usage.into())
    }
}

impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            At::Socket(path) => path.display().fmt(f),
            At::Port(address) => address.fmt(f),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_and_an_address_are_told_apart() {
        assert_eq!(At::parse("/run/bismar/bismar.sock"), Ok(At::Socket("/run/bismar/bismar.sock".into())));
        assert_eq!(At::parse("here.sock"), Ok(At::Socket("here.sock".into())));
        assert_eq!(At::parse("127.0.0.1:8737"), Ok(At::Port("127.0.0.1:8737".into())));
        assert_eq!(At::parse("http://bench.local:80/"), Ok(At::Port("bench.local:80".into())));
        assert_eq!(At::parse("[::1]:8737"), Ok(At::Port("[::1]:8737".into())));
        for bad in ["", "localhost:", ":8737", "http://bench.local", "127.0.0.1:99999", "https://bench.local:8737"] {
            assert!(At::parse(bad).is_err(), "{bad}");
        }
    }
}

//! How the place is named from which a scale's bytes come.

use std::path::PathBuf;

/// A device, a serial bridge in the network, or a USB scale that needs no serial line.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum PortName {
    /// A serial port, best by a link that stays with it: `/dev/serial/by-id/…`.
    Device(PathBuf),
    /// `tcp://host:port`.
    Tcp(Bridge),
    /// `hid:/dev/…`, or `hid:` with the four hexadecimal digits of vendor and of product: `hid:1a2b:3c4d`.
    Hid(HidName),
}

/// The address of a bridge: a name or an address, an IPv6 one without its brackets.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bridge {
    pub host: String,
    pub port: u16,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum HidName {
    Path(PathBuf),
    /// Whatever is plugged in with these ids.
    Ids {
        vendor: u16,
        product: u16,
    },
}

impl PortName {
    /// Reads a name; the error says what would do.
    pub fn parse(text: &str) -> Result<PortName, String> {
        if let Some(address) = text.strip_prefix("tcp:") {
            let usage = "must be like \"tcp://192.168.1.20:4001\", with the port that the bridge listens at";
            return address.strip_prefix("//").and_then(bridge).map(PortName::Tcp).ok_or_else(|| usage.to_owned());
        }
        if let Some(name) = text.strip_prefix("hid:") {
            let usage = "must be like \"hid:/dev/bismar/scale\", or \"hid:1a2b:3c4d\" with the ids of vendor and product";
            return hid(name).map(PortName::Hid).ok_or_else(|| usage.to_owned());
        }
        match text {
            "" => Err("must name the scale's device, as in \"/dev/serial/by-id/…\"".into()),
            _ if text.contains("://") => {
                Err("is an address of no known kind: a serial bridge is \"tcp://host:port\", a device is a path".into())
            }
            _ => Ok(PortName::Device(PathBuf::from(text))),
        }
    }
}

fn bridge(address: &str) -> Option<Bridge> {
    let (host, port) = address.rsplit_once(':')?;
    let port = port.parse().ok().filter(|&port| port > 0)?;
    let host = match host.strip_prefix('[') {
        Some(inner) => inner.strip_suffix(']').filter(|inner| inner.parse::<std::net::Ipv6Addr>().is_ok())?,
        None => host,
    };
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'_');
    let known = host.parse::<std::net::Ipv6Addr>().is_ok() || (!host.is_empty() && host.bytes().all(plain));
    known.then(|| Bridge { host: host.to_owned(), port })
}

fn hid(name: &str) -> Option<HidName> {
    if name.starts_with('/') {
        return Some(HidName::Path(PathBuf::from(name)));
    }
    let (vendor, product) = name.split_once(':')?;
    let id = |text: &str| (text.len() == 4 && !text.starts_with('+')).then(|| u16::from_str_radix(text, 16).ok()).flatten();
    Some(HidName::Ids { vendor: id(vendor)?, product: id(product)? })
}

impl<P: Into<PathBuf>> From<P> for PortName {
    fn from(path: P) -> PortName {
        PortName::Device(path.into())
    }
}

impl std::fmt::Display for PortName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            PortName::Device(path) => path.display().fmt(f),
            PortName::Tcp(bridge) => bridge.fmt(f),
            PortName::Hid(name) => name.fmt(f),
        }
    }
}

impl std::fmt::Display for Bridge {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.host.contains(':') {
            true => write!(f, "tcp://[{}]:{}", self.host, self.port),
            false => write!(f, "tcp://{}:{}", self.host, self.port),
        }
    }
}

impl std::fmt::Display for HidName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            HidName::Path(path) => write!(f, "hid:{}", path.display()),
            HidName::Ids { vendor, product } => write!(f, "hid:{vendor:04x}:{product:04x}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read_as_written() {
        for text in [
            "/dev/serial/by-id/x",
            "tcp://192.168.1.20:4001",
            "tcp://bench-bridge.lan:23",
            "tcp://[fe80::1]:4001",
            "hid:/dev/hidraw0",
            "hid:1a2b:03c4",
        ] {
            assert_eq!(PortName::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(PortName::parse("/dev/ttyS0"), Ok(PortName::Device("/dev/ttyS0".into())));
        assert_eq!(PortName::parse("tcp://[::1]:7"), Ok(PortName::Tcp(Bridge { host: "::1".into(), port: 7 })));
        assert_eq!(PortName::parse("hid:1A2B:03C4"), Ok(PortName::Hid(HidName::Ids { vendor: 0x1a2b, product: 0x3c4 })));
    }

    #[test]
    fn what_is_no_name_is_told() {
        for text in [
            "",
            "tcp:192.168.1.20:4001",
            "tcp://192.168.1.20",
            "tcp://:4001",
            "tcp://a:0",
            "tcp://a:70000",
            "tcp://a b:1",
            "tcp://user@host:1",
            "tcp://[x]:1",
            "http://host:1",
            "hid:",
            "hid:scale",
            "hid:1a2b",
            "hid:1a2b:xyz1",
            "hid:+a2b:1111",
        ] {
            assert!(PortName::parse(text).is_err(), "{text}");
        }
    }
}

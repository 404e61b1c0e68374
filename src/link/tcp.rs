//! A serial bridge in the network as a source.
//!
//! The bridge sets the line; here the same bytes come in other pieces, without marks for damaged ones. What it kept
//! from before the connection may be minutes old.

use super::settings::{Poll, READ_TIMEOUT};
use super::telnet::Telnet;
use super::{Got, Identity, Source, Why};
use crate::clock::Clock;
use crate::config::Bridge;
use crate::measure::{Moment, Span};
use rustix::net::sockopt;
use std::io::{self, ErrorKind, Read, Write};
use std::net::{IpAddr, SocketAddr, TcpStream, ToSocketAddrs};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

/// What comes so soon after connecting lay in the bridge.
const STALE: Span = Span::millis(300);
const CONNECT_WITHIN: Duration = Duration::from_secs(2);
/// A name that the resolver does not know can take half a minute, far longer than a thread may stand still.
const LOOK_UP_WITHIN: Duration = Duration::from_secs(4);
/// Of the addresses that a name has.
const ADDRESSES_MAX: usize = 3;
/// A bridge without power sends no farewell. After so long without a word it is asked, so often, so many times: it is
/// known to be gone after twenty-five seconds, without any byte for the scale.
const ASK_AFTER: Duration = Duration::from_secs(10);
const ASK_EVERY: Duration = Duration::from_secs(5);
const ASK_TIMES: u32 = 3;
/// A request that is not even acknowledged for so many milliseconds means the same.
const UNHEARD_MS: u32 = 15_000;

/// One bridge, only listened to unless it is given a request.
pub struct Tcp {
    bridge: Bridge,
    poll: Option<Poll>,
    clock: Clock,
    stale: Span,
    /// A look-up that has not come back yet.
    asking: Option<Receiver<io::Result<Vec<SocketAddr>>>>,
    open: Option<Open>,
}

struct Open {
    stream: TcpStream,
    telnet: Telnet,
    asked: Option<Moment>,
    clean: Vec<u8>,
}

impl Tcp {
    pub fn new(bridge: Bridge, poll: Option<Poll>, clock: Clock) -> Tcp {
        Tcp { bridge, poll, clock, stale: STALE, asking: None, open: None }
    }

    fn unreachable(&self, detail: impl ToString) -> Why {
        Why::NoAnswer { address: self.bridge.to_string(), detail: detail.to_string() }
    }

    fn gone(&mut self, detail: String) -> Why {
        self.open = None;
        Why::BridgeGone { address: self.bridge.to_string(), detail }
    }

    fn addresses(&mut self) -> Result<Vec<SocketAddr>, Why> {
        if let Ok(address) = self.bridge.host.parse::<IpAddr>() {
            return Ok(vec![SocketAddr::new(address, self.bridge.port)]);
        }
        let asking = match self.asking.take() {
            Some(asking) => asking,
            None => {
                let (tell, asking) = channel();
                let name = (self.bridge.host.clone(), self.bridge.port);
                // The one that waits may have given up by then.
                let look_up = move || _ = tell.send(name.to_socket_addrs().map(Iterator::collect));
                std::thread::Builder::new().name("look-up".into()).spawn(look_up).map_err(|fault| self.unreachable(fault))?;
                asking
            }
        };
        match asking.recv_timeout(LOOK_UP_WITHIN) {
            Ok(Ok(addresses)) => Ok(addresses),
            Ok(Err(fault)) => Err(self.unreachable(fault)),
            Err(RecvTimeoutError::Timeout) => {
                self.asking = Some(asking);
                Err(self.unreachable("its name is still being looked up"))
            }
            Err(RecvTimeoutError::Disconnected) => Err(self.unreachable("looking up its name failed")),
        }
    }

    fn connect(&mut self) -> Result<TcpStream, Why> {
        let mut fault = None;
        for address in self.addresses()?.iter().take(ADDRESSES_MAX) {
            match TcpStream::connect_timeout(address, CONNECT_WITHIN) {
                Ok(stream) => return Ok(stream),
                Err(found) => fault = Some(found),
            }
        }
        Err(self.unreachable(fault.map_or_else(|| "its name has no address".to_owned(), |fault| fault.to_string())))
    }
}

impl Source for Tcp {
    fn open(&mut self) -> Result<Identity, Why> {
        self.open = None;
        let stream = self.connect()?;
        let peer = watch(&stream, self.poll.as_ref()).map_err(|fault| self.unreachable(fault))?;
        self.open = Some(Open { stream, telnet: Telnet::default(), asked: None, clean: Vec::new() });
        let until = self.clock.mono().plus(self.stale);
        let mut buffer = [0; 1024];
        while self.clock.mono() < until {
            self.take(&mut buffer)?;
        }
        let path = PathBuf::from(self.bridge.to_string());
        Ok(Identity { path, device: PathBuf::from(format!("tcp://{peer}")), better: None })
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let Some(open) = self.open.as_mut() else {
            return Err(self.gone("it is not connected".into()));
        };
        if let Some(poll) = &self.poll {
            let now = self.clock.mono();
            if open.asked.is_none_or(|asked| now.since(asked) >= poll.every) {
                open.asked = Some(now);
                if let Err(fault) = open.stream.write_all(&poll.bytes) {
                    return Err(self.gone(fault.to_string()));
                }
            }
        }
        self.take(buffer)
    }

    fn close(&mut self) {
        self.open = None;
    }
}

impl Tcp {
    fn take(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let Some(open) = self.open.as_mut() else {
            return Err(self.gone("it is not connected".into()));
        };
        // The filter may give out a byte that it held back, so one more than comes in now.
        let room = buffer.len().saturating_sub(1);
        match open.stream.read(&mut buffer[..room]) {
            Ok(0) => Err(self.gone("it ended the connection".into())),
            Ok(count) => {
                open.clean.clear();
                open.telnet.pass(&buffer[..count], &mut open.clean);
                let count = open.clean.len();
                buffer[..count].copy_from_slice(&open.clean[..count]);
                Ok(if count == 0 { Got::Quiet } else { Got::Bytes { count, at: None } })
            }
            Err(fault) if matches!(fault.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted) => {
                Ok(Got::Quiet)
            }
            Err(fault) => Err(self.gone(fault.to_string())),
        }
    }
}

/// Sets the timeouts of a new connection and gives the other end's address.
fn watch(stream: &TcpStream, poll: Option<&Poll>) -> io::Result<SocketAddr> {
    let wait = poll.map_or(READ_TIMEOUT, |poll| poll.every.min(READ_TIMEOUT));
    stream.set_read_timeout(Some(Duration::from_nanos(wait.0)))?;
    stream.set_write_timeout(Some(Duration::from_nanos(READ_TIMEOUT.0)))?;
    stream.set_nodelay(true)?;
    sockopt::set_socket_keepalive(stream, true)?;
    sockopt::set_tcp_keepidle(stream, ASK_AFTER)?;
    sockopt::set_tcp_keepintvl(stream, ASK_EVERY)?;
    sockopt::set_tcp_keepcnt(stream, ASK_TIMES)?;
    sockopt::set_tcp_user_timeout(stream, UNHEARD_MS)?;
    stream.peer_addr()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Event, Reader};
    use std::net::TcpListener;

    const PATIENCE: Duration = Duration::from_secs(30);

    fn tcp(listener: &TcpListener, stale: Span) -> Tcp {
        let bridge = Bridge { host: "127.0.0.1".into(), port: listener.local_addr().unwrap().port() };
        Tcp { stale, ..Tcp::new(bridge, None, Clock::system()) }
    }

    /// The bridge sends at once what it kept, in the middle of a frame; only what comes later is passed on.
    #[test]
    fn what_the_bridge_kept_is_dropped_and_still_shows_that_it_speaks_telnet() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let mut reader = Reader::spawn(tcp(&listener, Span::seconds(2)), Clock::system()).unwrap();
        let (mut bridge, _) = listener.accept().unwrap();
        bridge.write_all(b"\xff\xfb\x01.99 kg\r\n 12.34 kg\r\n").unwrap();
        let up = reader.recv_within(PATIENCE).unwrap();
        assert!(matches!(&up.event, Event::Up { device } if device.path.to_str().unwrap().starts_with("tcp://127.0.0.1:")));
        bridge.write_all(b"fresh\xff\xff\r\x00\xff\xf1!").unwrap();
        let mut got = Vec::new();
        while got.len() < 8 {
            let Event::Bytes(bytes) = reader.recv_within(PATIENCE).unwrap().event else { panic!("no bytes") };
            got.extend(bytes);
        }
        assert_eq!(got, b"fresh\xff\r!");
    }

    #[test]
    fn a_bridge_without_power_is_asked_for_and_missed() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let mut tcp = tcp(&listener, Span::ZERO);
        tcp.open().unwrap();
        let stream = &tcp.open.as_ref().unwrap().stream;
        assert!(sockopt::socket_keepalive(stream).unwrap());
        assert_eq!(sockopt::tcp_keepidle(stream).unwrap(), ASK_AFTER);
        assert_eq!(sockopt::tcp_keepintvl(stream).unwrap(), ASK_EVERY);
        assert_eq!(sockopt::tcp_keepcnt(stream).unwrap(), ASK_TIMES);
        assert_eq!(sockopt::tcp_user_timeout(stream).unwrap(), UNHEARD_MS);
        assert_eq!(stream.read_timeout().unwrap(), Some(Duration::from_millis(100)));
    }

    #[test]
    fn a_look_up_is_started_once_and_waited_for() {
        let bridge = Bridge { host: "localhost".into(), port: 9 };
        let mut tcp = Tcp::new(bridge, None, Clock::system());
        assert!(tcp.addresses().unwrap().iter().all(|address| address.ip().is_loopback()));
        let (tell, asking) = channel();
        tell.send(Ok(vec![SocketAddr::from(([127, 0, 0, 1], 77))])).unwrap();
        tcp.asking = Some(asking);
        assert_eq!(tcp.addresses().unwrap()[0].port(), 77, "the answer to the first look-up is taken");
        assert!(tcp.asking.is_none());
    }
}

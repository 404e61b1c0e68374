//! A port that is listened to at one speed after another, faults of the line and all; a bridge has one speed, its own.

use super::{Asked, Got, Heard, Identity, Probe, Source, Why, serial, source};
use crate::clock::Clock;
use crate::config::PortName;
use crate::dialect::LineSettings;
use crate::dialect::hunt::{Char, LineFault};
use rustix::fs::{Mode, OFlags};
use rustix::ioctl::{Getter, Opcode, ioctl};
use std::os::fd::OwnedFd;
use std::path::PathBuf;
use std::time::Duration;

/// An open port that only listens, unless it was opened to ask.
pub struct Listener {
    way: Way,
    /// For requests that a person has allowed.
    mouth: Option<OwnedFd>,
    identity: Identity,
}

enum Way {
    Port(Probe),
    Bridge(Box<dyn Source>),
}

/// What the modem lines say, where the port has any.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Modem {
    /// CTS: with a handshake, whether the other end is there and ready.
    pub clear_to_send: Option<bool>,
    /// DSR: whether the other end is switched on, where it says so.
    pub data_set_ready: Option<bool>,
}

/// How long a read waits.
const PATIENCE: Duration = Duration::from_millis(100);

impl Listener {
    /// Opens the port for this program alone; the system raises DTR and RTS, and they are left so. With `ask` it can
    /// also send, which a bridge here cannot.
    pub fn open(name: &PortName, ask: bool, clock: Clock) -> Result<Listener, Why> {
        let PortName::Device(path) = name else {
            let mut bridge = source(name, Asked::default(), clock);
            let identity = bridge.open()?;
            return Ok(Listener { way: Way::Bridge(bridge), mouth: None, identity });
        };
        // Before the port is taken: it is taken from everybody, this program's second handle too.
        let mouth = match ask {
            true => {
                let flags = OFlags::WRONLY | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC;
                rustix::fs::open(serial::resolve(path)?, flags, Mode::empty()).ok()
            }
            false => None,
        };
        let probe = Probe::open(path)?;
        let identity = probe.identity().clone();
        Ok(Listener { way: Way::Port(probe), mouth, identity })
    }

    pub const fn identity(&self) -> &Identity {
        &self.identity
    }

    /// Setting its speed changes nothing: a bridge has its own, and boards with USB of their own have none.
    pub fn is_speedless(&self) -> bool {
        let board = || self.identity.device.file_name().is_some_and(|name| name.to_string_lossy().starts_with("ttyACM"));
        self.is_bridge() || board()
    }

    pub const fn is_bridge(&self) -> bool {
        matches!(self.way, Way::Bridge(_))
    }

    /// Sets the line without opening it again, which would pulse DTR and reset some boards. What came before is gone.
    pub fn set(&mut self, line: LineSettings) -> Result<(), Why> {
        let path: &PathBuf = &self.identity.path;
        match &mut self.way {
            Way::Port(probe) => {
                probe.set(line.into()).map_err(|fault| Why::Refused { path: path.clone(), detail: fault.to_string() })
            }
            Way::Bridge(_) => Ok(()),
        }
    }

    /// Waits a short while for characters and appends them.
    pub fn read(&mut self, chars: &mut Vec<Char>) -> Result<(), Why> {
        match &mut self.way {
            Way::Port(probe) => {
                let mut heard = Vec::new();
                probe.hear(PATIENCE, &mut heard)?;
                chars.extend(heard.into_iter().map(Char::from));
            }
            Way::Bridge(bridge) => {
                let mut buffer = [0; 512];
                if let Got::Bytes { count, .. } = bridge.read(&mut buffer)? {
                    chars.extend(buffer[..count].iter().map(|&byte| Char::sound(byte)));
                }
            }
        }
        Ok(())
    }

    /// Sends a request that a person has allowed; nothing where the port was not opened to ask.
    pub fn ask(&mut self, request: &[u8]) -> Result<(), Why> {
        let Some(mouth) = &self.mouth else { return Ok(()) };
        let gone = |fault: rustix::io::Errno| Why::Gone { path: self.identity.path.clone(), detail: fault.to_string() };
        rustix::io::write(mouth, request).map(drop).map_err(gone)
    }

    pub fn modem(&self) -> Modem {
        /// Of the kernel's table of terminal requests, the same on every machine that this runs on but MIPS.
        const TIOCMGET: Opcode = 0x5415;
        const CTS: i32 = 0x020;
        const DSR: i32 = 0x100;
        let Way::Port(probe) = &self.way else { return Modem::default() };
        // SAFETY: the request fills in one C integer, and every bit pattern is an integer.
        let lines: Option<i32> = unsafe { ioctl(&probe.handle, Getter::<TIOCMGET, i32>::new()) }.ok();
        Modem { clear_to_send: lines.map(|lines| lines & CTS != 0), data_set_ready: lines.map(|lines| lines & DSR != 0) }
    }
}

impl From<Heard> for Char {
    fn from(heard: Heard) -> Char {
        match heard {
            Heard::Good(byte) => Char::sound(byte),
            Heard::Damaged(byte) => Char { byte, fault: Some(LineFault::Framing) },
            Heard::Break => Char { byte: 0, fault: Some(LineFault::Break) },
        }
    }
}

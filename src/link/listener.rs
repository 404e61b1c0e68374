//! A port that is listened to at one speed after another, faults of the line and all.

use super::marks::Marks;
use super::serial::{explain, quiet, resolve};
use super::settings::Settings;
use super::{Identity, Why, ports};
use crate::dialect::hunt::Char;
use crate::dialect::{LineSettings, Parity};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::termios::{ControlModes, InputModes, OptionalActions};
use serialport::{SerialPort, TTYPort};
use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

/// An open port whose line can be set anew without opening it again, which would pulse DTR and reset some boards.
pub struct Listener {
    path: PathBuf,
    port: TTYPort,
    /// A second handle on the same terminal, for what the serial library cannot set.
    modes: OwnedFd,
    marks: Marks,
    identity: Identity,
    speedless: bool,
}

/// What the modem lines say, where the port has any.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Modem {
    /// The scale is ready to be sent to; with a crossed handshake also that it listens to ours.
    pub clear_to_send: Option<bool>,
    pub data_set_ready: Option<bool>,
}

impl Listener {
    /// Opens the port for this program alone, raises DTR and RTS and leaves them so.
    pub fn open(path: &Path) -> Result<Listener, Why> {
        let device = resolve(path)?;
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let modes = rustix::fs::open(&device, flags, Mode::empty()).map_err(|fault| refused(path, fault))?;
        let settings = Settings::new(path);
        let mut port = TTYPort::open(&settings.builder(&device.to_string_lossy())).map_err(|fault| explain(path, &fault))?;
        // Pseudo-terminals and some adapters have no modem lines; that is no reason not to listen.
        _ = port.write_data_terminal_ready(true);
        _ = port.write_request_to_send(true);
        let better = ports::stable_name(path, &device, &ports::STABLE.map(PathBuf::from));
        let speedless = device.file_name().is_some_and(|name| name.to_string_lossy().starts_with("ttyACM"));
        let identity = Identity { path: path.to_owned(), device, better };
        let mut listener = Listener { path: path.to_owned(), port, modes, marks: Marks::default(), identity, speedless };
        let usual = LineSettings { speed: settings.line.baud, data_bits: 8, parity: Parity::Clear, stop_bits: 1 };
        listener.set(usual)?;
        Ok(listener)
    }

    pub const fn identity(&self) -> &Identity {
        &self.identity
    }

    /// The device ignores its speed, as boards with USB of their own do.
    pub const fn is_speedless(&self) -> bool {
        self.speedless
    }

    /// Sets speed and parity, always with eight bits, and throws away what came before.
    pub fn set(&mut self, line: LineSettings) -> Result<(), Why> {
        let path = &self.path;
        let mut modes = rustix::termios::tcgetattr(&self.modes).map_err(|fault| gone(path, fault))?;
        modes.make_raw();
        // Framing errors are marked only with INPCK, even where no parity is checked; IGNPAR would drop the characters.
        modes.input_modes.insert(InputModes::INPCK | InputModes::PARMRK);
        modes.input_modes.remove(InputModes::IGNPAR | InputModes::IGNBRK | InputModes::BRKINT | InputModes::IXON);
        modes.control_modes.insert(ControlModes::CLOCAL | ControlModes::CREAD | ControlModes::CS8);
        // Without HUPCL the modem lines stay as they are when the port is closed.
        modes.control_modes.remove(ControlModes::HUPCL | ControlModes::CRTSCTS | ControlModes::CSTOPB);
        modes.control_modes.set(ControlModes::PARENB, line.parity != Parity::Clear);
        modes.control_modes.set(ControlModes::PARODD, line.parity == Parity::Odd);
        let refused = |fault: Errno| Why::Refused { path: path.clone(), detail: fault.to_string() };
        modes.set_speed(line.speed).map_err(refused)?;
        rustix::termios::tcsetattr(&self.modes, OptionalActions::Flush, &modes).map_err(refused)?;
        self.marks = Marks::default();
        Ok(())
    }

    /// Waits at most 100 ms for characters and appends them.
    pub fn read(&mut self, chars: &mut Vec<Char>) -> Result<(), Why> {
        let mut buffer = [0; 256];
        match self.port.read(&mut buffer) {
            Ok(0) => Err(gone(&self.path, "end of the stream")),
            Ok(count) => {
                self.marks.take(&buffer[..count], chars);
                Ok(())
            }
            Err(fault) if quiet(&fault) => Ok(()),
            Err(fault) => Err(gone(&self.path, fault)),
        }
    }

    /// Sends a request. Only for one that a person has allowed.
    pub fn ask(&mut self, request: &[u8]) -> Result<(), Why> {
        self.port.write_all(request).map_err(|fault| gone(&self.path, fault))
    }

    pub fn modem(&mut self) -> Modem {
        Modem { clear_to_send: self.port.read_clear_to_send().ok(), data_set_ready: self.port.read_data_set_ready().ok() }
    }
}

fn gone(path: &Path, fault: impl std::fmt::Display) -> Why {
    Why::Gone { path: path.to_owned(), detail: fault.to_string() }
}

fn refused(path: &Path, fault: Errno) -> Why {
    match fault {
        Errno::ACCESS | Errno::PERM => Why::Denied { path: path.to_owned() },
        Errno::BUSY => Why::Busy { path: path.to_owned() },
        Errno::NOENT | Errno::NXIO | Errno::NODEV => Why::Missing { path: path.to_owned() },
        fault => gone(path, fault),
    }
}

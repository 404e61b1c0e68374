//! A serial port while it is not yet known how the scale speaks: its speed is set without opening it anew, damaged
//! characters come marked, and the driver's counters of them can be read. Nothing can be sent.

use super::marks::Marks;
use super::{Identity, Line, Parity, Why, ports, serial};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{FlockOperation, Mode, OFlags};
use rustix::io::Errno;
use rustix::ioctl::{Getter, Opcode, ioctl};
use rustix::termios::{ControlModes, InputModes, OptionalActions, QueueSelector, SpecialCodeIndex};
use std::io;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// One port, taken for this program alone.
pub struct Probe {
    pub(super) handle: OwnedFd,
    identity: Identity,
    marks: Marks,
}

/// What the driver has counted since it was loaded; only differences tell anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Damage {
    pub framing: u32,
    pub overrun: u32,
    pub parity: u32,
    pub breaks: u32,
}

/// One character of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heard {
    Good(u8),
    /// Its parity or its stop bit was wrong; the bits are what was made of it.
    Damaged(u8),
    Break,
}

impl Probe {
    /// Opens the port for reading only, at 9600 8N1, with damaged characters marked.
    pub fn open(path: &Path) -> Result<Probe, Why> {
        let device = serial::resolve(path)?;
        let fault = |fault: Errno| match fault {
            Errno::NOENT | Errno::NXIO | Errno::NODEV => Why::Missing { path: path.into() },
            Errno::ACCESS | Errno::PERM => Why::Denied { path: path.into() },
            Errno::BUSY | Errno::WOULDBLOCK => Why::Busy { path: path.into() },
            Errno::NOTTY => Why::NotTty { path: path.into() },
            other => Why::Refused { path: path.into(), detail: io::Error::from(other).to_string() },
        };
        let flags = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC;
        let handle = rustix::fs::open(&device, flags, Mode::empty()).map_err(fault)?;
        rustix::termios::ioctl_tiocexcl(&handle).map_err(fault)?;
        // Root passes the terminal's own lock; this one holds for everybody.
        rustix::fs::flock(&handle, FlockOperation::NonBlockingLockExclusive).map_err(fault)?;
        let folders = ports::STABLE.map(PathBuf::from);
        let better = ports::stable_name(path, &device, &folders);
        let identity = Identity { path: path.into(), device, better };
        let mut probe = Probe { handle, identity, marks: Marks::default() };
        probe.set(Line::default()).map_err(|detail| Why::Refused { path: path.into(), detail: detail.to_string() })?;
        Ok(probe)
    }

    pub fn identity(&self) -> &Identity {
        &self.identity
    }

    /// Sets speed and frame and drops what has come before. Parity is received but, with `Parity::None`, not checked.
    pub fn set(&mut self, line: Line) -> io::Result<()> {
        let mut modes = rustix::termios::tcgetattr(&self.handle)?;
        modes.make_raw();
        modes.input_modes |= InputModes::INPCK | InputModes::PARMRK;
        modes.input_modes -= InputModes::IGNPAR | InputModes::IGNBRK | InputModes::BRKINT;
        modes.control_modes -= ControlModes::CSIZE | ControlModes::PARENB | ControlModes::PARODD;
        modes.control_modes -= ControlModes::CSTOPB | ControlModes::CRTSCTS;
        modes.control_modes |= ControlModes::CREAD | ControlModes::CLOCAL;
        modes.control_modes |= if line.data_bits == 7 { ControlModes::CS7 } else { ControlModes::CS8 };
        modes.control_modes |= match line.parity {
            Parity::None => ControlModes::empty(),
            Parity::Even => ControlModes::PARENB,
            Parity::Odd => ControlModes::PARENB | ControlModes::PARODD,
        };
        if line.stop_bits == 2 {
            modes.control_modes |= ControlModes::CSTOPB;
        }
        modes.special_codes[SpecialCodeIndex::VMIN] = 0;
        modes.special_codes[SpecialCodeIndex::VTIME] = 0;
        modes.set_speed(line.baud)?;
        rustix::termios::tcsetattr(&self.handle, OptionalActions::Flush, &modes)?;
        rustix::termios::tcflush(&self.handle, QueueSelector::IFlush)?;
        self.marks = Marks::default();
        Ok(())
    }

    /// Appends what comes within `patience` to `heard`; an error means that the port is gone.
    pub fn hear(&mut self, patience: Duration, heard: &mut Vec<Heard>) -> Result<(), Why> {
        let gone = |detail: String| Why::Gone { path: self.identity.path.clone(), detail };
        let wait =
            Timespec { tv_sec: patience.as_secs().try_into().unwrap_or(i64::MAX), tv_nsec: patience.subsec_nanos().into() };
        let mut watched = [PollFd::new(&self.handle, PollFlags::IN)];
        match poll(&mut watched, Some(&wait)) {
            Ok(0) | Err(Errno::INTR) => return Ok(()),
            Ok(_) => {}
            Err(fault) => return Err(gone(io::Error::from(fault).to_string())),
        }
        let hung_up = watched[0].revents().contains(PollFlags::HUP);
        let mut buffer = [0; 1024];
        match rustix::io::read(&self.handle, &mut buffer) {
            Ok(0) if hung_up => Err(gone("end of the stream".into())),
            Ok(count) => {
                self.marks.pass(&buffer[..count], heard);
                Ok(())
            }
            Err(Errno::AGAIN | Errno::INTR) => Ok(()),
            Err(fault) => Err(gone(io::Error::from(fault).to_string())),
        }
    }

    /// The driver's counters; `None` where it has none, as a pseudo-terminal.
    pub fn damage(&self) -> Option<Damage> {
        /// Of the kernel's table of terminal requests, the same on every machine that this runs on but MIPS.
        const TIOCGICOUNT: Opcode = 0x545d;
        // SAFETY: the request fills in a structure of twenty C integers, and every bit pattern is an integer.
        let counters: [i32; 20] = unsafe { ioctl(&self.handle, Getter::<TIOCGICOUNT, [i32; 20]>::new()) }.ok()?;
        // In linux/serial.h: four modem lines, received, sent, then these.
        let &[_, _, _, _, _, _, framing, overrun, parity, breaks, ..] = &counters;
        Some(Damage { framing: framing as u32, overrun: overrun as u32, parity: parity as u32, breaks: breaks as u32 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pty::Pty;

    fn hear(probe: &mut Probe, count: usize) -> Vec<Heard> {
        let mut heard = Vec::new();
        for _ in 0..100 {
            probe.hear(Duration::from_millis(100), &mut heard).unwrap();
            if heard.len() >= count {
                break;
            }
        }
        heard
    }

    #[test]
    fn the_speed_changes_without_letting_go_of_the_port() {
        let mut pty = Pty::open(None).unwrap();
        let path = pty.path().to_owned();
        let mut probe = Probe::open(&path).unwrap();
        assert_eq!(probe.identity().device, path);
        assert_eq!(Probe::open(&path).err().map(|why| why.code()), Some("busy"));
        pty.write(b"old").unwrap();
        for text in ["2400 8N1", "19200 7E1", "115200 8N2", "12345 8N1"] {
            let line: Line = text.parse().unwrap();
            probe.set(line).unwrap();
            let modes = rustix::termios::tcgetattr(&probe.handle).unwrap();
            assert_eq!(modes.input_speed(), line.baud, "{text}");
            assert!(modes.input_modes.contains(InputModes::INPCK | InputModes::PARMRK));
            pty.write(b"a\xffb").unwrap();
            let heard = hear(&mut probe, 3);
            assert_eq!(heard, [b'a', 0xff, b'b'].map(Heard::Good), "{text}");
        }
        assert_eq!(probe.damage(), None, "a pseudo-terminal counts nothing");
        pty.unplug();
        let gone = (0..100).find_map(|_| probe.hear(Duration::from_millis(100), &mut Vec::new()).err());
        assert_eq!(gone.unwrap().code(), "gone");
        assert_eq!(Probe::open(Path::new("/dev/null")).err().map(|why| why.code()), Some("not-tty"));
        assert_eq!(Probe::open(Path::new("/dev/none")).err().map(|why| why.code()), Some("missing"));
    }
}

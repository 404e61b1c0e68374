//! A serial port as a source.

use super::settings::Settings;
use super::{Got, Identity, Source, Why, ports};
use crate::clock::Clock;
use crate::measure::Moment;
use serialport::{ClearBuffer, ErrorKind, SerialPort, TTYPort};
use std::io::{self, Read, Write};
use std::os::unix::fs::FileTypeExt;
use std::path::{Path, PathBuf};

/// A serial port, opened exclusively and only listened to, unless its settings ask for polling.
pub struct Serial {
    settings: Settings,
    clock: Clock,
    open: Option<Open>,
    /// A link to the device that was open last, where the configured path is a number that another device may get.
    same: Option<PathBuf>,
    /// Folders of links that stay with a device.
    folders: Vec<PathBuf>,
}

/// The port has one owner: dropping any clone of it would give up the exclusive hold for the whole device.
struct Open {
    port: TTYPort,
    asked: Option<Moment>,
}

impl Serial {
    pub fn new(settings: Settings, clock: Clock) -> Serial {
        Serial { settings, clock, open: None, same: None, folders: ports::STABLE.map(PathBuf::from).into() }
    }

    fn gone(&mut self, detail: String) -> Why {
        self.open = None;
        Why::Gone { path: self.settings.path.clone(), detail }
    }
}

impl Source for Serial {
    fn open(&mut self) -> Result<Identity, Why> {
        self.open = None;
        let path = &self.settings.path;
        // The same device first; if it is not plugged in, whatever has the configured name now.
        let same = self.same.as_deref().and_then(|link| resolve(link).ok());
        let device = same.map_or_else(|| resolve(path), Ok)?;
        let mut port = TTYPort::open(&self.settings.builder(&device.to_string_lossy())).map_err(|fault| explain(path, &fault))?;
        // Pseudo-terminals and some adapters have no modem lines; that is no reason not to listen.
        _ = port.write_data_terminal_ready(self.settings.dtr);
        _ = port.write_request_to_send(self.settings.rts);
        // What came before the opening is of unknown age and begins in the middle of a frame.
        port.clear(ClearBuffer::Input).map_err(|fault| explain(path, &fault))?;
        let better = ports::stable_name(path, &device, &self.folders);
        self.same.clone_from(&better);
        self.open = Some(Open { port, asked: None });
        Ok(Identity { path: path.clone(), device, better })
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let Some(open) = self.open.as_mut() else {
            return Err(self.gone("it is not open".into()));
        };
        if let Some(poll) = &self.settings.poll {
            let now = self.clock.mono();
            if open.asked.is_none_or(|asked| now.since(asked) >= poll.every) {
                open.asked = Some(now);
                if let Err(fault) = open.port.write_all(&poll.bytes)
                    && !quiet(&fault)
                {
                    return Err(self.gone(fault.to_string()));
                }
            }
        }
        judge(open.port.read(buffer)).map_err(|detail| self.gone(detail))
    }

    fn close(&mut self) {
        self.open = None;
    }
}

/// An unplugged device reads as an error or as an endless stream of nothing; an idle one as a timeout.
fn judge(read: io::Result<usize>) -> Result<Got, String> {
    match read {
        Ok(0) => Err("end of the stream".into()),
        Ok(count) => Ok(Got::Bytes { count, at: None }),
        Err(fault) if quiet(&fault) => Ok(Got::Quiet),
        Err(fault) => Err(fault.to_string()),
    }
}

/// The only errors after which the device is still there.
fn quiet(fault: &io::Error) -> bool {
    matches!(fault.kind(), io::ErrorKind::TimedOut | io::ErrorKind::Interrupted | io::ErrorKind::WouldBlock)
}

/// Where the path leads now. Only a character device is opened: opening a FIFO, say, could hang.
pub(super) fn resolve(path: &Path) -> Result<PathBuf, Why> {
    let fault = |fault: io::Error| match fault.kind() {
        io::ErrorKind::PermissionDenied => Why::Denied { path: path.to_owned() },
        io::ErrorKind::NotFound => Why::Missing { path: path.to_owned() },
        _ => Why::NotTty { path: path.to_owned() },
    };
    let device = path.canonicalize().map_err(fault)?;
    match device.metadata().map_err(fault)?.file_type().is_char_device() {
        true => Ok(device),
        false => Err(Why::NotTty { path: path.to_owned() }),
    }
}

fn explain(path: &Path, fault: &serialport::Error) -> Why {
    let path = path.to_owned();
    match fault.kind() {
        ErrorKind::Io(io::ErrorKind::NotFound) => Why::Missing { path },
        ErrorKind::Io(io::ErrorKind::PermissionDenied) => Why::Denied { path },
        // The library reports a held lock as "no device"; a device that is not there is "not found".
        ErrorKind::NoDevice => Why::Busy { path },
        _ => match fault.to_string() {
            // ENOTTY, in the words of its table of errors.
            detail if detail == "Not a typewriter" => Why::NotTty { path },
            // ENXIO and ENODEV: the number stands in /dev, and nothing is behind it.
            detail if detail.starts_with("No such device") => Why::Missing { path },
            // EIO: it went between looking and opening.
            detail if detail == "I/O error" => Why::Gone { path, detail },
            detail => Why::Refused { path, detail },
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pty::Pty;

    #[test]
    fn open_errors_are_told_apart() {
        let path = Path::new("/dev/ttyX");
        let code = |kind, text: &str| explain(path, &serialport::Error::new(kind, text)).code();
        assert_eq!(code(ErrorKind::Io(io::ErrorKind::NotFound), "No such file or directory"), "missing");
        assert_eq!(code(ErrorKind::Io(io::ErrorKind::PermissionDenied), "Permission denied"), "denied");
        assert_eq!(code(ErrorKind::NoDevice, "Unable to acquire exclusive lock on serial port"), "busy");
        assert_eq!(code(ErrorKind::NoDevice, "Device or resource busy"), "busy");
        assert_eq!(code(ErrorKind::Unknown, "Not a typewriter"), "not-tty");
        assert_eq!(code(ErrorKind::Unknown, "No such device or address"), "missing");
        assert_eq!(code(ErrorKind::Unknown, "I/O error"), "gone");
        assert_eq!(code(ErrorKind::Unknown, "Settings did not apply correctly"), "refused");
    }

    #[test]
    fn only_a_timeout_and_an_interruption_leave_the_device_there() {
        assert_eq!(judge(Ok(3)), Ok(Got::Bytes { count: 3, at: None }));
        assert!(judge(Ok(0)).is_err());
        for kind in [io::ErrorKind::TimedOut, io::ErrorKind::Interrupted, io::ErrorKind::WouldBlock] {
            assert_eq!(judge(Err(kind.into())), Ok(Got::Quiet));
        }
        for kind in [io::ErrorKind::BrokenPipe, io::ErrorKind::NotFound, io::ErrorKind::UnexpectedEof, io::ErrorKind::Other] {
            assert!(judge(Err(kind.into())).is_err());
        }
    }

    #[test]
    fn a_lost_device_is_found_by_its_own_name_before_its_number() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let (number, names) = (folder.path().join("ttyUSB0"), folder.path().join("by-id"));
        let name = names.join("adapter-17");
        let (ours, other) = (Pty::open(None).unwrap(), Pty::open(None).unwrap());
        std::fs::create_dir(&names).unwrap();
        symlink(ours.path(), &number).unwrap();
        symlink(ours.path(), &name).unwrap();
        let mut serial = Serial { folders: vec![names], ..Serial::new(Settings::new(&number), Clock::system()) };
        assert_eq!(serial.open(), Ok(Identity { path: number.clone(), device: ours.path().into(), better: Some(name.clone()) }));
        std::fs::remove_file(&number).unwrap();
        symlink(other.path(), &number).unwrap();
        assert_eq!(serial.open().unwrap().device, ours.path(), "the number now belongs to another device");
        std::fs::remove_file(&name).unwrap();
        assert_eq!(serial.open().unwrap().device, other.path(), "the configured name is what is left");
    }

    #[test]
    fn a_file_or_a_pipe_is_no_port() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("plain");
        std::fs::write(&file, "x").unwrap();
        assert_eq!(resolve(&file).unwrap_err().code(), "not-tty");
        assert_eq!(resolve(folder.path()).unwrap_err().code(), "not-tty");
        assert_eq!(resolve(&folder.path().join("none")).unwrap_err().code(), "missing");
    }
}

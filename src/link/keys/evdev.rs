//! An input device as a source of strokes.

use super::stroke::{Change, Stroke};
use crate::link::{Got, Identity, READ_TIMEOUT, Source, Why, ports};
use evdev::raw_stream::RawDevice;
use evdev::{EventSummary, SynchronizationCode};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use std::fs::File;
use std::io;
use std::path::PathBuf;

/// Links that stay with an input device.
const STABLE: [&str; 2] = ["/dev/input/by-id", "/dev/input/by-path"];

/// A keyboard-like device, grabbed: what is typed on it reaches nothing else on the machine. Linux only.
pub struct Evdev {
    path: PathBuf,
    open: Option<RawDevice>,
}

impl Evdev {
    pub fn new(path: impl Into<PathBuf>) -> Evdev {
        Evdev { path: path.into(), open: None }
    }

    fn explain(&self, fault: &io::Error) -> Why {
        let path = self.path.clone();
        match Errno::from_io_error(fault) {
            Some(Errno::NOENT | Errno::NXIO | Errno::NODEV) => Why::Missing { path },
            Some(Errno::ACCESS | Errno::PERM) => Why::Denied { path },
            Some(Errno::BUSY) => Why::Busy { path },
            Some(Errno::NOTTY | Errno::INVAL) => Why::NotKeys { path },
            _ => Why::Gone { path, detail: fault.to_string() },
        }
    }

    fn open_at(&self, device: &PathBuf) -> io::Result<RawDevice> {
        // Without waiting: a pipe with this name would hang otherwise. For reading only: nothing is sent to it.
        let file = rustix::fs::open(device, OFlags::RDONLY | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty())?;
        let mut open = RawDevice::try_from(File::from(file))?;
        open.grab()?;
        Ok(open)
    }
}

impl Source for Evdev {
    fn open(&mut self) -> Result<Identity, Why> {
        self.open = None;
        let device = self.path.canonicalize().map_err(|fault| self.explain(&fault))?;
        self.open = Some(self.open_at(&device).map_err(|fault| self.explain(&fault))?);
        let numbered = self.path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("event"));
        let better = numbered.then(|| ports::link_to(&device, &STABLE.map(PathBuf::from))).flatten();
        Ok(Identity { path: self.path.clone(), device, better })
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let gone = |detail: String| Why::Gone { path: self.path.clone(), detail };
        let Some(open) = self.open.as_mut() else { return Err(gone("it is not open".into())) };
        let wait = Timespec { tv_sec: 0, tv_nsec: READ_TIMEOUT.0.try_into().unwrap_or(i32::MAX).into() };
        match poll(&mut [PollFd::new(open, PollFlags::IN)], Some(&wait)) {
            Ok(0) | Err(Errno::INTR) => return Ok(Got::Quiet),
            Ok(_) => {}
            Err(fault) => return Err(gone(fault.to_string())),
        }
        let mut count = 0;
        match open.fetch_events() {
            Ok(events) => {
                let strokes = events.filter_map(|event| stroke(event.destructure()));
                for (stroke, room) in strokes.zip(buffer.chunks_exact_mut(Stroke::BYTES)) {
                    room.copy_from_slice(&stroke.to_bytes());
                    count += Stroke::BYTES;
                }
            }
            Err(fault) if matches!(fault.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted) => {}
            Err(fault) => return Err(gone(fault.to_string())),
        }
        Ok(if count == 0 { Got::Quiet } else { Got::Bytes { count, at: None } })
    }

    fn close(&mut self) {
        self.open = None;
    }
}

/// What an event of the kernel is to us: lamps, pointers and marks are nothing.
fn stroke(event: EventSummary) -> Option<Stroke> {
    match event {
        EventSummary::Key(_, key, value) => {
            let change = match value {
                0 => Change::Up,
                1 => Change::Down,
                2 => Change::Repeat,
                _ => return None,
            };
            Some(Stroke { code: key.code(), change })
        }
        EventSummary::Synchronization(_, SynchronizationCode::SYN_DROPPED, _) => Some(Stroke::LOST),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evdev::{EventType, InputEvent, KeyCode};

    /// As the kernel's description of its events has them: type, code, value.
    #[test]
    fn keys_and_losses_are_taken_and_nothing_else() {
        let of = |kind: EventType, code: u16, value: i32| stroke(InputEvent::new(kind.0, code, value).destructure());
        let key = |change| Some(Stroke { code: KeyCode::KEY_7.code(), change });
        assert_eq!(of(EventType::KEY, 8, 1), key(Change::Down));
        assert_eq!(of(EventType::KEY, 8, 2), key(Change::Repeat));
        assert_eq!(of(EventType::KEY, 8, 0), key(Change::Up));
        assert_eq!(of(EventType::SYNCHRONIZATION, 3, 0), Some(Stroke::LOST));
        for (kind, code) in [(EventType::SYNCHRONIZATION, 0), (EventType::MISC, 4), (EventType::LED, 0), (EventType::RELATIVE, 8)]
        {
            assert_eq!(of(kind, code, 1), None);
        }
    }

    #[test]
    fn what_is_no_input_device_is_told_apart() {
        let folder = tempfile::tempdir().unwrap();
        let gone = folder.path().join("gone");
        assert_eq!(Evdev::new(&gone).open(), Err(Why::Missing { path: gone }));
        let file = folder.path().join("file");
        std::fs::write(&file, "7").unwrap();
        for path in [file.as_path(), std::path::Path::new("/dev/null")] {
            assert_eq!(Evdev::new(path).open(), Err(Why::NotKeys { path: path.into() }));
        }
        let code = Evdev::new("x").read(&mut [0; 8]).unwrap_err().code();
        assert_eq!(code, "gone");
    }
}

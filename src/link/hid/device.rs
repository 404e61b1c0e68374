//! A HID scale as a source.

use super::descriptor::Layout;
use crate::config::HidName;
use crate::link::settings::READ_TIMEOUT;
use crate::link::{Got, Identity, Source, Why};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{FlockOperation, Mode, OFlags};
use rustix::io::Errno;
use std::io;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

/// Longer than any report of a scale.
const REPORT_MAX: usize = 64;

/// An open device: only read from.
pub trait Raw: Send {
    fn descriptor(&self) -> io::Result<Vec<u8>>;
    /// The next report, waiting about 100 ms; `None` when there is none.
    fn report(&mut self, buffer: &mut [u8]) -> io::Result<Option<usize>>;
}

/// Where devices are found.
pub trait Nodes: Send {
    /// Those with these ids of vendor and product.
    fn with_ids(&self, vendor: u16, product: u16) -> Vec<PathBuf>;
    fn open(&self, device: &Path) -> io::Result<Box<dyn Raw>>;
}

/// A scale behind hidraw.
pub struct Hid {
    name: HidName,
    nodes: Box<dyn Nodes>,
    open: Option<(Layout, Box<dyn Raw>)>,
}

impl Hid {
    pub fn new(name: HidName) -> Hid {
        Hid::among(name, Box::new(Kernel::default()))
    }

    /// The same with devices found elsewhere.
    pub fn among(name: HidName, nodes: Box<dyn Nodes>) -> Hid {
        Hid { name, nodes, open: None }
    }

    fn find(&self) -> Result<PathBuf, Why> {
        match &self.name {
            HidName::Path(path) => Ok(path.clone()),
            &HidName::Ids { vendor, product } => match &self.nodes.with_ids(vendor, product)[..] {
                [] => Err(Why::Missing { path: self.shown() }),
                [one] => Ok(one.clone()),
                many => {
                    let many = many.iter().map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ");
                    Err(Why::Several { path: self.shown(), many })
                }
            },
        }
    }

    fn shown(&self) -> PathBuf {
        PathBuf::from(self.name.to_string())
    }
}

impl Source for Hid {
    fn open(&mut self) -> Result<Identity, Why> {
        self.open = None;
        let device = self.find()?;
        let raw = self.nodes.open(&device).map_err(|fault| explain(&device, &fault))?;
        let descriptor = raw.descriptor().map_err(|fault| Why::NoScale { path: device.clone(), detail: fault.to_string() })?;
        let layout = Layout::of(&descriptor);
        let layout = layout.map_err(|fault| Why::NoScale { path: device.clone(), detail: fault.to_string() })?;
        self.open = Some((layout, raw));
        Ok(Identity { path: self.shown(), device, better: None })
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        let mut received = [0; REPORT_MAX];
        let outcome = match self.open.as_mut() {
            None => Err(io::Error::other("it is not open")),
            Some((layout, raw)) => {
                raw.report(&mut received).map(|count| count.and_then(|count| layout.report(&received[..count])))
            }
        };
        match outcome {
            Ok(None) => Ok(Got::Quiet),
            Ok(Some(report)) => {
                buffer[..report.len()].copy_from_slice(&report);
                Ok(Got::Bytes { count: report.len(), at: None })
            }
            Err(fault) => {
                self.open = None;
                Err(Why::Gone { path: self.shown(), detail: fault.to_string() })
            }
        }
    }

    fn close(&mut self) {
        self.open = None;
    }
}

fn explain(device: &Path, fault: &io::Error) -> Why {
    let path = device.to_owned();
    match fault.kind() {
        io::ErrorKind::NotFound => Why::Missing { path },
        io::ErrorKind::PermissionDenied => Why::DeniedHid { path },
        io::ErrorKind::WouldBlock => Why::Busy { path },
        _ => Why::NoScale { path, detail: fault.to_string() },
    }
}

/// The kernel's devices.
struct Kernel {
    devices: PathBuf,
    classes: PathBuf,
}

impl Default for Kernel {
    fn default() -> Kernel {
        Kernel { devices: "/dev".into(), classes: "/sys/class/hidraw".into() }
    }
}

impl Nodes for Kernel {
    fn with_ids(&self, vendor: u16, product: u16) -> Vec<PathBuf> {
        let entries = std::fs::read_dir(&self.classes).into_iter().flatten().filter_map(Result::ok);
        let ours = |about: &str| ids(about) == Some((vendor, product));
        let about = |name: &std::ffi::OsStr| std::fs::read_to_string(self.classes.join(name).join("device/uevent")).ok();
        let names = entries.map(|entry| entry.file_name()).filter(|name| about(name).is_some_and(|about| ours(&about)));
        let mut found: Vec<PathBuf> = names.map(|name| self.devices.join(name)).collect();
        found.sort();
        found
    }

    fn open(&self, device: &Path) -> io::Result<Box<dyn Raw>> {
        let node = device.canonicalize()?;
        let name = node.file_name().ok_or(Errno::INVAL)?;
        let about = self.classes.join(name).join("device/report_descriptor");
        if !about.exists() {
            return Err(io::Error::other("it is no raw HID device"));
        }
        // Without the right to write nothing can be sent to the scale by mistake.
        let flags = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::CLOEXEC | OFlags::NOCTTY;
        let handle = rustix::fs::open(&node, flags, Mode::empty())?;
        rustix::fs::flock(&handle, FlockOperation::NonBlockingLockExclusive)?;
        Ok(Box::new(Open { handle, about }))
    }
}

/// Vendor and product of a raw HID device.
pub(in crate::link) fn ids_of(device: &Path) -> Option<(u16, u16)> {
    let about = Kernel::default().classes.join(device.file_name()?).join("device/uevent");
    ids(&std::fs::read_to_string(about).ok()?)
}

/// Vendor and product of a uevent text: `HID_ID=bus:vendor:product`.
fn ids(about: &str) -> Option<(u16, u16)> {
    let line = about.lines().find_map(|line| line.strip_prefix("HID_ID="))?;
    let mut parts = line.split(':').skip(1).map(|part| u32::from_str_radix(part, 16).ok());
    let mut next = || u16::try_from(parts.next()??).ok();
    Some((next()?, next()?))
}

struct Open {
    handle: OwnedFd,
    about: PathBuf,
}

impl Raw for Open {
    fn descriptor(&self) -> io::Result<Vec<u8>> {
        std::fs::read(&self.about)
    }

    fn report(&mut self, buffer: &mut [u8]) -> io::Result<Option<usize>> {
        let wait = Timespec { tv_sec: 0, tv_nsec: READ_TIMEOUT.0 as _ };
        let mut watched = [PollFd::new(&self.handle, PollFlags::IN)];
        match poll(&mut watched, Some(&wait)) {
            Ok(0) | Err(Errno::INTR) => return Ok(None),
            Ok(_) => {}
            Err(fault) => return Err(fault.into()),
        }
        match rustix::io::read(&self.handle, buffer) {
            Ok(0) => Err(io::ErrorKind::UnexpectedEof.into()),
            Ok(count) => Ok(Some(count)),
            Err(Errno::AGAIN | Errno::INTR) => Ok(None),
            Err(fault) => Err(fault.into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_are_found_by_their_ids() {
        let folder = tempfile::tempdir().unwrap();
        let about =
            [("hidraw0", "0003:00001A2B:00003C4D"), ("hidraw3", "0003:00001A2B:00003C4E"), ("hidraw1", "0003:00001A2B:00003C4D")];
        for (name, id) in about {
            let device = folder.path().join(name).join("device");
            std::fs::create_dir_all(&device).unwrap();
            std::fs::write(device.join("uevent"), format!("DRIVER=hid-generic\nHID_ID={id}\nHID_NAME=x\n")).unwrap();
        }
        let kernel = Kernel { devices: "/dev".into(), classes: folder.path().into() };
        assert_eq!(kernel.with_ids(0x1a2b, 0x3c4e), [PathBuf::from("/dev/hidraw3")]);
        assert_eq!(kernel.with_ids(0x1a2b, 0x3c4d), ["/dev/hidraw0", "/dev/hidraw1"].map(PathBuf::from));
        assert!(kernel.with_ids(0x1a2b, 1).is_empty());
        let several = Hid::among(HidName::Ids { vendor: 0x1a2b, product: 0x3c4d }, Box::new(kernel)).open().unwrap_err();
        assert_eq!(several.code(), "several");
        assert!(several.to_string().contains("/dev/hidraw1"));
    }

    #[test]
    fn a_file_that_is_no_device_is_never_opened() {
        let file = tempfile::NamedTempFile::new().unwrap();
        let mut hid = Hid::new(HidName::Path(file.path().into()));
        assert_eq!(hid.open().unwrap_err().code(), "no-scale");
        let mut none = Hid::new(HidName::Path("/dev/hidraw-none".into()));
        assert_eq!(none.open().unwrap_err().code(), "missing");
        let denied = explain(Path::new("/dev/hidraw0"), &io::ErrorKind::PermissionDenied.into());
        assert!(denied.to_string().contains("60-bismar.rules"));
        assert_eq!(explain(Path::new("/dev/hidraw0"), &Errno::WOULDBLOCK.into()).code(), "busy");
    }
}

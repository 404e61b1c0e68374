//! Which serial ports this machine has.

use std::path::{Path, PathBuf};

/// A port that may have a scale behind it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Port {
    /// The best name: a link that stays with the device, where there is one.
    pub path: PathBuf,
    /// What it leads to now.
    pub device: PathBuf,
}

/// Folders of links that stay with a device: by its serial number first, else by the socket it is plugged into.
pub(super) const STABLE: [&str; 2] = ["/dev/serial/by-id", "/dev/serial/by-path"];

/// Candidates in the order of their names, each device once, USB adapters and boards first, then built-in ports.
pub fn ports() -> Vec<Port> {
    let mut devices: Vec<PathBuf> = entries(Path::new("/dev")).into_iter().filter(|path| usb(path)).collect();
    // The library panics where /sys/class/tty cannot be read, as in a tight sandbox.
    let readable = std::fs::read_dir("/sys/class/tty").is_ok();
    let listed = readable.then(|| std::panic::catch_unwind(serialport::available_ports).ok()).flatten();
    let listed = listed.and_then(Result::ok).unwrap_or_default();
    devices.extend(listed.into_iter().map(|port| PathBuf::from(port.port_name)).filter(|path| path.exists()));
    let folders = STABLE.map(PathBuf::from);
    let mut found: Vec<Port> = Vec::new();
    for device in devices {
        if found.iter().all(|port| port.device != device) {
            found.push(Port { path: link_to(&device, &folders).unwrap_or_else(|| device.clone()), device });
        }
    }
    found
}

/// A better name than `path` for `device`, if `path` is a bare number that changes with the order of plugging.
pub(super) fn stable_name(path: &Path, device: &Path, folders: &[PathBuf]) -> Option<PathBuf> {
    usb(path).then(|| link_to(device, folders)).flatten()
}

fn usb(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    ["ttyUSB", "ttyACM"].iter().any(|prefix| {
        name.strip_prefix(prefix).is_some_and(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
    })
}

/// The first link in `folders` that leads to `device`.
pub(super) fn link_to(device: &Path, folders: &[PathBuf]) -> Option<PathBuf> {
    let mut links = folders.iter().flat_map(|folder| entries(folder));
    links.find(|link| link.canonicalize().is_ok_and(|target| target == device))
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path()).collect();
    paths.sort();
    paths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plugged_numbers_are_called_unstable() {
        assert!(usb(Path::new("/dev/ttyUSB0")));
        assert!(usb(Path::new("/dev/ttyACM12")));
        assert!(!usb(Path::new("/dev/ttyS0")));
        assert!(!usb(Path::new("/dev/ttyUSB")));
        assert!(!usb(Path::new("/dev/serial/by-id/usb-adapter-if00-port0")));
    }

    #[test]
    fn listing_never_fails() {
        let found = ports();
        assert!(found.iter().all(|port| port.device.exists()));
    }
}

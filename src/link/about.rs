//! What kind of device a port is, in words that name no single one: a recording is shown to others.

use super::hid;
use crate::config::PortName;
use std::path::{Path, PathBuf};

/// As `usb 1a2b:3c4d`, with the ids of vendor and product and without the serial number that its path may hold.
pub fn about(name: &PortName, device: &Path) -> String {
    match name {
        PortName::Tcp(_) => "serial bridge over TCP".into(),
        PortName::Hid(_) => hid::ids_of(device).map_or("USB scale".into(), |(vendor, product)| shown(vendor, product)),
        PortName::Device(_) if device.starts_with("/dev/pts") => "pseudo-terminal".into(),
        PortName::Device(_) => {
            usb_ids(Path::new("/sys/class/tty"), device).map_or("serial port".into(), |(vendor, product)| shown(vendor, product))
        }
    }
}

fn shown(vendor: u16, product: u16) -> String {
    format!("usb {vendor:04x}:{product:04x}")
}

/// The ids stand with the USB device, some folders above the port.
fn usb_ids(classes: &Path, device: &Path) -> Option<(u16, u16)> {
    let port: PathBuf = classes.join(device.file_name()?).join("device").canonicalize().ok()?;
    let id = |folder: &Path, name: &str| {
        let text = std::fs::read_to_string(folder.join(name)).ok()?;
        u16::from_str_radix(text.trim(), 16).ok()
    };
    port.ancestors().take(5).find_map(|folder| Some((id(folder, "idVendor")?, id(folder, "idProduct")?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_adapter_is_told_by_its_ids_alone() {
        let folder = tempfile::tempdir().unwrap();
        let usb = folder.path().join("devices/usb1/1-1");
        std::fs::create_dir_all(usb.join("1-1:1.0/ttyUSB7")).unwrap();
        for (name, text) in [("idVendor", "1a2b\n"), ("idProduct", "3c4d\n"), ("serial", "SECRET\n")] {
            std::fs::write(usb.join(name), text).unwrap();
        }
        let class = folder.path().join("class");
        std::fs::create_dir_all(class.join("ttyUSB7")).unwrap();
        std::os::unix::fs::symlink(usb.join("1-1:1.0/ttyUSB7"), class.join("ttyUSB7/device")).unwrap();
        assert_eq!(usb_ids(&class, Path::new("/dev/ttyUSB7")), Some((0x1a2b, 0x3c4d)));
        assert_eq!(usb_ids(&class, Path::new("/dev/ttyUSB8")), None);
        let name = PortName::from("/dev/serial/by-id/usb-maker_SECRET-if00");
        assert_eq!(about(&name, Path::new("/dev/pts/4")), "pseudo-terminal");
        assert_eq!(about(&name, Path::new("/dev/no-such-port")), "serial port");
    }
}

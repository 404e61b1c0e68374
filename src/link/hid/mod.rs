//! USB scales that speak as HID devices: found by their report descriptor, read through hidraw, never written to.

mod descriptor;
mod device;
mod items;

pub use descriptor::{Layout, NoScale, REPORT};
pub(super) use device::ids_of;
pub use device::{Hid, Nodes, Raw};

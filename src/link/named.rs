//! The source behind a configured name.

use super::hid::Hid;
use super::{Line, Poll, Serial, Settings, Source, Tcp};
use crate::clock::Clock;
use crate::config::PortName;

/// What is asked of a source beside its name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Asked {
    /// Of a serial port; a bridge and a USB scale set their own.
    pub line: Line,
    /// Only for a scale that must be asked.
    pub poll: Option<Poll>,
}

/// A source for `name`, not yet opened.
pub fn source(name: &PortName, asked: Asked, clock: Clock) -> Box<dyn Source> {
    let Asked { line, poll } = asked;
    match name {
        PortName::Device(path) => Box::new(Serial::new(Settings { line, poll, ..Settings::new(path) }, clock)),
        PortName::Tcp(bridge) => Box::new(Tcp::new(bridge.clone(), poll, clock)),
        PortName::Hid(name) => Box::new(Hid::new(name.clone())),
    }
}

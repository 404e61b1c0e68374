//! Where bytes come from: serial port, keys, tape, pseudo-terminal; opening, losing, finding again.

pub mod keys;
pub mod player;
mod ports;
pub mod pty;
mod reader;
mod reel;
mod ring;
mod serial;
mod settings;
mod source;
pub mod tape;
mod why;

pub use ports::{Port, ports};
pub use reader::{Reader, Stopped};
pub use reel::{Pace, Reel};
pub use ring::{Event, Item, Ring};
pub use serial::Serial;
pub use settings::{BadLine, Line, Parity, Poll, READ_TIMEOUT, Settings};
pub use source::{Got, Identity, Source};
pub use why::Why;

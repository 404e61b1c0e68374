//! Where bytes come from: serial port, bridge in the network, USB scale, keys, tape, pseudo-terminal; opening, losing, finding again.

mod about;
pub mod hid;
pub mod keys;
mod listener;
mod marks;
mod named;
pub mod player;
mod ports;
mod probe;
pub mod pty;
mod reader;
mod reel;
mod ring;
mod serial;
mod settings;
mod source;
pub mod tape;
mod tcp;
mod telnet;
mod why;

pub use about::about;
pub use listener::{Listener, Modem};
pub use named::{Asked, source};
pub use ports::{Port, ports};
pub use probe::{Damage, Heard, Probe};
pub use reader::{Reader, Stopped};
pub use reel::{Pace, Reel};
pub use ring::{Event, Item, Ring};
pub use serial::Serial;
pub use settings::{BadLine, Line, Parity, Poll, READ_TIMEOUT, Settings};
pub use source::{Got, Identity, Source};
pub use tcp::Tcp;
pub use why::Why;

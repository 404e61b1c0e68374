//! Where bytes come from: serial port, tape, pseudo-terminal; opening, losing, finding again.

pub mod tape;

//! The hunter: every family out of its own stream, every speed out of a simulated line, and nothing out of noise.

#[path = "support/counting.rs"]
mod counting;
#[path = "support/rows.rs"]
#[allow(dead_code)]
mod rows;
#[path = "support/speaker.rs"]
mod speaker;
#[path = "support/uart.rs"]
mod uart;

#[path = "hunt/lines.rs"]
mod lines;
#[path = "hunt/matrix.rs"]
mod matrix;
#[path = "hunt/port.rs"]
mod port;
#[path = "hunt/seeds.rs"]
mod seeds;

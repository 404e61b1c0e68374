//! Waiting for what a reader hears.

use bismar::link::{Event, Item, Reader, Why};
use std::time::Duration;

/// Long enough for any machine: only a hang takes so long.
pub const PATIENCE: Duration = Duration::from_secs(30);

pub fn next(reader: &mut Reader) -> Item {
    reader.recv_within(PATIENCE).expect("nothing came, and the reader waits")
}

pub fn up(reader: &mut Reader) {
    while !matches!(next(reader).event, Event::Up { .. }) {}
}

pub fn down(reader: &mut Reader) -> Why {
    loop {
        if let Event::Down { why } = next(reader).event {
            return why;
        }
    }
}

/// So many bytes, however they are cut.
pub fn bytes(reader: &mut Reader, count: usize) -> Vec<u8> {
    let mut got = Vec::new();
    while got.len() < count {
        match next(reader).event {
            Event::Bytes(some) => got.extend(some),
            Event::Silence { .. } => {}
            other => panic!("{other:?} after {} bytes", got.len()),
        }
    }
    got
}

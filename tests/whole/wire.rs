//! The labelled corpus through a real pseudo-terminal.

use super::rows::{check, rows, whole};
use super::scratch::PATIENCE;
use bismar::clock::Clock;
use bismar::link::pty::Pty;
use bismar::link::{Event, Reader, Serial, Settings, Stopped};
use std::time::Duration;

#[test]
fn every_row_through_a_pseudo_terminal() {
    let pty = Pty::open(None).unwrap();
    let clock = Clock::system();
    let mut reader = Reader::spawn(Serial::new(Settings::new(pty.path()), clock), clock).unwrap();
    while !matches!(reader.recv_within(PATIENCE).unwrap().event, Event::Up { .. }) {}
    for row in &rows() {
        let mut chunks: Vec<Vec<u8>> = Vec::new();
        // Two writes, so that the frame is cut where a port would cut it as well.
        for part in [&row.bytes[..row.bytes.len() / 2], &row.bytes[row.bytes.len() / 2..]] {
            assert_eq!(pty.write(part).unwrap(), part.len());
            let mut left = part.len();
            while left > 0 {
                match reader.recv_within(PATIENCE).expect("every byte comes").event {
                    Event::Bytes(bytes) => {
                        left -= bytes.len();
                        chunks.push(bytes);
                    }
                    Event::Silence { .. } => {}
                    other => panic!("line {}: {other:?}", row.line),
                }
            }
        }
        assert_eq!(chunks.concat(), row.bytes, "line {}", row.line);
        check(row, whole(row), || Box::new(chunks.iter().map(|chunk| &chunk[..])));
    }
    assert!(reader.recv_within(Duration::from_millis(50)).is_none(), "nothing comes that was not sent");
    assert_eq!(reader.stop(), Stopped::Ended);
}

//! One change of one key, and how it passes through the reader as bytes.

/// A key by the kernel's code, which names a place on the keyboard and not what is printed there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stroke {
    pub code: u16,
    pub change: Change,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    Up,
    Down,
    /// It is held, and the keyboard types it again.
    Repeat,
    /// The kernel had no more room: strokes are missing here, of which keys nobody knows.
    Lost,
}

impl Stroke {
    /// What one stroke takes.
    pub const BYTES: usize = 3;

    pub const LOST: Stroke = Stroke { code: 0, change: Change::Lost };

    pub const fn to_bytes(self) -> [u8; Stroke::BYTES] {
        let [low, high] = self.code.to_le_bytes();
        [low, high, self.change as u8]
    }

    /// The strokes of a chunk. A chunk holds whole strokes only.
    pub fn all(bytes: &[u8]) -> impl Iterator<Item = Stroke> {
        bytes.chunks_exact(Stroke::BYTES).filter_map(|chunk| {
            let code = u16::from_le_bytes([chunk[0], chunk[1]]);
            let changes = [Change::Up, Change::Down, Change::Repeat, Change::Lost];
            Some(Stroke { code, change: *changes.get(usize::from(chunk[2]))? })
        })
    }
}

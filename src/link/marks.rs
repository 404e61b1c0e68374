//! Undoing the marks that a terminal with PARMRK puts into its bytes: FF 00 X for a damaged X, FF 00 00 for a break,
//! FF FF for FF (termios(3)).

use super::probe::Heard;

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Marks {
    #[default]
    Plain,
    Marked,
    Damaged,
}

impl Marks {
    pub fn pass(&mut self, bytes: &[u8], heard: &mut Vec<Heard>) {
        for &byte in bytes {
            *self = match (*self, byte) {
                (Marks::Plain, 0xff) => Marks::Marked,
                (Marks::Marked, 0) => Marks::Damaged,
                (state, _) => {
                    heard.push(match (state, byte) {
                        (Marks::Damaged, 0) => Heard::Break,
                        (Marks::Damaged, _) => Heard::Damaged(byte),
                        _ => Heard::Good(byte),
                    });
                    Marks::Plain
                }
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_the_terminal_marks_is_told(line in proptest::collection::vec((any::<u8>(), 0..4), 0..50), size in 1_usize..6) {
            let (mut wire, mut expected) = (Vec::new(), Vec::new());
            for (byte, fate) in line {
                let heard = match fate {
                    0 if byte > 0 => Heard::Damaged(byte),
                    1 => Heard::Break,
                    _ => Heard::Good(byte),
                };
                match heard {
                    Heard::Damaged(byte) => wire.extend([0xff, 0, byte]),
                    Heard::Break => wire.extend([0xff, 0, 0]),
                    Heard::Good(0xff) => wire.extend([0xff, 0xff]),
                    Heard::Good(byte) => wire.push(byte),
                }
                expected.push(heard);
            }
            let (mut marks, mut heard) = (Marks::default(), Vec::new());
            wire.chunks(size).for_each(|chunk| marks.pass(chunk, &mut heard));
            prop_assert_eq!(heard, expected);
        }
    }
}

//! A serial line bit by bit: what a receiver at one speed makes of a sender at another.

use bismar::dialect::hunt::{Char, LineFault};

/// How characters are framed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Frame {
    EightNone,
    SevenEven,
    SevenOdd,
    SevenEvenTwoStop,
    EightEven,
    EightOdd,
}

/// A sender and the receiver that listens to it.
#[derive(Debug, Clone, Copy)]
pub struct Wire {
    pub sent_at: u64,
    pub read_at: u64,
    pub frame: Frame,
    /// Bits of rest between characters.
    pub idle: usize,
    /// Where in a bit the receiver samples, in sixteenths; 8 is the middle.
    pub phase: u64,
    /// Both levels are swapped on the way.
    pub inverted: bool,
}

impl Wire {
    pub fn plain(sent_at: u32, read_at: u32, frame: Frame) -> Wire {
        Wire { sent_at: sent_at.into(), read_at: read_at.into(), frame, idle: 0, phase: 8, inverted: false }
    }

    /// What the receiver, in eight bits without parity, makes of `text` between two rests of the line.
    pub fn receive(&self, text: &[u8]) -> Vec<Char> {
        let levels = self.levels(text);
        // Time is counted in parts that both bit lengths are whole numbers of.
        let (sent, read) = (self.read_at * 16, self.sent_at * 16);
        let end = levels.len() as u64 * sent;
        let level = |at: u64| levels.get((at / sent) as usize).copied().unwrap_or(!self.inverted);
        let mut chars = Vec::new();
        let (mut at, mut before) = (0, !self.inverted);
        while at < end {
            let now = level(at);
            if now || !before {
                before = now;
                at = (at / sent + 1) * sent;
                continue;
            }
            let sample = |bit: u64| level(at + bit * read + read * self.phase / 16);
            let byte = (0..8).fold(0_u8, |byte, bit| byte | u8::from(sample(bit + 1)) << bit);
            let fault = match (sample(9), byte) {
                (true, _) => None,
                (false, 0) => Some(LineFault::Break),
                (false, _) => Some(LineFault::Framing),
            };
            chars.push(Char { byte, fault });
            at += 9 * read + read * self.phase / 16;
            // A start is an edge: a line that is still low has to rise first.
            before = level(at);
            at = (at / sent + 1) * sent;
        }
        chars
    }

    fn levels(&self, text: &[u8]) -> Vec<bool> {
        let mut levels = vec![true; 40];
        for &byte in text {
            let bits = if matches!(self.frame, Frame::EightNone | Frame::EightEven | Frame::EightOdd) { 8 } else { 7 };
            levels.push(false);
            levels.extend((0..bits).map(|bit| byte >> bit & 1 == 1));
            let odd = (byte & if bits == 8 { 0xff } else { 0x7f }).count_ones() % 2 == 1;
            match self.frame {
                Frame::EightNone => {}
                Frame::SevenEven | Frame::SevenEvenTwoStop | Frame::EightEven => levels.push(odd),
                Frame::SevenOdd | Frame::EightOdd => levels.push(!odd),
            }
            levels.extend(std::iter::repeat_n(true, 1 + usize::from(self.frame == Frame::SevenEvenTwoStop) + self.idle));
        }
        levels.extend([true; 40]);
        levels.iter().map(|level| *level != self.inverted).collect()
    }
}

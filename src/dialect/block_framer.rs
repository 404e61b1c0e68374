//! Framing by content: a family tells whether the bytes since a possible start are a frame, may become one, or never
//! will.

use super::Options;
use super::family::Decode;
use super::verdict::Outlet;

/// Longer than any frame of the families.
const BLOCK_MAX: usize = 96;

/// What the bytes since a possible start are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    /// No frame begins like this.
    Never,
    /// A frame may, but it is not complete.
    Open,
    /// The first so many bytes are a frame; the decoder has the last word.
    Whole(usize),
}

#[derive(Debug, Clone)]
pub(super) struct BlockFramer {
    fit: fn(&[u8]) -> Fit,
    decode: Decode,
    window: [u8; BLOCK_MAX],
    length: usize,
}

impl BlockFramer {
    pub fn new(fit: fn(&[u8]) -> Fit, decode: Decode) -> BlockFramer {
        BlockFramer { fit, decode, window: [0; BLOCK_MAX], length: 0 }
    }

    pub fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        self.window[self.length] = byte;
        self.length += 1;
        // Each round gives out a frame or drops a byte, or ends.
        while self.length > 0 {
            match (self.fit)(&self.window[..self.length]) {
                Fit::Open if self.length < BLOCK_MAX => return,
                Fit::Whole(length) if (1..=self.length).contains(&length) => {
                    let decode = self.decode;
                    outlet.settle(decode(&self.window[..length], options), length);
                    self.drop(length);
                }
                // A start that came to nothing was a frame, cut or damaged; other bytes are just noise.
                _ if self.length > 1 && (self.fit)(&self.window[..1]) == Fit::Open => {
                    outlet.refuse(1);
                    self.drop(1);
                }
                // Line ends between frames are nobody's, and are not held against the family.
                _ => {
                    outlet.skip(usize::from(!matches!(self.window[0], b'\r' | b'\n')));
                    self.drop(1);
                }
            }
        }
    }

    /// A frame that pauses in the middle was cut.
    pub fn silence(&mut self, outlet: &mut Outlet) {
        if self.length > 0 {
            outlet.refuse(std::mem::take(&mut self.length));
        }
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        std::mem::take(&mut self.length)
    }

    fn drop(&mut self, count: usize) {
        self.window.copy_within(count..self.length, 0);
        self.length -= count;
    }
}

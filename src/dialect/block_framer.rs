//! Framing by content: a family tells whether the bytes since a possible start are a frame, may become one, or never
//! will.

use super::Options;
use super::family::Decode;
use super::verdict::Outlet;

/// Longer than any frame of the families.
const BLOCK_MAX: usize = 96;

/// What the bytes since a possible start are. It is asked anew with each byte more, from the first one on, so it may look at
/// the last byte alone: without that one they were open.
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

    /// The next bytes, in pieces of any size. A frame that lies whole in one is read where it lies.
    pub fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        let mut rest = bytes;
        while self.length > 0 {
            let Some((&byte, after)) = rest.split_first() else { return };
            self.window[self.length] = byte;
            self.length += 1;
            rest = after;
            let gone = self.rounds(&self.window[..self.length], self.length - 1, options, outlet);
            self.window.copy_within(gone..self.length, 0);
            self.length -= gone;
        }
        let gone = self.rounds(rest, 0, options, outlet);
        let open = &rest[gone..];
        self.window[..open.len()].copy_from_slice(open);
        self.length = open.len();
    }

    /// Gives out the frames in `seen`, whose first `open` bytes are known to be an open one, and drops what begins none;
    /// gives the number of bytes done with. What follows them is open.
    fn rounds(&self, seen: &[u8], open: usize, options: &Options, outlet: &mut Outlet) -> usize {
        let (fit, decode) = (self.fit, self.decode);
        let (mut start, mut end) = (0, open);
        while end < seen.len() {
            end += 1;
            let length = end - start;
            match fit(&seen[start..end]) {
                Fit::Open if length < BLOCK_MAX => continue,
                Fit::Whole(whole) if (1..=length).contains(&whole) => {
                    outlet.settle(decode(&seen[start..start + whole], options), whole);
                    start += whole;
                }
                // A start that came to nothing was a frame, cut or damaged; other bytes are just noise. Line ends between
                // frames are nobody's, and are not held against the family.
                _ => {
                    match seen[start] {
                        _ if length > 1 => outlet.refuse(1),
                        b'\r' | b'\n' => {}
                        _ => outlet.skip(1),
                    }
                    start += 1;
                }
            }
            end = start;
        }
        start
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
}

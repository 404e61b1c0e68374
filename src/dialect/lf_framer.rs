//! Framing of `LF … ETX`.

use super::Options;
use super::family::Decode;
use super::verdict::{Outlet, Verdict};

const LF: u8 = b'\n';
const CR: u8 = b'\r';
const ETX: u8 = 0x03;

/// Longer than any frame of the family, with room for keep-alives before it.
const FRAME_MAX: usize = 64;

#[derive(Debug, Clone)]
pub(super) struct LfFramer {
    decode: Decode,
    frame: [u8; FRAME_MAX],
    length: usize,
    /// We may have come in the middle of a frame, at the LF before its status characters.
    unsure: bool,
}

impl LfFramer {
    pub const fn new(decode: Decode, joined: bool) -> LfFramer {
        LfFramer { decode, frame: [0; FRAME_MAX], length: 0, unsure: joined }
    }

    /// The next bytes, in pieces of any size. A frame that lies whole in one is read where it lies.
    pub fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        let mut rest = bytes;
        while let Some((&first, after)) = rest.split_first() {
            let ahead = &rest[..rest.len().min(FRAME_MAX + 1)];
            if self.length == 0
                && first == LF
                && let Some(end) = memchr::memchr(ETX, ahead)
            {
                let unsure = std::mem::take(&mut self.unsure);
                judge(self.decode, &rest[..end], unsure, options, outlet);
                rest = &rest[end + 1..];
            } else {
                self.take(first, options, outlet);
                rest = after;
            }
        }
    }

    fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        if byte == ETX {
            let length = std::mem::take(&mut self.length);
            let unsure = std::mem::take(&mut self.unsure);
            return judge(self.decode, &self.frame[..length], unsure, options, outlet);
        }
        if self.length == 0 && byte != LF {
            outlet.skip(usize::from(byte != CR));
            return;
        }
        if self.length == FRAME_MAX {
            let later = self.frame[1..].iter().position(|&byte| byte == LF);
            let gone = later.map_or(FRAME_MAX, |index| index + 1);
            outlet.refuse(gone);
            self.frame.copy_within(gone.., 0);
            self.length -= gone;
            return self.take(byte, options, outlet);
        }
        self.frame[self.length] = byte;
        self.length += 1;
    }

    pub fn silence(&mut self, outlet: &mut Outlet) {
        let pending = &self.frame[..self.length];
        if pending.iter().any(|&byte| !matches!(byte, LF | CR)) {
            outlet.refuse(pending.len());
            // What may still come of this frame starts with an LF of its own.
            self.unsure = true;
        }
        self.length = 0;
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        self.unsure = true;
        std::mem::take(&mut self.length)
    }
}

/// One frame, without its ETX.
fn judge(decode: Decode, frame: &[u8], unsure: bool, options: &Options, outlet: &mut Outlet) {
    match decode(frame, options) {
        Verdict::Reading(reading) if unsure && reading.value.is_none() => outlet.skip(frame.len() + 1),
        _ if frame.is_empty() => outlet.skip(1),
        verdict => outlet.settle(verdict, frame.len() + 1),
    }
}

//! Framing of lines: any mix of CR and LF, or CR NUL, ends one; blank lines are keep-alives.

use super::Options;
use super::family::Decode;
use super::verdict::Outlet;

/// Longer than any line of the families; what does not fit is no frame.
const LINE_MAX: usize = 96;

#[derive(Debug, Clone)]
pub(super) struct LineFramer {
    decode: Decode,
    /// A frame opens with a header, so that a remainder of one cannot pass for a whole one.
    headed: bool,
    line: [u8; LINE_MAX],
    /// Bytes of this line so far; more than [`LINE_MAX`] when it is too long.
    length: usize,
    /// The line began before we listened: it is dropped up to its end.
    cut: bool,
    after_return: bool,
}

impl LineFramer {
    pub const fn new(decode: Decode, headed: bool, joined: bool) -> LineFramer {
        LineFramer { decode, headed, line: [0; LINE_MAX], length: 0, cut: joined, after_return: false }
    }

    pub fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        if matches!(byte, b'\r' | b'\n') {
            self.end(options, outlet);
            self.after_return = byte == b'\r';
            return;
        }
        // Telnet bridges send CR NUL for CR. Anywhere else a NUL may be a byte that the driver found damaged.
        let padding = byte == 0 && self.after_return;
        self.after_return = false;
        if padding {
            return;
        }
        if let Some(place) = self.line.get_mut(self.length) {
            *place = byte;
        }
        self.length = self.length.saturating_add(1);
    }

    fn end(&mut self, options: &Options, outlet: &mut Outlet) {
        let length = std::mem::take(&mut self.length);
        let cut = std::mem::take(&mut self.cut);
        match self.line.get(..length) {
            Some([]) => {}
            _ if cut => outlet.skip(length),
            Some(line) => outlet.settle((self.decode)(line, options), length),
            None => outlet.refuse(length),
        }
    }

    /// A line without an end is a cut one. Without a header the rest of it, should it still come, would look whole.
    pub fn silence(&mut self, outlet: &mut Outlet) {
        let length = std::mem::take(&mut self.length);
        if length > 0 {
            outlet.refuse(length);
            self.cut |= !self.headed;
        }
        self.after_return = false;
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        self.cut = true;
        self.after_return = false;
        std::mem::take(&mut self.length)
    }
}

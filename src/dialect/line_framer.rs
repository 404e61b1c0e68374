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

    /// The next bytes, in pieces of any size. A line that lies whole in one is read where it lies.
    pub fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        let mut rest = bytes;
        while let Some(at) = memchr::memchr2(b'\r', b'\n', rest) {
            let (text, end) = (self.unpadded(&rest[..at]), rest[at]);
            rest = &rest[at + 1..];
            let cut = std::mem::take(&mut self.cut);
            if self.length == 0 {
                judge(self.decode, Some(text), text.len(), cut, options, outlet);
            } else {
                self.keep(text);
                let length = std::mem::take(&mut self.length);
                judge(self.decode, self.line.get(..length), length, cut, options, outlet);
            }
            self.after_return = end == b'\r';
        }
        let text = self.unpadded(rest);
        self.keep(text);
    }

    /// Telnet bridges send CR NUL for CR. Anywhere else a NUL may be a byte that the driver found damaged.
    fn unpadded<'a>(&mut self, text: &'a [u8]) -> &'a [u8] {
        let Some((first, rest)) = text.split_first() else { return text };
        let padding = std::mem::take(&mut self.after_return) && *first == 0;
        if padding { rest } else { text }
    }

    fn keep(&mut self, text: &[u8]) {
        let free = self.line.get_mut(self.length..).unwrap_or_default();
        let fits = free.len().min(text.len());
        free[..fits].copy_from_slice(&text[..fits]);
        self.length = self.length.saturating_add(text.len());
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

/// `line`: all `length` bytes of it, or nothing where it is too long.
fn judge(decode: Decode, line: Option<&[u8]>, length: usize, cut: bool, options: &Options, outlet: &mut Outlet) {
    match line.filter(|line| line.len() <= LINE_MAX) {
        Some([]) => {}
        _ if cut => outlet.skip(length),
        Some(line) => outlet.settle(decode(line, options), length),
        None => outlet.refuse(length),
    }
}

//! Framing of reports of one fixed length that follow each other without a mark between them.
//!
//! Where the stream begins at a report, or behind a silence, each report follows the one before. Joined anywhere, or
//! after a damaged report, the boundary is the one place in the length at which everything makes sense, once every
//! other place has been refuted, or where two pieces in a row were one report each, as a device hands them on; until then
//! nothing is given out.

use super::Options;
use super::family::Decode;
use super::verdict::Outlet;

const LENGTH_MAX: usize = 8;

#[derive(Debug, Clone)]
pub(super) struct ReportFramer {
    decode: Decode,
    makes_sense: fn(&[u8]) -> bool,
    length: usize,
    /// The last bytes, the newest at the end.
    window: [u8; LENGTH_MAX],
    /// Bytes since the stream began, was restarted or lost its boundary.
    seen: usize,
    /// Bytes that are neither in a report nor counted as unexplained.
    pending: usize,
    boundary: Boundary,
    /// The last piece was one whole report.
    whole: bool,
}

#[derive(Debug, Clone, Copy)]
enum Boundary {
    /// Reports end where the number of bytes seen leaves this remainder.
    At(usize),
    /// One bit a remainder: refuted there.
    Sought { refuted: u8 },
}

impl ReportFramer {
    /// Reports of `length` bytes, at most eight.
    pub fn new(length: usize, makes_sense: fn(&[u8]) -> bool, decode: Decode, joined: bool) -> ReportFramer {
        let boundary = if joined { Boundary::Sought { refuted: 0 } } else { Boundary::At(0) };
        ReportFramer { decode, makes_sense, length, window: [0; LENGTH_MAX], seen: 0, pending: 0, boundary, whole: false }
    }

    /// The next bytes, in pieces of any size.
    pub fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        let whole = bytes.len() == self.length && (self.makes_sense)(bytes);
        if whole && self.whole && matches!(self.boundary, Boundary::Sought { .. }) {
            self.boundary = Boundary::At(self.seen % self.length);
        }
        self.whole = whole;
        bytes.iter().for_each(|&byte| self.take(byte, options, outlet));
    }

    fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        self.window.copy_within(1.., 0);
        self.window[LENGTH_MAX - 1] = byte;
        self.seen += 1;
        self.pending += 1;
        if self.seen < self.length {
            return;
        }
        let place = self.seen % self.length;
        let fits = (self.makes_sense)(self.report());
        match self.boundary {
            Boundary::At(boundary) if boundary != place => {}
            Boundary::At(_) if fits => self.settle(options, outlet),
            Boundary::At(_) => {
                outlet.refuse(std::mem::take(&mut self.pending));
                self.seek();
            }
            Boundary::Sought { refuted } => {
                let refuted = if fits { refuted } else { refuted | 1 << place };
                let all = (1 << self.length) - 1;
                self.boundary = Boundary::Sought { refuted };
                if refuted == all {
                    outlet.skip(std::mem::take(&mut self.pending));
                    self.seek();
                } else if refuted | 1 << place == all && fits {
                    self.boundary = Boundary::At(place);
                    self.settle(options, outlet);
                }
            }
        }
    }

    /// A report that pauses in the middle was cut, and what follows begins one. The silence is a boundary, too: behind
    /// at least one whole report, which may be an old one, the last bytes are one.
    pub fn silence(&mut self, options: &Options, outlet: &mut Outlet) {
        let place = self.seen % self.length;
        let open = matches!(self.boundary, Boundary::Sought { refuted } if refuted & 1 << place == 0);
        if open && self.seen > self.length && (self.makes_sense)(self.report()) {
            self.settle(options, outlet);
        } else if self.pending > 0 {
            outlet.refuse(std::mem::take(&mut self.pending));
        }
        (self.seen, self.boundary) = (0, Boundary::At(0));
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        self.seek();
        std::mem::take(&mut self.pending)
    }

    fn report(&self) -> &[u8] {
        &self.window[LENGTH_MAX - self.length..]
    }

    fn seek(&mut self) {
        (self.seen, self.boundary, self.whole) = (0, Boundary::Sought { refuted: 0 }, false);
    }

    fn settle(&mut self, options: &Options, outlet: &mut Outlet) {
        outlet.skip(self.pending - self.length);
        self.pending = 0;
        let decode = self.decode;
        outlet.settle(decode(self.report(), options), self.length);
    }
}

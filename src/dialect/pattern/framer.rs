//! Frames of an own pattern: what stands between two of its end bytes.

use super::Pattern;
use crate::dialect::Options;
use crate::dialect::verdict::Outlet;
use regex::bytes::CaptureLocations;

/// What does not fit is no frame.
const FRAME_MAX: usize = 128;

#[derive(Debug, Clone)]
pub struct PatternFramer {
    pattern: Pattern,
    places: CaptureLocations,
    frame: [u8; FRAME_MAX],
    /// Bytes of this frame so far; more than [`FRAME_MAX`] when it is too long.
    length: usize,
    /// The frame began before we listened.
    cut: bool,
}

impl PatternFramer {
    pub fn new(pattern: Pattern, joined: bool) -> PatternFramer {
        let places = pattern.regex.capture_locations();
        PatternFramer { pattern, places, frame: [0; FRAME_MAX], length: 0, cut: joined }
    }

    pub fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        if self.pattern.ends.contains(&byte) {
            return self.end(options, outlet);
        }
        if let Some(place) = self.frame.get_mut(self.length) {
            *place = byte;
        }
        self.length = self.length.saturating_add(1);
    }

    fn end(&mut self, options: &Options, outlet: &mut Outlet) {
        let length = std::mem::take(&mut self.length);
        let cut = std::mem::take(&mut self.cut);
        match self.frame.get(..length) {
            Some([]) => {}
            _ if cut => outlet.skip(length),
            Some(frame) => outlet.settle(self.pattern.decode(frame, &mut self.places, options), length),
            None => outlet.refuse(length),
        }
    }

    /// A frame without its end is a cut one, and so is the rest of it, should it still come.
    pub fn silence(&mut self, outlet: &mut Outlet) {
        let length = std::mem::take(&mut self.length);
        if length > 0 {
            outlet.refuse(length);
            self.cut = true;
        }
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        self.cut = true;
        std::mem::take(&mut self.length)
    }
}

//! Framing of `STX … CR` with or without a checksum byte, which may itself look like STX or CR.
//!
//! Frames are found by length and by what may stand in each place, never by the next STX alone. Whether a scale
//! sends the checksum is learned from its frames: until it is known, a frame waits for the byte behind it.

use super::Options;
use super::family::Decode;
use super::verdict::Outlet;

const STX: u8 = 0x02;
/// The longest frame, its checksum, and the byte that tells whether that was one.
const WINDOW: usize = 17 + 2;

/// How the frames of one family look.
#[derive(Debug)]
pub(super) struct WordsShape {
    /// Bytes of a frame without its checksum, at most 17.
    pub length: usize,
    /// Whether a byte can be the first status word.
    pub opens: fn(u8) -> bool,
    /// Whether these first bytes, at most `length`, can be those of a frame.
    pub may_become: fn(&[u8]) -> bool,
}

/// What makes the sum of a whole frame zero in its low 7 bits.
pub(super) fn checksum(frame: &[u8]) -> u8 {
    frame.iter().fold(0_u8, |sum, &byte| sum.wrapping_add(byte)).wrapping_neg() & 0x7f
}

/// So many frames in a row without a checksum, and the next one need not wait.
const SURE_WITHOUT: i8 = -3;
/// So many frames in a row with a good checksum, and one without it is damaged.
const SURE_WITH: i8 = 2;

#[derive(Debug, Clone)]
pub(super) struct StxFramer {
    shape: &'static WordsShape,
    decode: Decode,
    window: [u8; WINDOW],
    length: usize,
    /// Frames in a row with (positive) or without (negative) a checksum.
    evidence: i8,
    /// The checksum that the frame just given out would have had, until the next byte has come.
    owed: Option<u8>,
}

impl StxFramer {
    pub const fn new(shape: &'static WordsShape, decode: Decode) -> StxFramer {
        StxFramer { shape, decode, window: [0; WINDOW], length: 0, evidence: 0, owed: None }
    }

    /// The next bytes, in pieces of any size.
    pub fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        let whole = self.shape.length;
        let mut rest = bytes;
        while let Some((&first, after)) = rest.split_first() {
            // Of a frame that may become one to its end each beginning may, too: nothing happens before its last byte.
            if self.length == 0
                && self.owed.is_none()
                && let Some((frame, behind)) = rest.split_at_checked(whole)
                && (self.shape.may_become)(frame)
            {
                let sum = checksum(frame);
                if self.evidence > SURE_WITHOUT && sum != STX && behind.first() == Some(&sum) {
                    self.tell(&rest[..=whole], true, options, outlet);
                    rest = &behind[1..];
                    continue;
                }
                self.window[..whole].copy_from_slice(frame);
                self.length = whole;
                self.work(false, options, outlet);
                rest = behind;
            } else {
                self.take(first, options, outlet);
                rest = after;
            }
        }
    }

    fn take(&mut self, byte: u8, options: &Options, outlet: &mut Outlet) {
        if let Some(owed) = self.owed.take()
            && byte != STX
        {
            self.evidence = i8::from(byte == owed);
            outlet.skip(usize::from(byte != owed));
            return;
        }
        self.window[self.length] = byte;
        self.length += 1;
        self.work(false, options, outlet);
    }

    pub fn silence(&mut self, options: &Options, outlet: &mut Outlet) {
        self.owed = None;
        self.work(true, options, outlet);
        if self.length > 0 {
            outlet.refuse(self.length);
            self.length = 0;
        }
    }

    /// Gives the number of bytes let go.
    pub fn restart(&mut self) -> usize {
        let gone = self.length;
        *self = StxFramer::new(self.shape, self.decode);
        gone
    }

    /// Each round gives out a frame or drops a byte, or ends.
    fn work(&mut self, silent: bool, options: &Options, outlet: &mut Outlet) {
        let WordsShape { length: whole, opens, may_become } = *self.shape;
        while self.length > 0 {
            let window = self.window;
            let seen = &window[..self.length];
            let frame = &seen[..whole.min(self.length)];
            if !may_become(frame) {
                if frame[0] == STX {
                    outlet.refuse(1);
                } else {
                    outlet.skip(1);
                }
                self.drop(1);
                continue;
            }
            if frame.len() < whole {
                return;
            }
            let checksum = checksum(frame);
            match seen[whole..] {
                [] if self.evidence <= SURE_WITHOUT => {
                    self.give(frame, false, options, outlet);
                    self.owed = Some(checksum);
                }
                [] if silent && self.evidence < SURE_WITH => self.give(frame, false, options, outlet),
                [] => return,
                [STX] if checksum == STX && !silent => return,
                [STX, next] if checksum == STX && (self.evidence >= SURE_WITH || !opens(next)) => {
                    self.give(&seen[..=whole], true, options, outlet);
                }
                [STX] if checksum == STX => self.give(&seen[..=whole], true, options, outlet),
                [STX, ..] if self.evidence >= SURE_WITH => {
                    // Its checksum was lost; if that goes on, the scale has been set to send none.
                    self.evidence -= 1;
                    outlet.refuse(whole);
                    self.drop(whole);
                }
                [STX, ..] => self.give(frame, false, options, outlet),
                [last, ..] if last == checksum => self.give(&seen[..=whole], true, options, outlet),
                _ => {
                    outlet.refuse(1);
                    self.drop(1);
                }
            }
        }
    }

    fn give(&mut self, frame: &[u8], checked: bool, options: &Options, outlet: &mut Outlet) {
        self.tell(frame, checked, options, outlet);
        self.drop(frame.len());
    }

    /// Hands out a frame: with the checksum that was verified, else with nothing behind it.
    fn tell(&mut self, frame: &[u8], checked: bool, options: &Options, outlet: &mut Outlet) {
        let step = if checked { 1 } else { -1 };
        self.evidence = if self.evidence.signum() == -step { step } else { (self.evidence + step).clamp(-4, 4) };
        let verdict = (self.decode)(frame, options);
        outlet.settle(if checked { verdict.checked() } else { verdict }, frame.len());
    }

    fn drop(&mut self, count: usize) {
        self.window.copy_within(count..self.length, 0);
        self.length -= count;
    }
}

#[cfg(test)]
mod tests {
    use crate::dialect::{Census, Dialect, Flags, Kind, Options, Parity, ReadUnit, Reading, Stability, Stream, encode};
    use crate::measure::{Displayed, Unit};

    fn clean() -> Options {
        Options { census: Census::Settled(Parity::Clear), ..Options::default() }
    }

    /// One frame of a scale, its checksum behind it.
    fn checked_frame(count: i64) -> Vec<u8> {
        let blank = Reading::without_weight(Flags::default());
        let reading = Reading {
            value: Some(Displayed { count, exponent: -2 }),
            unit: ReadUnit::Stated(Unit::Kilogram),
            kind: Kind::Gross,
            stability: Stability::Stable,
            ..blank
        };
        let mut bytes = Vec::new();
        encode(Dialect::StxStatusWords, &reading, &clean(), &mut bytes).unwrap();
        bytes
    }

    #[test]
    fn a_scale_that_has_sent_checksums_is_not_believed_without() {
        let mut stream = Stream::new(Dialect::StxStatusWords, clean());
        let mut given = 0;
        for count in 1..=4 {
            stream.push(&checked_frame(count), &mut |_| given += 1);
        }
        assert_eq!((given, stream.tally().checked), (4, 4));
        stream.push(&checked_frame(5)[..17], &mut |_| given += 1);
        stream.silence(&mut |_| given += 1);
        stream.push(&[&checked_frame(6)[..17], &checked_frame(7)[..]].concat(), &mut |_| given += 1);
        assert_eq!(given, 5);

        // Set to send none, it is read again before long.
        for count in 8..16 {
            stream.push(&checked_frame(count)[..17], &mut |_| given += 1);
        }
        assert!(given > 9, "{given}");
    }

    #[test]
    fn a_scale_that_begins_to_send_checksums_is_held_to_them() {
        let mut stream = Stream::new(Dialect::StxStatusWords, clean());
        let mut given = 0;
        for count in 1..=6 {
            stream.push(&checked_frame(count)[..17], &mut |_| given += 1);
        }
        stream.push(&checked_frame(7), &mut |_| given += 1);
        assert_eq!(given, 7);
        let mut damaged = checked_frame(8);
        damaged[7] ^= 1;
        stream.push(&damaged, &mut |_| given += 1);
        stream.push(&checked_frame(9), &mut |_| given += 1);
        assert_eq!(given, 8);
    }

    #[test]
    fn a_checksum_that_looks_like_a_start_is_known_for_one() {
        let like_start = (0..1_000_000).map(checked_frame).find(|frame| frame[17] == 0x02).unwrap();
        let mut stream = Stream::new(Dialect::StxStatusWords, clean());
        for _ in 0..4 {
            // The comma is noise, though it could be the first status word.
            stream.push(&like_start, &mut |_| ());
            stream.push(b",", &mut |_| ());
        }
        stream.silence(&mut |_| ());
        assert_eq!(stream.tally().frames, 4);
        // So far nothing has told them from frames without one.
        assert_eq!(stream.tally().checked, 0);

        let mut stream = Stream::new(Dialect::StxStatusWords, clean());
        for count in [1, 2] {
            stream.push(&checked_frame(count), &mut |_| ());
        }
        stream.push(&like_start, &mut |_| ());
        stream.push(b",", &mut |_| ());
        assert_eq!((stream.tally().frames, stream.tally().checked), (3, 3));
    }

    /// The reader need not wait for the byte behind a frame once it knows that the scale sends no checksum.
    #[test]
    fn a_frame_without_checksum_is_given_at_its_last_byte() {
        let mut stream = Stream::new(Dialect::StxStatusWords, clean());
        let mut given = 0;
        for expected in [0, 1, 2, 4, 5, 6] {
            stream.push(b"\x0258    123     0\r", &mut |_| given += 1);
            assert_eq!(given, expected);
        }
    }
}

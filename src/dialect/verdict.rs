//! What a decoder makes of one frame.

use super::{Reading, Tally};

/// What a decoder makes of the bytes between two frame boundaries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    Reading(Reading),
    /// A frame that tells several weights at once; of gross and net the live one stands last.
    Several([Option<Reading>; 3]),
    /// The same, or one weight alone, from a frame whose checksum was verified.
    Checked([Option<Reading>; 3]),
    /// Well-formed, but there is nothing to tell: a keep-alive, an echo of a request.
    Quiet,
    Refused,
}

impl Verdict {
    /// What was made of a frame, once its checksum has been verified.
    pub const fn checked(self) -> Verdict {
        match self {
            Verdict::Reading(reading) => Verdict::Checked([Some(reading), None, None]),
            Verdict::Several(readings) => Verdict::Checked(readings),
            other => other,
        }
    }
}

/// Where framers put what they find.
pub(super) struct Outlet<'a> {
    pub emit: &'a mut dyn FnMut(Reading),
    pub tally: &'a mut Tally,
}

impl Outlet<'_> {
    /// Counts one frame of `length` bytes and hands its reading on.
    pub fn settle(&mut self, verdict: Verdict, length: usize) {
        match verdict {
            Verdict::Reading(reading) => {
                self.tally.frames += 1;
                (self.emit)(reading);
            }
            Verdict::Several(readings) | Verdict::Checked(readings) => {
                self.tally.frames += 1;
                self.tally.checked += u64::from(matches!(verdict, Verdict::Checked(_)));
                readings.into_iter().flatten().for_each(|reading| (self.emit)(reading));
            }
            Verdict::Quiet => {}
            Verdict::Refused => self.refuse(length),
        }
    }

    /// Counts one frame that is no frame of this family, and its bytes as unexplained.
    pub fn refuse(&mut self, length: usize) {
        self.tally.refused += 1;
        self.skip(length);
    }

    /// Counts bytes that no frame explains.
    pub fn skip(&mut self, length: usize) {
        self.tally.skipped += length as u64;
    }
}

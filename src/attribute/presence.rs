//! Whether somebody is at the bench.
//!
//! A slow thing may give no drop for an hour, so silence is not idleness: a bench that is worked at shakes, and the
//! shaking shows in the display. Only when nothing at all moved for a long time is it asked, on return: working or away?

use crate::measure::{Mass, Moment, Span};

/// Nobody works at a bench for so long without a tremble of the display.
const STILL: Span = Span::seconds(600);

/// The last sign of somebody.
#[derive(Debug, Clone, Copy)]
pub struct Presence {
    last: Moment,
}

impl Presence {
    pub fn since(at: Moment) -> Presence {
        Presence { last: at }
    }

    /// A sign of somebody: a key, an order, a change of the load. Returns how long it was still before it, if that was
    /// long enough to ask.
    pub fn sign(&mut self, at: Moment) -> Option<(Moment, Span)> {
        let since = self.last;
        self.last = at.max(since);
        let still = at.since(since);
        (still >= STILL).then_some((since, still))
    }

    /// Whether a reading differs from the rest by more than the flicker between adjacent values.
    pub fn trembles(load: Mass, rest: Mass, division: Mass) -> bool {
        (load - rest).abs() >= division * 2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_long_stillness_is_asked() {
        let at = |seconds: u64| Moment(seconds * 1_000_000_000);
        let mut presence = Presence::since(at(0));
        assert_eq!(presence.sign(at(599)), None);
        assert_eq!(presence.sign(at(1199)), Some((at(599), Span::seconds(600))));
        assert_eq!(presence.sign(at(1200)), None);
        assert_eq!(presence.sign(at(100)), None, "an order that was stamped earlier is no step back");
    }

    #[test]
    fn flicker_is_no_tremble() {
        let grams = Mass::grams;
        assert!(!Presence::trembles(grams(501), grams(500), grams(1)));
        assert!(Presence::trembles(grams(498), grams(500), grams(1)));
    }
}

//! Which keys are down, so that a held key acts once.

use super::stroke::{Change, Stroke};
use std::collections::BTreeSet;

/// Keys that are down now.
#[derive(Debug, Default)]
pub struct Held(BTreeSet<u16>);

impl Held {
    /// Whether this stroke is a key going down that was up before.
    pub fn is_fresh(&mut self, stroke: Stroke) -> bool {
        match stroke.change {
            Change::Down => self.0.insert(stroke.code),
            Change::Up => {
                self.0.remove(&stroke.code);
                false
            }
            Change::Repeat | Change::Lost => false,
        }
    }
}

//! The idempotency keys of the last writes.

use imbl::{OrdMap, Vector};

/// A tablet with a bad radio repeats a write within minutes; a few thousand writes back is months of use.
const KEPT: usize = 4096;

#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Keys {
    events: OrdMap<String, (u64, u64)>,
    order: Vector<String>,
}

impl Keys {
    pub fn get(&self, key: &str) -> Option<(u64, u64)> {
        self.events.get(key).copied()
    }

    pub fn note(&mut self, key: &str, seq: u64) {
        if let Some((_, last)) = self.events.get_mut(key) {
            *last = seq;
            return;
        }
        self.events.insert(key.to_owned(), (seq, seq));
        self.order.push_back(key.to_owned());
        if self.order.len() > KEPT
            && let Some(oldest) = self.order.pop_front()
        {
            self.events.remove(&oldest);
        }
    }
}

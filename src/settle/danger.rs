//! Small pieces near the display's zero, where the scale's own zero tracking may swallow the next ones.
//!
//! A scale that tracks its zero takes whatever comes on slowly or in parts of a division for drift (usual makes
//! follow half a division a second, from memory). What it has swallowed cannot be seen from outside, so the
//! danger is told by the pieces of a few divisions that were still seen there.

use super::finding::{Act, Step};
use crate::measure::{Mass, Moment, Span};

#[derive(Debug, Default)]
pub struct Danger {
    seen: u32,
    last: Option<Moment>,
    told: Option<Moment>,
}

impl Danger {
    /// So many divisions are a small piece, and near zero.
    const FEW: i128 = 3;
    const PIECES: u32 = 3;
    /// Pieces further apart than this are no dribble.
    const APART: Span = Span::seconds(120);
    /// It is told once in this time.
    const QUIET: Span = Span::seconds(3600);

    /// Whether it is time to advise a container, now that `step` has come.
    pub fn see(&mut self, step: &Step, division: Mass) -> bool {
        let few = division * Danger::FEW;
        let at = step.recognised;
        if step.act != Act::Added || step.delta > few || step.from.load.abs() > few {
            return false;
        }
        let joined = self.last.is_some_and(|last| at.since(last) <= Danger::APART);
        self.last = Some(at);
        self.seen = if joined { self.seen.saturating_add(1) } else { 1 };
        let quiet = self.told.is_none_or(|told| at.since(told) >= Danger::QUIET);
        let tell = quiet && self.seen >= Danger::PIECES;
        if tell {
            self.told = Some(at);
        }
        tell
    }
}

//! What a frame is asked to say.

use super::{Flags, ReadUnit, Reading, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

/// A weight without a mark against it, or one of the `marks` that the family has, without a weight.
pub(super) fn sayable(reading: &Reading, marks: &[Flags]) -> Result<(), Unsayable> {
    let plain = Flags { zero: false, ..reading.flags };
    let marked = plain != Flags::default();
    match reading.value {
        _ if reading.news.is_some() => Err(Unsayable::News),
        Some(_) if marked => Err(Unsayable::Mark),
        None if !marked => Err(Unsayable::Nothing),
        None if !marks.contains(&plain) => Err(Unsayable::Mark),
        _ => Ok(()),
    }
}

/// The weight to send, or none where one of the `marks` says why.
pub(super) fn to_send(reading: &Reading, marks: &[Flags]) -> Result<Option<Displayed>, Unsayable> {
    sayable(reading, marks).map(|()| reading.value)
}

/// What a frame is asked to say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    Weight(Displayed),
    Mark(Flags),
}

/// The weight to send, or which of the `marks` says why there is none.
pub(super) fn said(reading: &Reading, marks: &[Flags]) -> Result<Said, Unsayable> {
    let weight = to_send(reading, marks)?;
    Ok(weight.map_or(Said::Mark(Flags { zero: false, ..reading.flags }), Said::Weight))
}

/// Whether the frame is to say moving; it must say one or the other.
pub(super) const fn moving(reading: &Reading) -> Result<bool, Unsayable> {
    match reading.stability {
        Stability::Stable => Ok(false),
        Stability::Motion => Ok(true),
        Stability::Unknown => Err(Unsayable::Stability),
    }
}

pub(super) const fn stated(reading: &Reading) -> Result<Unit, Unsayable> {
    match reading.unit {
        ReadUnit::Stated(unit) => Ok(unit),
        _ => Err(Unsayable::Unit),
    }
}

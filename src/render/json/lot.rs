//! Lots as JSON.

use super::{MassView, StampView, expanded, state};
use crate::query;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An intake: what was weighed before it is taken apart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LotView {
    /// The same number as that of its entry among the drops.
    pub id: u64,
    pub bench: u16,
    /// Null until somebody says what it is.
    pub feed: Option<String>,
    /// To which depth it is taken apart, in the owner's own word.
    pub depth: Option<String>,
    /// Null where it was only counted.
    pub mass: Option<MassView>,
    pub uncertainty_kg: String,
    pub pieces: Option<u32>,
    /// The arrival that it came with.
    pub arrival: Option<u64>,
    /// The number of the bin that it was drawn from.
    pub drawn_from_bin: Option<u32>,
    pub session: Option<u64>,
    pub state: String,
    /// It is being worked on, and in no yield yet.
    pub open: bool,
    pub at: StampView,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

impl From<&query::LotLine> for LotView {
    fn from(line: &query::LotLine) -> LotView {
        LotView {
            id: line.lot.0,
            bench: line.bench.0,
            feed: line.feed.clone(),
            depth: line.depth.clone(),
            mass: line.mass.map(MassView::from),
            pieces: line.pieces,
            arrival: line.arrival,
            drawn_from_bin: line.drawn_from,
            uncertainty_kg: expanded(line.variance),
            session: line.session.map(|session| session.0),
            state: state(line.state).to_owned(),
            open: line.open,
            at: (&line.at).into(),
            version: line.version,
        }
    }
}

//! Drives with bins, as JSON.

use super::{MassView, MoneyView};
use crate::query::RunLine;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RunView {
    pub id: u64,
    pub day: String,
    /// Buyers in the order of driving.
    pub stops: Vec<String>,
    pub loads: Vec<RunBinView>,
    pub distance_km: Option<String>,
    pub minutes: Option<u64>,
    pub cost: Option<MoneyView>,
    /// That stand and have anything of it.
    pub tickets: Vec<u64>,
    pub taken_back: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RunBinView {
    pub bin: u32,
    /// By the books; null for a part that nobody weighed.
    pub mass: Option<MassView>,
    pub whole: bool,
}

impl From<&RunLine> for RunView {
    fn from(line: &RunLine) -> RunView {
        let bin =
            |load: &crate::query::RunBin| RunBinView { bin: load.number, mass: load.mass.map(MassView::from), whole: load.whole };
        RunView {
            id: line.run,
            day: line.day.to_string(),
            stops: line.stops.clone(),
            loads: line.loads.iter().map(bin).collect(),
            distance_km: line.distance_km.map(|distance| distance.to_string()),
            minutes: line.span.map(|span| span.as_seconds() / 60),
            cost: line.cost.map(MoneyView::from),
            tickets: line.tickets.iter().map(|ticket| ticket.0).collect(),
            taken_back: line.taken_back,
        }
    }
}

impl RunView {
    /// Nothing of it is on a ticket, and it stands.
    pub fn open(&self) -> bool {
        !self.taken_back && self.tickets.is_empty()
    }

    /// `3, 4, 5 (a part)`.
    pub fn bins(&self) -> String {
        let bin = |load: &RunBinView| format!("{}{}", load.bin, if load.whole { "" } else { " (a part)" });
        self.loads.iter().map(bin).collect::<Vec<_>>().join(", ")
    }
}

//! What came into each bin day by day, as JSON.

use super::MassView;
use crate::query;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WeekView {
    /// The books stand at this event.
    pub seq: u64,
    /// Seven local days, the oldest first.
    pub days: Vec<String>,
    /// Bins of which nothing changed are left out.
    pub bins: Vec<BinWeekView>,
    /// Of all bins, day by day.
    pub sums: Vec<MassView>,
    pub total: MassView,
    /// What came without a clock that could be trusted: in no day here.
    pub undated: MassView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BinWeekView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    /// What went in less what came out, day by day.
    pub days: Vec<MassView>,
    pub total: MassView,
}

impl BinWeekView {
    /// `3 copper`, by the name of the bin or else of its grade.
    pub fn label(&self) -> String {
        match self.name.as_ref().or(self.grade.as_ref()) {
            Some(name) => format!("{} {name}", self.number),
            None => self.number.to_string(),
        }
    }
}

impl From<&query::Week> for WeekView {
    fn from(week: &query::Week) -> WeekView {
        let views = |days: [crate::measure::Mass; 7]| days.into_iter().map(MassView::from).collect();
        let bin = |bin: &query::BinWeek| BinWeekView {
            number: bin.number,
            name: bin.name.clone(),
            grade: bin.grade.clone(),
            days: views(bin.days),
            total: bin.sum().into(),
        };
        WeekView {
            seq: week.seq,
            days: week.days.iter().map(jiff::civil::Date::to_string).collect(),
            bins: week.bins.iter().map(bin).collect(),
            sums: views(week.sums()),
            total: week.sums().into_iter().sum::<crate::measure::Mass>().into(),
            undated: week.undated.into(),
        }
    }
}

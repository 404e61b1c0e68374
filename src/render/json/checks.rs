//! Check weights as JSON.

use super::{MassView, StampView};
use crate::economy::check_weight::Drift;
use crate::query::{CheckLine, DisturbanceLine, ScaleChecks};
use crate::render::check_words;
use crate::render::figures::two_digit_grams;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The checks of one scale at one bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ScaleChecksView {
    pub bench: u16,
    /// The device, as far as it tells its name.
    pub scale: Option<String>,
    /// It hangs there now, or hung there last.
    pub current: bool,
    /// What the last day of checks bounds the scale's own error to, in parts per million of the load.
    pub bound_ppm: Option<u32>,
    /// The same in words.
    pub bound: String,
    /// `never`, `not-yet`, `overdue` or `disturbed`.
    pub due: String,
    pub due_text: String,
    /// Not null while the scale may still be warming up.
    pub warming: Option<String>,
    /// Newest first.
    pub checks: Vec<CheckView>,
    /// Oldest first: what was found before says nothing of the scale since.
    pub disturbances: Vec<DisturbanceView>,
    /// For each weight that was laid on more than once: what has changed.
    pub drifts: Vec<DriftView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CheckView {
    pub id: u64,
    pub at: StampView,
    /// What was laid on, and who says what it weighs.
    pub source: Option<String>,
    pub nominal: MassView,
    /// How far the weight itself may be off.
    pub within: Option<MassView>,
    pub shown: MassView,
    /// Shown less nominal.
    pub error: MassView,
    /// Of the error, about 95 %: the division and the weight itself.
    pub uncertainty: Option<MassView>,
    /// The same in grams, in two digits, as it is read.
    pub uncertainty_shown: Option<String>,
    /// Of the scale's class for this load.
    pub tolerance: Option<MassView>,
    /// `within`, `outside`, `cannot-tell`, `weight-unknown` or `no-tolerance`.
    pub verdict: String,
    pub verdict_text: String,
    /// What this check alone bounds the error to.
    pub bound_ppm: Option<u32>,
}

/// The scale was moved, mended or exchanged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DisturbanceView {
    pub id: u64,
    pub at: StampView,
    /// `moved`, `mended` or `exchanged`.
    pub how: String,
    pub reason: String,
}

impl From<&DisturbanceLine> for DisturbanceView {
    fn from(line: &DisturbanceLine) -> DisturbanceView {
        let how = check_words::disturbance_code(line.how).to_owned();
        DisturbanceView { id: line.record, at: (&line.at).into(), how, reason: line.reason.clone() }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DriftView {
    pub nominal: MassView,
    pub days: i64,
    /// The last check less the first.
    pub change: MassView,
    /// More than the readings may err by.
    pub moved: bool,
}

impl From<&ScaleChecks> for ScaleChecksView {
    fn from(scale: &ScaleChecks) -> ScaleChecksView {
        let history = &scale.history;
        ScaleChecksView {
            bench: scale.bench.0,
            scale: scale.scale.clone(),
            current: scale.current,
            bound_ppm: history.bound_ppm,
            bound: check_words::bound(history.bound_ppm),
            due: check_words::due_code(history.due).to_owned(),
            due_text: check_words::due(history.due),
            warming: scale.warming.map(check_words::warming),
            checks: scale.lines.iter().map(CheckView::from).collect(),
            disturbances: scale.disturbances.iter().map(DisturbanceView::from).collect(),
            drifts: history.drifts.iter().map(DriftView::from).collect(),
        }
    }
}

impl From<&CheckLine> for CheckView {
    fn from(line: &CheckLine) -> CheckView {
        let checked = &line.checked;
        CheckView {
            id: line.check,
            at: (&line.at).into(),
            source: line.source.clone(),
            nominal: checked.nominal.into(),
            within: line.within.map(MassView::from),
            shown: line.shown.into(),
            error: checked.error.into(),
            uncertainty: checked.expanded.map(MassView::from),
            uncertainty_shown: checked.expanded.map(two_digit_grams),
            tolerance: checked.tolerance.map(MassView::from),
            verdict: check_words::verdict_code(checked.verdict).to_owned(),
            verdict_text: check_words::verdict(checked.verdict).to_owned(),
            bound_ppm: checked.bound_ppm,
        }
    }
}

impl From<&Drift> for DriftView {
    fn from(drift: &Drift) -> DriftView {
        DriftView { nominal: drift.nominal.into(), days: drift.days, change: drift.change.into(), moved: drift.moved }
    }
}

//! Check weights that are announced before they are laid on, and what may change a scale.

use super::{EntryId, StepId};
use crate::measure::Mass;
use serde::{Deserialize, Serialize};

/// A known mass, and who says so.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KnownWeight {
    pub nominal: Mass,
    /// Half the width in which the weight itself lies; none where nobody knows.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub within: Option<Mass>,
    pub source: String,
}

/// A known weight lies on the scale: while it does, what is shown beyond it is what it was before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckLaid {
    pub step: StepId,
    pub weight: KnownWeight,
    /// The rest on which it was laid.
    pub base: Mass,
    pub shown: Mass,
    /// The drop that it was first taken for, where somebody has said afterwards what it is.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub drop: Option<EntryId>,
}

/// It lies there no more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckTakenOff {
    /// It never lay still: the next load is it.
    pub went_back: bool,
}

/// Errors that were found before say nothing of what the scale shows from here on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScaleDisturbed {
    pub how: Disturbance,
    /// The device, as far as it tells its name.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub scale: Option<String>,
    pub reason: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Disturbance {
    /// To another place, or set level anew.
    Moved,
    /// Or adjusted.
    Mended,
    /// Another one stands there.
    Exchanged,
}

impl KnownWeight {
    /// A tenth apart at most: what lies there may be this weight on a scale that errs.
    pub fn may_show(&self, shown: Mass) -> bool {
        (shown - self.nominal).abs().femtograms().saturating_mul(10) <= self.nominal.femtograms()
    }
}

//! A density as JSON.

use super::MassView;
use crate::economy::density::Separation;
use crate::economy::metals::Metal;
use crate::economy::uncertainty::two_digits;
use crate::query::{DensityAnswer, Finer};
use crate::render::metal_words::{self, DENSITY_CAUTION};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Pairs of metals that one sentence names.
const PAIRS: usize = 4;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DensityView {
    /// To the place of the uncertainty's second digit.
    pub kg_per_m3: String,
    /// Twice the standard uncertainty, about 95 %, to two digits.
    pub uncertainty_kg_per_m3: String,
    /// The scale's division that was reckoned with.
    pub division: MassView,
    /// How far the thermometer was taken to be off, in kelvin.
    pub water_within: String,
    /// `one-fits`, `cannot-tell`, `none-fits` or `lighter-than-any`.
    pub verdict: String,
    /// The verdict in words.
    pub said: String,
    pub fits: Vec<MetalView>,
    pub ruled_out: Vec<MetalView>,
    /// What a finer scale would tell apart of the metals that fit.
    pub finer: Vec<FinerView>,
    pub caution: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MetalView {
    pub code: String,
    pub name: String,
    /// Lowest and highest density in the tables.
    pub from_kg_per_m3: String,
    pub to_kg_per_m3: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FinerView {
    pub one: String,
    pub other: String,
    /// The division that tells the two apart by this piece; null where their densities are alike and no scale can.
    pub division: Option<MassView>,
}

impl From<Metal> for MetalView {
    fn from(metal: Metal) -> MetalView {
        let (low, high) = metal.span();
        MetalView {
            code: metal.code().to_owned(),
            name: metal_words::metal(metal).to_owned(),
            from_kg_per_m3: low.to_string(),
            to_kg_per_m3: high.to_string(),
        }
    }
}

impl From<&Finer> for FinerView {
    fn from(pair: &Finer) -> FinerView {
        FinerView {
            one: metal_words::metal(pair.one).to_owned(),
            other: metal_words::metal(pair.other).to_owned(),
            division: match pair.separation {
                Separation::Division(step) => Some(step.into()),
                Separation::SpansTouch => None,
            },
        }
    }
}

impl From<&DensityAnswer> for DensityView {
    fn from(answer: &DensityAnswer) -> DensityView {
        let density = &answer.density;
        let (shown, uncertainty) = two_digits(density.density, density.standard.saturating_mul(Decimal::TWO));
        let metals = |metals: &[Metal]| metals.iter().copied().map(MetalView::from).collect();
        DensityView {
            kg_per_m3: shown.to_string(),
            uncertainty_kg_per_m3: uncertainty.to_string(),
            division: answer.division.into(),
            water_within: answer.within.to_string(),
            verdict: metal_words::verdict_code(density.verdict).to_owned(),
            said: metal_words::verdict(answer),
            fits: metals(&density.fits),
            ruled_out: metals(&density.ruled_out),
            finer: answer.finer.iter().map(FinerView::from).collect(),
            caution: DENSITY_CAUTION.to_owned(),
        }
    }
}

impl DensityView {
    /// What a finer scale would tell apart, one sentence a division, the coarsest first: the first few of each.
    pub fn finer_words(&self) -> Vec<String> {
        let mut sentences = Vec::new();
        for group in self.finer.chunk_by(|a, b| a.division == b.division) {
            let pairs: Vec<String> = group.iter().take(PAIRS).map(|pair| format!("{} from {}", pair.one, pair.other)).collect();
            let lead = match &group[0].division {
                Some(division) => format!("A scale that shows {} g would tell", division.grams),
                None => "No scale can tell".into(),
            };
            let more = match group.len().saturating_sub(PAIRS) {
                0 => String::new(),
                more => format!(" and {more} more pairs"),
            };
            sentences.push(format!("{lead} {}{more}.", pairs.join(", ")));
        }
        sentences
    }
}

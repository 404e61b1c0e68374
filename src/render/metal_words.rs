//! The words of the density check, in English.

use super::figures::grams;
use crate::economy::density::{BadPair, DensityVerdict};
use crate::economy::metals::Metal;
use crate::query::{BadDensity, DensityAnswer};

/// Shown beside every density.
pub const DENSITY_CAUTION: &str = "A density rules metals out and proves none: a plated, filled, hollow or mended piece has \
     the density of what it is made of together, and tungsten under a gold skin has that of gold. Test in another way \
     before you pay for it or are paid for it (common practice in the trade).";

/// How the two weights are had.
pub const DENSITY_HOW: &str = "Weigh the piece dry. Put a glass of plain water on nothing that touches the scale, hang the \
     piece in it wholly under water by a thin thread, clear of sides and bottom, and shake off every bubble; the weight of \
     the thread is zeroed away before. No cells, capacitors or sealed parts: those stay out of water.";

pub const fn metal(metal: Metal) -> &'static str {
    match metal {
        Metal::Magnesium => "magnesium",
        Metal::Aluminium => "aluminium",
        Metal::AluminiumCasting => "cast aluminium",
        Metal::ZincCasting => "zinc die casting",
        Metal::Zinc => "zinc",
        Metal::Tin => "tin",
        Metal::LeadFreeSolder => "lead-free solder",
        Metal::Steel => "steel",
        Metal::Stainless => "stainless steel",
        Metal::LeadSolder => "lead solder",
        Metal::Brass6040 => "brass 60/40",
        Metal::FreeCuttingBrass => "free-cutting brass",
        Metal::Brass7030 => "brass 70/30",
        Metal::RedBrass => "red brass",
        Metal::LeadedRedBrass => "leaded red brass",
        Metal::PhosphorBronze => "phosphor bronze",
        Metal::Nickel => "nickel",
        Metal::Copper => "copper",
        Metal::SterlingSilver => "sterling silver",
        Metal::Silver => "silver",
        Metal::Lead => "lead",
        Metal::Gold => "gold",
    }
}

/// The code of a verdict in JSON.
pub const fn verdict_code(verdict: DensityVerdict) -> &'static str {
    match verdict {
        DensityVerdict::OneFits(_) => "one-fits",
        DensityVerdict::SeveralFit => "cannot-tell",
        DensityVerdict::NoneFits => "none-fits",
        DensityVerdict::LighterThanAny => "lighter-than-any",
    }
}

pub fn verdict(answer: &DensityAnswer) -> String {
    let fits = answer.density.fits.len();
    match answer.density.verdict {
        DensityVerdict::OneFits(one) => {
            format!("Of the metals in the table only {} fits; it may still be an alloy that is not in it.", metal(one))
        }
        DensityVerdict::SeveralFit if answer.density.ruled_out.is_empty() => {
            "This cannot be told: the piece is so small for this scale that every metal in the table fits.".into()
        }
        DensityVerdict::SeveralFit => format!(
            "This cannot be told: {fits} metals of the table lie within what a scale that shows {} g leaves open.",
            grams(answer.division)
        ),
        DensityVerdict::NoneFits => "No metal in the table fits: an alloy that is not in it, two metals in one piece, or \
             trapped air, which makes a piece look lighter. Shake the bubbles off and weigh again."
            .into(),
        DensityVerdict::LighterThanAny => "Lighter than any metal in the table: trapped air or a bubble on it, a hollow \
             piece, or no metal. Turn it under water until nothing rises, and weigh again."
            .into(),
    }
}

/// The stable code of a problem.
pub const fn bad_density_code(bad: BadDensity) -> &'static str {
    match bad {
        BadDensity::Pair(BadPair::NothingDry) => "nothing-dry",
        BadDensity::Pair(BadPair::Floats) => "floats",
        BadDensity::Pair(BadPair::NotLighterInWater) => "not-lighter-in-water",
        BadDensity::Pair(BadPair::TooSmall) => "piece-too-small",
        BadDensity::Pair(BadPair::WaterTemperature) => "bad-water-temperature",
        BadDensity::Pair(BadPair::TooLarge) => "beyond-reckoning",
        BadDensity::Division => "bad-division",
        BadDensity::Thermometer => "bad-thermometer",
    }
}

pub const fn bad_density(bad: BadDensity) -> &'static str {
    match bad {
        BadDensity::Pair(BadPair::NothingDry) => "the dry weight is nothing or less: weigh the piece dry first",
        BadDensity::Pair(BadPair::Floats) => {
            "less than nothing in water: the piece floats on trapped air, or the thread pulls; zero the thread, let the air \
             out, and hang it wholly under water"
        }
        BadDensity::Pair(BadPair::NotLighterInWater) => {
            "an impossible pair: in water it is as heavy as dry, or heavier; the two weights are swapped, or it touches the \
             bottom"
        }
        BadDensity::Pair(BadPair::TooSmall) => {
            "this cannot be told: in water the piece loses less than this scale may err by; take a larger piece, several of \
             the same kind at once, or a finer scale"
        }
        BadDensity::Pair(BadPair::WaterTemperature) => "the water must be between 0 and 40 °C",
        BadDensity::Pair(BadPair::TooLarge) => "these weights are beyond what can be reckoned: look for a slip of the point",
        BadDensity::Division => "the scale's division must be more than nothing, as in 0.1g",
        BadDensity::Thermometer => "the thermometer's error is from 0 to 10 degrees",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_metals_have_one_name() {
        let mut names: Vec<&str> = Metal::ALL.iter().map(|one| metal(*one)).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Metal::ALL.len());
    }
}

//! `bismar density`.

use super::client::{print, print_json};
use crate::measure::Written;
use crate::query::{self, DensityQuestion};
use crate::render::json::DensityView;
use crate::render::{metal_words, text};
use anyhow::anyhow;
use clap::Args;
use rust_decimal::Decimal;

/// Which metals fit a piece that was weighed dry and hung in water. Needs no daemon.
///
/// Hang the piece wholly under water by a thin thread, clear of sides and bottom, with no bubble on it; the thread is zeroed
/// away before.
#[derive(Args)]
pub struct Density {
    /// Its dry weight as the scale showed it, with the unit, as in 250.0g
    #[arg(value_name = "DRY", value_parser = Written::parse, allow_hyphen_values = true)]
    dry: Written,
    /// Its weight hung in water, as in 220.7g
    #[arg(value_name = "IN-WATER", value_parser = Written::parse, allow_hyphen_values = true)]
    in_water: Written,
    /// The water's temperature in degrees Celsius
    #[arg(long, value_name = "CELSIUS", value_parser = degrees, allow_hyphen_values = true)]
    water: Decimal,
    /// How far the thermometer may be off, in degrees
    #[arg(long, value_name = "DEGREES", value_parser = degrees, default_value = "1")]
    within: Decimal,
    /// The scale's division; without it, the coarser of the last digits that you typed
    #[arg(long, value_name = "WEIGHT", value_parser = Written::parse)]
    division: Option<Written>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

impl Density {
    pub fn run(self) -> anyhow::Result<()> {
        let question = DensityQuestion {
            dry: self.dry,
            in_water: self.in_water,
            water: self.water,
            within: Some(self.within),
            division: self.division.map(|written| written.mass),
        };
        let answer = query::density(&question).map_err(|bad| anyhow!(metal_words::bad_density(bad)))?;
        let view = DensityView::from(&answer);
        if self.json { print_json(&view) } else { Ok(print(&text::density(&view))?) }
    }
}

fn degrees(text: &str) -> Result<Decimal, String> {
    Decimal::from_str_exact(text).map_err(|_| "degrees are a number with a point, as in 20.5".into())
}

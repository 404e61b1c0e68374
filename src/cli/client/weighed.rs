//! A weight that is entered by hand: what, from which scale, and why.

use super::typed::Weight;
use clap::{Args, ValueEnum};
use serde_json::{Value, json};

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Source {
    /// This bench's scale.
    BenchScale,
    HangingScale,
    YardScale,
    /// What is printed on it.
    Label,
    /// A guess between --low and --high.
    Estimate,
}

#[derive(Args)]
pub struct Weighed {
    /// The weight with its unit, as in 1.25kg, 40g, "0.5 lb" or 12oz.
    #[arg(value_name = "WEIGHT", value_parser = Weight::parse, allow_hyphen_values = true)]
    weight: Weight,
    /// Where it comes from.
    #[arg(long, value_enum)]
    source: Source,
    /// The division of the scale that showed it; without it, the last digit that you typed.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    division: Option<Weight>,
    /// The least that an estimate may be.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, required_if_eq("source", "estimate"))]
    low: Option<Weight>,
    /// The most that an estimate may be.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, required_if_eq("source", "estimate"))]
    high: Option<Weight>,
    /// Why, in a few words.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

impl Weighed {
    pub fn body(&self) -> Value {
        let name = self.source.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default();
        let mut source = json!({ "from": name });
        let given = [("division", &self.division), ("low", &self.low), ("high", &self.high)];
        for (key, weight) in given {
            if let Some(weight) = weight {
                source[key] = weight.body();
            }
        }
        json!({ "mass": self.weight.body(), "source": source, "reason": self.reason })
    }
}

//! Units of mass with their exact size.

use serde::{Deserialize, Serialize};

/// A unit that a scale shows or a person reads. Sizes are the exact definitions of
/// NIST Handbook 44, Appendix C (pound = 0.45359237 kg, grain = 0.06479891 g, 7000 grains a pound).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unit {
    #[serde(rename = "g")]
    Gram,
    #[serde(rename = "kg")]
    Kilogram,
    /// 1000 kg.
    #[serde(rename = "t")]
    Tonne,
    /// Avoirdupois pound.
    #[serde(rename = "lb")]
    Pound,
    /// Avoirdupois ounce, a sixteenth of a pound.
    #[serde(rename = "oz")]
    Ounce,
    /// 480 grains: 9.7 % heavier than the avoirdupois ounce.
    #[serde(rename = "ozt")]
    TroyOunce,
    #[serde(rename = "gr")]
    Grain,
}

impl Unit {
    pub const ALL: [Unit; 7] = [Unit::Gram, Unit::Kilogram, Unit::Tonne, Unit::Pound, Unit::Ounce, Unit::TroyOunce, Unit::Grain];

    /// Size in femtograms, exact.
    pub const fn femtograms(self) -> i128 {
        match self {
            Unit::Gram => 1_000_000_000_000_000,
            Unit::Kilogram => 1_000_000_000_000_000_000,
            Unit::Tonne => 1_000_000_000_000_000_000_000,
            Unit::Pound => 453_592_370_000_000_000,
            Unit::Ounce => 28_349_523_125_000_000,
            Unit::TroyOunce => 31_103_476_800_000_000,
            Unit::Grain => 64_798_910_000_000,
        }
    }

    /// The symbol used on pages, in files and on the command line.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Gram => "g",
            Unit::Kilogram => "kg",
            Unit::Tonne => "t",
            Unit::Pound => "lb",
            Unit::Ounce => "oz",
            Unit::TroyOunce => "ozt",
            Unit::Grain => "gr",
        }
    }

    /// The unit with this symbol, in lower case as [`Unit::symbol`] writes it.
    pub fn from_symbol(text: &str) -> Option<Unit> {
        Unit::ALL.into_iter().find(|unit| unit.symbol() == text)
    }
}

impl std::fmt::Display for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.symbol())
    }
}

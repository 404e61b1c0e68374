//! What kind of scale is simulated.

use crate::dialect::Dialect;
use crate::measure::{Displayed, Mass, Unit};
use serde::Deserialize;

/// A scale: what it shows, how it moves, how its indicator works.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    pub dialect: Dialect,
    pub unit: Unit,
    /// The step of the display, in `unit`: 1, 2 or 5 with its decimals.
    pub division: Displayed,
    /// Above this and nine divisions the scale shows overload.
    pub capacity: Mass,
    /// Frames a second, 1 to 80.
    pub rate: u32,
    pub mode: Mode,
    pub flag: Flag,
    pub filter: Filter,
    /// Standard deviation of the load cell's noise, in divisions, before the filter.
    pub noise: f64,
    /// Natural frequency of the loaded platform, 2 to 8 Hz for bench scales.
    pub swing_hz: f64,
    /// Damping as a share of critical damping.
    pub damping: f64,
    /// How fast the zero is followed while the empty platform stands still, in divisions a second.
    /// 0.5 is what the rules for legal scales allow (OIML R 76).
    pub zero_tracking: f64,
    /// How much of a load comes slowly, within minutes, as a share of it: the creep of a load cell.
    pub creep: f64,
    /// How far the temperature carries the zero, in divisions an hour at most.
    pub drift: f64,
    /// How far apart the values lie that the display shows while a machine shakes the bench, in divisions.
    pub shake: f64,
    /// How often a second it shakes.
    pub shake_hz: f64,
    /// So many divisions below zero the scale shows underload.
    pub underload: u32,
}

/// When the scale sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    Stream,
    /// Only when asked.
    Polled,
    /// Once for each new stable load; it does not report the return to zero.
    OnStable,
}

/// How honest the scale's own word about standing still is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flag {
    Honest,
    /// Says stable while it still moves.
    Early,
    /// Says stable a second and a half after it stands.
    Late,
    /// Says anything at any time.
    Lying,
    /// Never says stable.
    Absent,
}

/// How the indicator smooths, over so many of its 80 samples a second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Filter {
    None,
    Average { samples: usize },
    Exponential { samples: f64 },
}

/// Why a scale cannot be simulated as asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{key}: {what}")]
pub struct BadSetup {
    pub key: &'static str,
    pub what: String,
}

impl Default for Setup {
    fn default() -> Setup {
        Setup {
            dialect: Dialect::HeaderComma,
            unit: Unit::Kilogram,
            division: Displayed { count: 1, exponent: -3 },
            capacity: Mass::grams(15_000),
            rate: 10,
            mode: Mode::Stream,
            flag: Flag::Honest,
            filter: Filter::Average { samples: 16 },
            noise: 0.3,
            swing_hz: 5.0,
            damping: 0.15,
            zero_tracking: 0.5,
            creep: 0.0,
            drift: 0.0,
            shake: 0.0,
            shake_hz: 12.0,
            underload: 20,
        }
    }
}

impl Setup {
    /// The same scale without noise and without zero tracking: it shows each load rounded to the division.
    pub fn ideal(self) -> Setup {
        Setup { noise: 0.0, zero_tracking: 0.0, ..self }
    }

    /// The display's step as a mass; `None` where it is finer than a femtogram.
    pub fn step(&self) -> Option<Mass> {
        Mass::of(self.division, self.unit)
    }

    /// Checks every figure against what the simulation can do.
    pub fn check(&self) -> Result<(), BadSetup> {
        let bad = |key, what: &str| Err(BadSetup { key, what: what.to_owned() });
        if self.step().is_none_or(|step| step <= Mass::ZERO) {
            return bad("division", "must be above 0, as in \"1 g\" or \"0.005 lb\"");
        }
        if self.capacity <= Mass::ZERO {
            return bad("capacity", "must be above 0");
        }
        if !(1..=80).contains(&self.rate) {
            return bad("rate", "must be 1 to 80 frames a second");
        }
        if !(0.0..=100.0).contains(&self.noise) {
            return bad("noise", "must be 0 to 100 divisions");
        }
        if !(0.5..=50.0).contains(&self.swing_hz) {
            return bad("swing_hz", "must be 0.5 to 50 Hz");
        }
        if !(0.01..=2.0).contains(&self.damping) {
            return bad("damping", "must be 0.01 to 2 of critical damping");
        }
        if !(0.0..=10.0).contains(&self.zero_tracking) {
            return bad("zero_tracking", "must be 0 to 10 divisions a second");
        }
        if !(0.0..=0.01).contains(&self.creep) {
            return bad("creep", "must be 0 to 0.01 of the load");
        }
        if !(0.0..=100.0).contains(&self.drift) {
            return bad("drift", "must be 0 to 100 divisions an hour");
        }
        if !(0.0..=100.0).contains(&self.shake) {
            return bad("shake", "must be 0 to 100 divisions");
        }
        if !(0.1..=35.0).contains(&self.shake_hz) {
            return bad("shake_hz", "must be 0.1 to 35 Hz");
        }
        match self.filter {
            Filter::Average { samples: 1..=400 } | Filter::None => Ok(()),
            Filter::Exponential { samples } if (1.0..=400.0).contains(&samples) => Ok(()),
            _ => bad("filter_samples", "must be 1 to 400"),
        }
    }
}

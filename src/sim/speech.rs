//! Readings into the bytes of a dialect.

use super::setup::{BadSetup, Flag, Setup};
use crate::dialect::{Dialect, Flags, Kind, Options, ReadUnit, Reading, Stability, encode};
use crate::measure::{Displayed, Rounding};

/// Checks that the dialect can say the largest weight of this scale.
pub fn check(setup: &Setup) -> Result<(), BadSetup> {
    let step = setup.step().unwrap_or_default().femtograms().max(1);
    let divisions = Rounding::Down.divide(setup.capacity.femtograms(), step);
    let Ok(divisions) = i64::try_from(divisions + 9) else {
        return Err(BadSetup { key: "capacity", what: "has more divisions than any scale".into() });
    };
    let full = Displayed { count: divisions * setup.division.count, exponent: setup.division.exponent };
    let reading = Reading {
        value: Some(full),
        unit: ReadUnit::Stated(setup.unit),
        kind: Kind::Gross,
        stability: Stability::Stable,
        flags: Flags::default(),
        division: Some(setup.division),
        news: None,
    };
    let mut out = Vec::new();
    encode(setup.dialect, &fitted(setup, reading), &Options::default(), &mut out).map_err(|why| BadSetup {
        key: "dialect",
        what: format!("{} cannot say {full} {}: {why}", setup.dialect.name(), setup.unit),
    })
}

/// The families that can say all that happens on the usual scale: grams in kilograms, for which one without a point is
/// too coarse, at rest and moving, and not the net weight alone, by which no bin is known.
pub fn fluent() -> Vec<Dialect> {
    let says = |dialect: &Dialect| {
        let says = dialect.facts().says;
        let moves = says.stability.iter().any(|word| *word != Stability::Stable);
        let gross = says.kinds.iter().any(|kind| matches!(kind, Kind::Gross | Kind::Unknown));
        moves && gross && check(&Setup { dialect: *dialect, ..Setup::default() }).is_ok()
    };
    Dialect::ALL.iter().copied().filter(says).collect()
}

/// The reading as far as the dialect has words for it, and its frame; `None` where there is no frame for it, and
/// a real scale sends nothing.
pub fn say(setup: &Setup, reading: Reading) -> Option<(Reading, Vec<u8>)> {
    let fitted = fitted(setup, reading);
    let mut out = Vec::new();
    encode(setup.dialect, &fitted, &Options::default(), &mut out).ok()?;
    Some((fitted, out))
}

fn fitted(setup: &Setup, reading: Reading) -> Reading {
    let facts = setup.dialect.facts();
    // These reports have no sign: that the load is below zero stands in the place of whether it moves.
    let unsigned = matches!(setup.dialect, Dialect::HidScale | Dialect::HidScaleNoid);
    let below = unsigned && reading.value.is_some_and(|value| value.count < 0);
    let stability = match (facts.sends_stability(), setup.flag) {
        _ if below => Stability::Unknown,
        (false, _) => Stability::Unknown,
        // The frame must say something: a scale without the feature never calls itself stable.
        (true, Flag::Absent) => Stability::Motion,
        (true, _) => reading.stability,
    };
    let unit = match reading.unit {
        ReadUnit::Stated(_) if !facts.sends_unit() => ReadUnit::Unstated,
        unit => unit,
    };
    Reading {
        unit,
        stability,
        // A family that tells of one kind only shows whatever is displayed as that.
        kind: if facts.sends_kind() { reading.kind } else { facts.says.kinds[0] },
        division: reading.division.filter(|_| facts.says.division),
        // Few families have a mark for the centre of zero.
        flags: Flags {
            zero: reading.flags.zero && facts.says.zero,
            underload: reading.flags.underload || below,
            ..reading.flags
        },
        ..reading
    }
}

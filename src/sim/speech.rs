//! Readings into the bytes of a dialect.

use super::setup::{BadSetup, Setup};
use crate::dialect::{Dialect, Kind, ReadUnit, Reading, Stability};
use std::io::Write;

/// Checks that the dialect can say a plain weight of this scale.
pub fn check(_setup: &Setup) -> Result<(), BadSetup> {
    Ok(())
}

/// The frame for a reading; `None` where the dialect has no frame for it, and a real scale sends nothing.
pub fn say(_dialect: Dialect, reading: &Reading) -> Option<Vec<u8>> {
    let head = match (reading.flags.overload, reading.stability) {
        (true, _) => "OL",
        (_, Stability::Stable) => "ST",
        _ => "US",
    };
    let kind = if reading.kind == Kind::Net { "NT" } else { "GS" };
    let ReadUnit::Stated(unit) = reading.unit else {
        return Some(format!("{head},{kind},+         \r\n").into_bytes());
    };
    let value = reading.value?;
    let sign = if value.count < 0 { '-' } else { '+' };
    let size = if value.count < 0 { value.negated() } else { value };
    let mut out = Vec::new();
    write!(out, "{head},{kind},{sign}{:>7}{unit}\r\n", size.to_string()).ok()?;
    Some(out)
}

//! One bench: its scale and how it is weighed there.

use super::keys::KeysConfig;
use super::reader::{Faults, Table};
use crate::dialect::Dialect;
use crate::measure::{Mass, Unit};
use crate::settle::Manner;
use std::path::PathBuf;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BenchConfig {
    pub name: String,
    /// The scale's device, best by a link that stays with it. The one key without a default.
    pub port: PathBuf,
    pub dialect: Dialect,
    /// As in `9600 8N1`; none means what is usual for the dialect.
    pub line: Option<String>,
    /// The unit where the scale sends none.
    pub unit: Option<Unit>,
    pub division: Option<Mass>,
    /// Decimals where the scale sends no point.
    pub decimals: Option<u8>,
    /// A comma stands for the decimal point.
    pub comma: bool,
    /// Milliseconds between two requests, for a scale that must be asked.
    pub poll_ms: Option<u64>,
    pub manner: Manner,
    pub capacity: Option<Mass>,
    /// What bins are chosen with, beside the page.
    pub keys: Vec<KeysConfig>,
}

impl BenchConfig {
    /// A bench with every default.
    pub fn at(port: impl Into<PathBuf>) -> BenchConfig {
        BenchConfig {
            name: "bench".into(),
            port: port.into(),
            dialect: Dialect::HeaderComma,
            line: None,
            unit: None,
            division: None,
            decimals: None,
            comma: false,
            poll_ms: None,
            manner: Manner::Heap,
            capacity: None,
            keys: Vec::new(),
        }
    }

    /// Reads one `[[bench]]`.
    pub(super) fn read(mut table: Table<'_, '_>, faults: &mut Faults<'_>) -> BenchConfig {
        let port = table.text("port", faults, |text| match text.is_empty() {
            true => Err("must name the scale's device, as in \"/dev/serial/by-id/…\"".into()),
            false => Ok(PathBuf::from(text)),
        });
        if table.value("port").is_none() {
            let (offset, key) = (table.offset(), table.path("port"));
            faults.at(offset, &key, "is missing: name the scale's device, as in \"/dev/serial/by-id/…\"");
        }
        let usual = BenchConfig::at(port.unwrap_or_default());
        let bench = BenchConfig {
            name: table.text("name", faults, |text| Ok(text.to_owned())).unwrap_or(usual.name),
            port: usual.port,
            dialect: table.text("dialect", faults, dialect).unwrap_or(usual.dialect),
            line: table.text("line", faults, line),
            unit: table.text("unit", faults, |text| {
                Unit::from_symbol(text).ok_or_else(|| format!("must be one of {}", Unit::ALL.map(Unit::symbol).join(", ")))
            }),
            division: table.text("division", faults, mass),
            decimals: table.number("decimals", faults, 0..=6).map(|places| places as u8),
            comma: table.truth("comma", faults).unwrap_or(usual.comma),
            poll_ms: table.number("poll_ms", faults, 50..=60_000),
            manner: table.text("manner", faults, manner).unwrap_or(usual.manner),
            capacity: table.text("capacity", faults, mass),
            keys: keys(&mut table, faults),
        };
        if let Some(poll) = table.value("poll_ms").filter(|_| bench.dialect.facts().poll.is_none()) {
            let what = format!("{} has no request that is known to change nothing: leave it out", bench.dialect.name());
            faults.at(poll.span().start, &table.path("poll_ms"), what);
        }
        table.finish(faults);
        bench
    }
}

fn keys(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> Vec<KeysConfig> {
    let tables = table.tables("keys", faults, "must be written with two brackets: [[bench.keys]]");
    tables.into_iter().filter_map(|table| KeysConfig::read(table, faults)).collect()
}

fn dialect(text: &str) -> Result<Dialect, String> {
    Dialect::from_name(text).ok_or_else(|| format!("must be one of {}", Dialect::ALL.map(Dialect::name).join(", ")))
}

fn manner(text: &str) -> Result<Manner, String> {
    match text {
        "heap" => Ok(Manner::Heap),
        "tray" => Ok(Manner::Tray),
        "pan" => Ok(Manner::Pan),
        "sort" => Ok(Manner::Sort),
        _ => Err("must be heap, tray, pan or sort".into()),
    }
}

pub(super) fn line(text: &str) -> Result<String, String> {
    // The link reads it in full; what it would refuse is refused here, with the line of the file.
    let (speed, frame) = text.split_once([' ', '-']).unwrap_or((text, "8N1"));
    let frame_ok = matches!(frame.as_bytes(), [b'7' | b'8', b'N' | b'E' | b'O' | b'n' | b'e' | b'o', b'1' | b'2']);
    let speed_ok = speed.parse::<u32>().is_ok_and(|speed| speed > 0);
    if frame_ok && speed_ok { Ok(text.to_owned()) } else { Err("must be like \"9600 8N1\"".into()) }
}

/// A mass with its unit, as in `1 g`.
pub(super) fn mass(text: &str) -> Result<Mass, String> {
    let usage = "must be a weight with its unit, as in \"1 g\" or \"0.005 lb\"";
    let at = text.find(|c: char| c.is_ascii_alphabetic()).ok_or(usage)?;
    let unit = Unit::from_symbol(&text[at..]).ok_or(usage)?;
    Mass::parse(text[..at].trim(), unit).ok().filter(|mass| *mass > Mass::ZERO).ok_or_else(|| usage.to_owned())
}

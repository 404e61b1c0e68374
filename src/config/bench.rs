//! One bench: its scale and how it is weighed there.

use super::keys::KeysConfig;
use super::port_name::PortName;
use super::reader::{Faults, Table};
use super::values::{dialect, line, manner, mass};
use crate::dialect::Dialect;
use crate::measure::{Mass, Unit};
use crate::settle::Manner;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BenchConfig {
    pub name: String,
    /// Where its bytes come from. The one key without a default.
    pub port: PortName,
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
    pub fn at(port: impl Into<PortName>) -> BenchConfig {
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
        let port = table.text("port", faults, PortName::parse);
        if table.value("port").is_none() {
            let (offset, key) = (table.offset(), table.path("port"));
            faults.at(offset, &key, "is missing: name the scale's device, as in \"/dev/serial/by-id/…\"");
        }
        let usual = BenchConfig::at(port.unwrap_or_else(|| PortName::Device("".into())));
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
        if let PortName::Tcp(_) = bench.port {
            alien(&mut table, faults, "line", "is not set here: the bridge's own setup has the speed and the bits");
        }
        table.finish(faults);
        bench
    }
}

/// A key that does not go with the rest of the bench.
fn alien(table: &mut Table<'_, '_>, faults: &mut Faults<'_>, key: &'static str, what: &str) {
    if let Some(value) = table.value(key) {
        faults.at(value.span().start, &table.path(key), what);
    }
}

fn keys(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> Vec<KeysConfig> {
    let tables = table.tables("keys", faults, "must be written with two brackets: [[bench.keys]]");
    tables.into_iter().filter_map(|table| KeysConfig::read(table, faults)).collect()
}

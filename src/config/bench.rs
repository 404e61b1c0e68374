//! One bench: its scale and how it is weighed there.

use super::keys::KeysConfig;
use super::port_name::PortName;
use super::reader::{Faults, Table};
use super::values::{dialect, line, manner, mass};
use crate::dialect::{Dialect, Pattern};
use crate::measure::{Mass, Unit};
use crate::settle::Manner;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BenchConfig {
    pub name: String,
    /// Where its bytes come from. The one key without a default.
    pub port: PortName,
    pub dialect: Dialect,
    /// A description of its frames, where no dialect fits; then `dialect` says nothing.
    pub pattern: Option<Pattern>,
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
        let port = port.into();
        let dialect = if let PortName::Hid(_) = port { Dialect::HidScale } else { Dialect::HeaderComma };
        BenchConfig {
            name: "bench".into(),
            port,
            dialect,
            pattern: None,
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
            pattern: pattern(&mut table, faults),
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
        if table.value("pattern").is_some() {
            alien(&mut table, faults, "dialect", "stands beside a pattern: keep the one that describes the scale");
            alien(&mut table, faults, "poll_ms", "stands beside a pattern, which only listens: leave it out");
        } else if let Some(poll) = table.value("poll_ms").filter(|_| bench.dialect.facts().poll.is_none()) {
            let what = format!("{} has no request that is known to change nothing: leave it out", bench.dialect.name());
            faults.at(poll.span().start, &table.path("poll_ms"), what);
        }
        if let PortName::Hid(_) = bench.port {
            let what = "does not go with a USB scale, which tells everything itself: leave it out";
            for key in ["line", "poll_ms", "pattern"] {
                alien(&mut table, faults, key, what);
            }
            if bench.dialect != Dialect::HidScale {
                alien(&mut table, faults, "dialect", "must be hid-scale for a USB scale, or left out");
            }
        }
        if let PortName::Tcp(_) = bench.port {
            alien(&mut table, faults, "line", "is not set here: the bridge's own setup has the speed and the bits");
        }
        table.finish(faults);
        bench
    }
}

/// Reads `[bench.pattern]`.
fn pattern(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> Option<Pattern> {
    let value = table.value("pattern")?;
    if value.get_ref().as_table().is_none() {
        let what = "must be a table: write [bench.pattern], and under it frame = '(?<value>[-0-9.]+) *(?<unit>kg)'";
        faults.at(value.span().start, &table.path("pattern"), what);
        return None;
    }
    let mut table = table.table("pattern", faults);
    let frame = table.value("frame").map(|value| value.span().start);
    if frame.is_none() {
        let (offset, key) = (table.offset(), table.path("frame"));
        faults.at(
            offset,
            &key,
            "is missing: write an expression with a part named value, as in '(?<value>[-0-9.]+) *(?<unit>kg)'",
        );
    }
    let text = table.text("frame", faults, |text| Ok(text.to_owned()));
    let ends = table.text("ends", faults, |text| match Pattern::new("(?<value>.)", text.as_bytes()) {
        Ok(_) => Ok(text.as_bytes().to_vec()),
        Err(fault) => Err(fault.to_string()),
    });
    let path = table.path("frame");
    table.finish(faults);
    let made = Pattern::new(&text?, ends.as_deref().unwrap_or(Pattern::ENDS));
    made.map_err(|fault| faults.at(frame.unwrap_or_default(), &path, fault.to_string())).ok()
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

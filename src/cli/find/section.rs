//! The section of the configuration that a search has found.

use super::known::Fit;
use crate::config::{Fault, PortName, parse};
use crate::dialect::Dialect;
use crate::link::Line;
use crate::measure::Unit;
use anyhow::{Context, bail};
use std::io::Write;
use std::path::{Path, PathBuf};

/// One `[[bench]]`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    pub port: PortName,
    pub dialect: Dialect,
    /// None where a bridge has its own.
    pub line: Option<Line>,
    pub unit: Option<Unit>,
    pub decimals: Option<u8>,
    /// The scale answered only when it was asked.
    pub asked: bool,
}

impl Section {
    pub fn of(dialect: Dialect) -> Section {
        Section { port: PortName::Device(PathBuf::new()), dialect, line: None, unit: None, decimals: None, asked: false }
    }

    /// With what a known weight has told.
    pub fn told(self, Fit { unit, decimals }: Fit) -> Section {
        Section { unit, decimals, ..self }
    }

    /// Adds the section to the end of `file`, which must be free of faults with it.
    pub fn write(&self, file: &Path) -> anyhow::Result<()> {
        let before = existing(file)?;
        let names: Vec<String> = configured(&before).into_iter().map(|bench| bench.name).collect();
        let name = (!names.is_empty()).then(|| {
            let free = |number: &usize| !names.contains(&format!("bench-{number}"));
            format!("name = \"bench-{}\"\n", (2..).find(free).unwrap_or(0))
        });
        let gap = if before.is_empty() || before.ends_with("\n\n") { "" } else { "\n" };
        let line_end = if before.is_empty() || before.ends_with('\n') { "" } else { "\n" };
        let added = format!("{line_end}{gap}{self}{}", name.unwrap_or_default());
        if let Err(faults) = parse(&format!("{before}{added}"), |name| std::env::var(name).ok()) {
            bail!("{} would not be right with it, so nothing was written:\n{}", file.display(), listed(&faults));
        }
        let mut open = std::fs::OpenOptions::new().append(true).create(true).open(file).with_context(|| cannot(file))?;
        open.write_all(added.as_bytes()).and_then(|()| open.sync_all()).with_context(|| cannot(file))
    }
}

/// Tells before the search whether its result could be written: a port that is configured already is left as it is.
pub fn may_write(file: &Path, port: &PortName) -> anyhow::Result<()> {
    let text = existing(file)?;
    let device = |name: &PortName| match name {
        PortName::Device(path) => path.canonicalize().ok(),
        _ => None,
    };
    let same = |bench: &PortName| bench == port || device(bench).is_some_and(|one| device(port) == Some(one));
    match configured(&text).iter().any(|bench| same(&bench.port)) {
        true => bail!(
            "{} has a bench on {} already: change that by hand, or leave --write out to see what is found",
            file.display(),
            port
        ),
        false => Ok(()),
    }
}

fn existing(file: &Path) -> anyhow::Result<String> {
    match std::fs::read_to_string(file) {
        Ok(text) => Ok(text),
        Err(fault) if fault.kind() == std::io::ErrorKind::NotFound => Ok(String::new()),
        Err(fault) => Err(fault).with_context(|| format!("{} cannot be read", file.display())),
    }
}

fn configured(text: &str) -> Vec<crate::config::BenchConfig> {
    parse(text, |name| std::env::var(name).ok()).map(|config| config.benches).unwrap_or_default()
}

fn listed(faults: &[Fault]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

fn cannot(file: &Path) -> String {
    format!("{} cannot be written", file.display())
}

impl std::fmt::Display for Section {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let port = toml::Value::String(self.port.to_string());
        writeln!(f, "[[bench]]\nport = {port}\ndialect = \"{}\"", self.dialect.name())?;
        if let Some(line) = self.line {
            writeln!(f, "line = \"{line}\"")?;
        }
        if let Some(unit) = self.unit {
            writeln!(f, "unit = \"{}\"", unit.symbol())?;
        }
        if let Some(decimals) = self.decimals {
            writeln!(f, "decimals = {decimals}")?;
        }
        if self.asked && self.dialect.facts().poll.is_some() {
            writeln!(f, "poll_ms = 500")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(port: &str) -> Section {
        Section { port: port.into(), unit: Some(Unit::Kilogram), decimals: Some(2), ..Section::of(Dialect::BareNumber) }
    }

    #[test]
    fn sections_are_added_and_nothing_is_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("bismar.toml");
        section("/dev/one").write(&file).unwrap();
        section("/dev/two \"x\"").write(&file).unwrap();
        let text = std::fs::read_to_string(&file).unwrap();
        let benches = configured(&text);
        assert_eq!(benches.len(), 2, "{text}");
        assert_eq!((&benches[1].port, benches[1].decimals), (&PortName::from("/dev/two \"x\""), Some(2)));
        assert_ne!(benches[0].name, benches[1].name);
        assert!(may_write(&file, &"/dev/one".into()).is_err());
        assert!(may_write(&file, &"/dev/three".into()).is_ok());
        std::fs::write(&file, "zone = 5").unwrap();
        assert!(section("/dev/one").write(&file).unwrap_err().to_string().contains("zone"));
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "zone = 5");
    }
}

//! At which line each device was understood, so that the next search begins there.

use crate::config::PortName;
use crate::dialect::Dialect;
use crate::link::Line;
use anyhow::Context;
use std::path::{Path, PathBuf};

/// A small file in the state folder: a line for each device, its lasting name, line settings and dialect.
pub struct Memory {
    file: PathBuf,
}

impl Memory {
    pub fn at(folder: &Path) -> Memory {
        Memory { file: folder.join("scales.tsv") }
    }

    /// The line of a device that was understood before. A file that is not there, or is damaged, is no knowledge.
    pub fn recall(&self, device: &PortName) -> Option<Line> {
        let text = std::fs::read_to_string(&self.file).ok()?;
        let name = device.to_string();
        let line = text.lines().find(|line| line.split('\t').next() == Some(&*name))?;
        line.split('\t').nth(1)?.parse().ok()
    }

    pub fn keep(&self, device: &PortName, line: Line, dialect: Dialect) -> anyhow::Result<()> {
        let name = device.to_string();
        if name.contains(['\t', '\n']) {
            return Ok(());
        }
        let old = std::fs::read_to_string(&self.file).unwrap_or_default();
        let mut text: String =
            old.lines().filter(|line| line.split('\t').next() != Some(&*name)).map(|line| format!("{line}\n")).collect();
        text.push_str(&format!("{name}\t{line}\t{}\n", dialect.name()));
        let folder = self.file.parent().unwrap_or(Path::new("."));
        let fresh = self.file.with_extension("tsv.new");
        std::fs::create_dir_all(folder)
            .and_then(|()| std::fs::write(&fresh, text))
            .and_then(|()| std::fs::rename(&fresh, &self.file))
            .with_context(|| format!("{} cannot be written, so the next search begins from the start", self.file.display()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_line_of_each_device_is_kept() {
        let folder = tempfile::tempdir().unwrap();
        let memory = Memory::at(&folder.path().join("deep"));
        let (one, two) = (&PortName::from("/dev/serial/by-id/one"), &PortName::from("/dev/serial/by-id/two"));
        assert_eq!(memory.recall(one), None);
        let line = |text: &str| text.parse::<Line>().unwrap();
        memory.keep(one, line("9600 8N1"), Dialect::HeaderComma).unwrap();
        memory.keep(two, line("2400 7E1"), Dialect::HeaderComma).unwrap();
        memory.keep(one, line("1200 7O1"), Dialect::HeaderComma).unwrap();
        assert_eq!((memory.recall(one), memory.recall(two)), (Some(line("1200 7O1")), Some(line("2400 7E1"))));
    }
}

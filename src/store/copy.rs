//! Backups.

use super::disk::Disk;
use super::fault::{StoreFault, io_at};
use super::fold;
use super::note::Reason;
use super::open::reasons_of;
use super::roll::survey;
use super::roll_dir;
use std::path::Path;

/// A daemon that writes while its roll is read can begin a new segment; the reading is then done again.
const TRIES: u32 = 5;

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copied {
    /// The last event in it.
    pub seq: u64,
    pub segments: u64,
    pub bytes: u64,
    /// Why it ends before the roll does, if it does: a broken roll is copied as far as it holds.
    pub damage: Vec<Reason>,
}

/// Copies the roll, up to its last whole batch, into the empty or missing directory `to`, durably. The copy is a store
/// that can be opened. It may be made while a daemon runs.
pub fn backup(dir: &Path, to: &Path, disk: &dyn Disk) -> Result<Copied, StoreFault> {
    let (from, into) = (roll_dir(dir), roll_dir(to));
    if !disk.list(&into).map_err(io_at(&into))?.is_empty() {
        return Err(StoreFault::NotEmpty(into));
    }
    let mut survey = fold::survey_quietly(disk, &from)?;
    for _ in 1..TRIES {
        let names: Vec<_> = survey.segments.iter().map(|segment| segment.name).collect();
        if survey::names(disk, &from)? == names {
            break;
        }
        survey = fold::survey_quietly(disk, &from)?;
    }
    disk.create_dir(&into).map_err(io_at(&into))?;
    let mut copied = Copied { seq: survey.head(), segments: 0, bytes: 0, damage: reasons_of(&survey, &None) };
    for segment in survey.segments.iter().filter(|segment| segment.lines > 0) {
        let name = segment.name.to_string();
        let most = usize::try_from(segment.counted).unwrap_or(usize::MAX);
        let bytes = disk.read(&from.join(&name), 0, most).map_err(io_at(from.join(&name)))?;
        let written = disk.create(&into.join(&name)).and_then(|mut file| {
            file.append(&bytes)?;
            file.sync()
        });
        written.map_err(io_at(into.join(&name)))?;
        copied.segments += 1;
        copied.bytes += segment.counted;
    }
    for dir in [&into, to] {
        disk.sync_dir(dir).map_err(io_at(dir))?;
    }
    Ok(copied)
}

//! Moving sled's files out of the way. They are sled's, on the real disk, whatever disk the roll is on.

use crate::store::fault::{StoreFault, io_at};
use crate::store::note::Note;
use crate::store::quarantine;
use std::path::{Path, PathBuf};

/// A crash while sled writes a snapshot leaves `snap.*.generating`, which sled then takes for its newest snapshot and
/// refuses to open. It can do without.
pub fn move_leftovers(home: &Path, index: &Path, notes: &mut Vec<Note>) -> Result<(), StoreFault> {
    let Ok(entries) = std::fs::read_dir(index) else { return Ok(()) };
    for entry in entries {
        let name = entry.map_err(io_at(index))?.file_name().to_string_lossy().into_owned();
        if name.starts_with("snap.") && name.ends_with(".generating") {
            let to = rename_into(home, &index.join(&name), &name)?;
            notes.push(Note::LeftoverMoved { from: index.join(name), to });
        }
    }
    Ok(())
}

/// Moves the whole index away; says where to, or none when there is none.
pub fn move_aside(home: &Path, index: &Path) -> Result<Option<PathBuf>, StoreFault> {
    if !index.exists() {
        return Ok(None);
    }
    rename_into(home, index, "index").map(Some)
}

fn rename_into(home: &Path, from: &Path, stem: &str) -> Result<PathBuf, StoreFault> {
    let to = quarantine::free(&crate::store::disk::RealDisk, home, stem)?;
    std::fs::rename(from, &to).map_err(io_at(from))?;
    Ok(to)
}

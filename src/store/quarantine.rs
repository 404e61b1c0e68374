//! What does not belong into the store any more, but is not thrown away.

use super::disk::Disk;
use super::fault::{StoreFault, io_at};
use std::path::{Path, PathBuf};

/// More files of one name than any disk has bad days.
const TRIES: u32 = 10_000;

pub fn dir(home: &Path) -> PathBuf {
    home.join("quarantine")
}

/// Writes bytes to a new file whose name begins with `stem`, durably, and says where. What a start before this one has
/// kept already is not kept twice.
pub fn keep(disk: &dyn Disk, home: &Path, stem: &str, bytes: &[u8]) -> Result<PathBuf, StoreFault> {
    let kept = dir(home).join(stem);
    if disk.read(&kept, 0, bytes.len() + 1).is_ok_and(|there| there == bytes) {
        return Ok(kept);
    }
    let path = free(disk, home, stem)?;
    let written = disk.create(&path).and_then(|mut file| {
        file.append(bytes)?;
        file.sync()
    });
    if let Err(error) = written {
        // Half a copy would pass for a whole one.
        let _ = disk.remove(&path);
        return Err(io_at(&path)(error));
    }
    disk.sync_dir(&dir(home)).map_err(io_at(dir(home)))?;
    Ok(path)
}

/// A name in the quarantine that nothing has yet.
pub fn free(disk: &dyn Disk, home: &Path, stem: &str) -> Result<PathBuf, StoreFault> {
    let dir = dir(home);
    disk.create_dir(&dir).map_err(io_at(&dir))?;
    let taken = disk.list(&dir).map_err(io_at(&dir))?;
    let name = (0..TRIES)
        .map(|n| if n == 0 { stem.to_owned() } else { format!("{stem}.{n}") })
        .find(|name| !taken.contains(name))
        .ok_or_else(|| io_at(&dir)(std::io::Error::other("the quarantine is full of copies: look at them and clear it")))?;
    Ok(dir.join(name))
}

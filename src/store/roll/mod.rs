//! The roll: the append-only text in which every event stands first.
//!
//! It is a directory of segments. An event is acknowledged when its line, and all of its batch, have been written and
//! `fdatasync` has returned. How the program comes back from each way of failing:
//!
//! * **A write fails** (a full disk): the file is cut back to what was acknowledged, and the next try goes on in it.
//!   If it cannot be cut, it is poisoned.
//! * **An fsync fails**: the kernel may have dropped the pages and call the next fsync good, so the file is poisoned:
//!   never written or synced again. The next try goes to a new segment (see [`survey`] for what counts then).
//! * **The program starts again**: the last batch may be one that was never acknowledged, read back from pages that the
//!   kernel holds as clean but never wrote. It is written over itself and synced before anything follows it.

mod name;
pub mod survey;

pub use name::SegmentName;
pub use survey::{Stretch, Survey};

use super::disk::{AppendFile, Disk};
use super::fault::{StoreFault, io_at};
use super::line::{self, BadLine, LineHash};
use super::note::Note;
use super::quarantine;
use crate::facts::{Event, StoreId};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The roll, open for appending.
pub struct Roll {
    disk: Arc<dyn Disk>,
    dir: PathBuf,
    segment_bytes: u64,
    head: u64,
    hash: LineHash,
    current: Option<Current>,
    /// The name last used, whether it came to anything or not.
    last: Option<SegmentName>,
    /// Poisoned segments with nothing acknowledged in them: removed once a later segment stands.
    leftover: Vec<PathBuf>,
}

struct Current {
    name: SegmentName,
    file: Box<dyn AppendFile>,
    /// Bytes that are acknowledged.
    len: u64,
}

/// The lines of one batch.
pub struct Batch {
    text: Vec<u8>,
    ends: Vec<usize>,
    hash: LineHash,
}

impl Batch {
    /// Without newlines.
    pub fn lines(&self) -> impl Iterator<Item = &[u8]> {
        let starts = std::iter::once(0).chain(self.ends.iter().map(|end| end + 1));
        starts.zip(&self.ends).map(|(start, end)| &self.text[start..*end])
    }

    /// The hash of the last line.
    pub fn hash(&self) -> LineHash {
        self.hash
    }
}

impl Roll {
    /// Makes a surveyed roll ready for appending: sets a torn tail aside, and makes sure that the last batch is on disk.
    /// `home` is the store's directory.
    pub fn open(
        disk: Arc<dyn Disk>,
        home: &Path,
        segment_bytes: u64,
        store: StoreId,
        survey: &Survey,
        notes: &mut Vec<Note>,
    ) -> Result<Roll, StoreFault> {
        let dir = super::roll_dir(home);
        let mut roll = Roll {
            disk,
            dir,
            segment_bytes,
            head: survey.head(),
            hash: survey.hash_at(survey.head()).unwrap_or(LineHash::genesis(store)),
            current: None,
            last: survey.segments.last().map(|segment| segment.name),
            leftover: Vec::new(),
        };
        let usable = match &survey.torn {
            Some(torn) => roll.set_aside(home, torn, notes)?,
            None => true,
        };
        roll.settle_last_batch(survey)?;
        roll.disk.sync_dir(&roll.dir).map_err(io_at(&roll.dir))?;
        if let Some(segment) = survey.segments.last().filter(|segment| usable && segment.counted < segment_bytes) {
            let path = roll.dir.join(segment.name.to_string());
            let file = roll.disk.open_append(&path).map_err(io_at(&path))?;
            roll.current = Some(Current { name: segment.name, file, len: segment.counted });
        }
        Ok(roll)
    }

    /// Copies a torn tail to the quarantine and cuts it. On a full disk the copy fails: then the tail stays where it is,
    /// and the next segment leaves it behind as abandoned. Says whether the segment can be appended to.
    fn set_aside(&self, home: &Path, torn: &Stretch, notes: &mut Vec<Note>) -> Result<bool, StoreFault> {
        let path = self.dir.join(torn.segment.to_string());
        let most = usize::try_from(torn.bytes).unwrap_or(usize::MAX);
        let bytes = self.disk.read(&path, torn.at, most).map_err(io_at(&path))?;
        match quarantine::keep(&*self.disk, home, &format!("torn-{}-{}", torn.segment.first, torn.at), &bytes) {
            Ok(kept) => {
                let mut file = self.disk.open_append(&path).map_err(io_at(&path))?;
                file.truncate(torn.at).and_then(|()| file.sync()).map_err(io_at(&path))?;
                notes.push(Note::TornTail { segment: torn.segment.to_string(), bytes: torn.bytes, kept });
                Ok(true)
            }
            Err(fault) => {
                notes.push(Note::TornTailLeft { segment: torn.segment.to_string(), bytes: torn.bytes, why: fault.to_string() });
                Ok(false)
            }
        }
    }

    fn settle_last_batch(&self, survey: &Survey) -> Result<(), StoreFault> {
        let Some(segment) = survey.segments.iter().rev().find(|segment| segment.lines > 0) else { return Ok(()) };
        let path = self.dir.join(segment.name.to_string());
        let most = usize::try_from(segment.counted - segment.last_batch).unwrap_or(usize::MAX);
        let bytes = self.disk.read(&path, segment.last_batch, most).map_err(io_at(&path))?;
        let mut file = self.disk.open_append(&path).map_err(io_at(&path))?;
        file.rewrite(segment.last_batch, &bytes).and_then(|()| file.sync()).map_err(io_at(&path))
    }

    pub fn head(&self) -> u64 {
        self.head
    }

    /// The lines that these events would make. They must follow the head.
    pub fn encode(&self, events: &[Event]) -> Result<Batch, (u64, BadLine)> {
        let mut batch = Batch { text: Vec::new(), ends: Vec::with_capacity(events.len()), hash: self.hash };
        let count = events.len() as u32;
        for (k, event) in (1..).zip(events) {
            let line = line::encode(event, batch.hash, (k, count)).map_err(|bad| (event.seq, bad))?;
            batch.hash = LineHash::of(&line);
            batch.text.extend_from_slice(&line);
            batch.ends.push(batch.text.len());
            batch.text.push(b'\n');
        }
        Ok(batch)
    }

    /// Writes a batch and makes it durable. After an error nothing of it counts, and it may be tried again.
    pub fn append(&mut self, batch: &Batch) -> io::Result<()> {
        if self.current.as_ref().is_none_or(|current| current.len >= self.segment_bytes && current.len > 0) {
            self.start_segment()?;
        }
        let Some(current) = &mut self.current else { return Err(io::Error::other("no segment is open")) };
        if let Err(error) = current.file.append(&batch.text) {
            let len = current.len;
            if current.file.truncate(len).is_err() {
                self.poison();
            }
            return Err(error);
        }
        if let Err(error) = current.file.sync() {
            self.poison();
            return Err(error);
        }
        current.len += batch.text.len() as u64;
        self.head += batch.ends.len() as u64;
        self.hash = batch.hash;
        Ok(())
    }

    fn poison(&mut self) {
        if let Some(current) = self.current.take()
            && current.len == 0
        {
            self.leftover.push(self.dir.join(current.name.to_string()));
        }
    }

    fn start_segment(&mut self) -> io::Result<()> {
        let first = self.head + 1;
        let generation = self.last.filter(|last| last.first == first).map_or(0, |last| last.generation + 1);
        let name = SegmentName { first, generation };
        let path = self.dir.join(name.to_string());
        let file = self.disk.create(&path)?;
        self.last = Some(name);
        if let Err(error) = self.disk.sync_dir(&self.dir) {
            // Nothing was written to it, so it does not matter whether it goes.
            let _ = self.disk.remove(&path);
            return Err(error);
        }
        self.current = Some(Current { name, file, len: 0 });
        let disk = &self.disk;
        self.leftover.retain(|path| disk.remove(path).is_err());
        Ok(())
    }
}

//! Putting a damaged roll together again from the index.
//!
//! The index keeps each line as it stood in the roll, so its chain of hashes proves it whole. It only ever got what had
//! been acknowledged. A crash on the way leaves a roll that is shorter than the index, which can be mended again.

use super::disk::{Disk, LockFault};
use super::fault::{StoreFault, io_at};
use super::fold;
use super::index::{self, Trees};
use super::line::{self, LineHash};
use super::roll::{SegmentName, Survey, survey};
use super::{index_dir, quarantine, roll_dir};
use std::path::{Path, PathBuf};

const SEGMENT_BYTES: usize = 8 << 20;
const UNFINISHED: &str = ".mending";

/// What was mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// The first and the last event that were written anew.
    pub from: u64,
    pub to: u64,
    /// Where the damaged segments are now.
    pub aside: Vec<PathBuf>,
}

/// Mends the roll of a store that no daemon holds. None when there is nothing to mend.
pub fn mend(dir: &Path, disk: &dyn Disk) -> Result<Option<Mended>, StoreFault> {
    let _lock = disk.lock(&dir.join("lock")).map_err(|fault| match fault {
        LockFault::Held { by } => StoreFault::Held { dir: dir.to_owned(), by },
        LockFault::Io(source) => io_at(dir.join("lock"))(source),
    })?;
    let roll = roll_dir(dir);
    let survey = fold::survey_quietly(disk, &roll)?;
    let history = whole_history(dir, disk, &survey)?;
    let end = history.len() as u64;
    if survey.broken.is_none() && end <= survey.head() {
        return Ok(None);
    }
    let from = survey.broken.as_ref().map_or(survey.head() + 1, |found| found.segment.first.min(survey.head() + 1));
    for name in disk.list(&roll).map_err(io_at(&roll))?.iter().filter(|name| name.ends_with(UNFINISHED)) {
        disk.remove(&roll.join(name)).map_err(io_at(roll.join(name)))?;
    }
    let replaced: Vec<SegmentName> =
        survey.segments.iter().map(|segment| segment.name).filter(|name| name.first >= from).collect();
    let written = write_segments(disk, &roll, &history, from)?;
    let mut aside = Vec::new();
    for name in replaced {
        let to = quarantine::free(disk, dir, &name.to_string())?;
        disk.rename(&roll.join(name.to_string()), &to).map_err(io_at(&to))?;
        aside.push(to);
    }
    if !aside.is_empty() {
        disk.sync_dir(&quarantine::dir(dir)).map_err(io_at(quarantine::dir(dir)))?;
    }
    for name in written {
        let (unfinished, done) = (roll.join(format!("{name}{UNFINISHED}")), roll.join(name.to_string()));
        disk.rename(&unfinished, &done).map_err(io_at(&done))?;
    }
    disk.sync_dir(&roll).map_err(io_at(&roll))?;
    Ok(Some(Mended { from, to: end, aside }))
}

/// Every line from the first, out of the index and, where that ends, out of what the roll has beyond it.
fn whole_history(dir: &Path, disk: &dyn Disk, survey: &Survey) -> Result<Vec<Vec<u8>>, StoreFault> {
    let cannot = |why: String| StoreFault::CannotMend(why);
    if !index_dir(dir).exists() {
        return Err(cannot("there is no index".to_owned()));
    }
    let trees = Trees::open(&index_dir(dir)).map_err(|fault| cannot(fault.to_string()))?;
    let read = index::guarded(|| index::surplus(&trees, 0));
    trees.close();
    let (_, _, text) = read.map_err(|fault| cannot(fault.to_string()))?.ok_or_else(|| cannot("it is empty".to_owned()))?;
    let mut chain = Chain::default();
    for line in text.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()) {
        let seq = chain.lines.len() as u64 + 1;
        if !chain.add(line) {
            return Err(cannot(format!("it is damaged too, at event {seq}")));
        }
        if survey.hash_at(seq).is_some_and(|hash| hash != chain.hash) {
            return Err(cannot(format!("event {seq} is another one there than in the roll")));
        }
    }
    let mut seen = survey.head();
    for segment in &survey.segments {
        let path = roll_dir(dir).join(segment.name.to_string());
        let bytes = disk.read(&path, 0, usize::MAX).map_err(io_at(&path))?;
        for line in bytes.split(|byte| *byte == b'\n') {
            let Ok(header) = line::header(line) else { continue };
            let next = chain.lines.len() as u64 + 1;
            if header.seq == next {
                chain.add(line);
            }
            seen = seen.max(header.seq);
        }
    }
    let end = chain.lines.len() as u64;
    if end < seen {
        return Err(cannot(format!("event {} is in neither of them, and the roll has events up to {seen}", end + 1)));
    }
    if !chain.whole {
        return Err(cannot(format!("the batch of event {end} is not whole")));
    }
    Ok(chain.lines)
}

#[derive(Default)]
struct Chain {
    lines: Vec<Vec<u8>>,
    hash: LineHash,
    /// The last line ended its batch.
    whole: bool,
}

impl Chain {
    fn add(&mut self, text: &[u8]) -> bool {
        let Ok(header) = line::header(text) else { return false };
        let prev = if self.lines.is_empty() { LineHash::genesis(header.store) } else { self.hash };
        if header.seq != self.lines.len() as u64 + 1 || header.prev != prev {
            return false;
        }
        self.hash = LineHash::of(text);
        self.whole = header.ends_batch();
        self.lines.push(text.to_vec());
        true
    }
}

fn write_segments(disk: &dyn Disk, roll: &Path, history: &[Vec<u8>], from: u64) -> Result<Vec<SegmentName>, StoreFault> {
    let (mut names, mut text, mut first) = (Vec::new(), Vec::new(), from);
    let skip = usize::try_from(from - 1).unwrap_or(usize::MAX);
    for (seq, line) in (from..).zip(history.iter().skip(skip)) {
        text.extend_from_slice(line);
        text.push(b'\n');
        let ends = line::header(line).is_ok_and(|header| header.ends_batch());
        if seq == history.len() as u64 || (ends && text.len() >= SEGMENT_BYTES) {
            let name = SegmentName { first, generation: generation(disk, roll, first)? };
            let path = roll.join(format!("{name}{UNFINISHED}"));
            let written = disk.create(&path).and_then(|mut file| {
                file.append(&text)?;
                file.sync()
            });
            written.map_err(io_at(&path))?;
            names.push(name);
            text.clear();
            first = seq + 1;
        }
    }
    disk.sync_dir(roll).map_err(io_at(roll))?;
    Ok(names)
}

/// A generation that no segment of this number has had.
fn generation(disk: &dyn Disk, roll: &Path, first: u64) -> Result<u32, StoreFault> {
    let taken = survey::names(disk, roll)?;
    Ok(taken.iter().filter(|name| name.first == first).map(|name| name.generation + 1).max().unwrap_or(0))
}

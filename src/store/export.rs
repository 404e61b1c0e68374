//! The books as plain text for other programs, and back.
//!
//! An export is the roll without its checksums: one JSON object a line, each with the hash of the line before, and a last
//! line `{"closed":<events>,"hash":"<32 hex digits>"}`. So a cut or changed export is known for one, and what is read
//! back is the same roll to the last byte.

use super::disk::Disk;
use super::fault::{StoreFault, io_at};
use super::fold;
use super::line::{self, LineHash};
use super::note::Reason;
use super::open::reasons_of;
use super::roll::{SegmentName, survey};
use super::{Setup, roll_dir};
use crate::facts::Books;
use serde::{Deserialize, Serialize};
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

/// What an export holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// The last event in it.
    pub seq: u64,
    pub hash: String,
    /// Why it ends before the roll does, if it does.
    pub damage: Vec<Reason>,
}

/// The last line of an export.
#[derive(Debug, Serialize, Deserialize)]
struct Closing {
    closed: u64,
    hash: String,
}

/// Writes the events of the roll in `dir` to `out`, up to its last whole batch. Nothing is locked or changed; it may be
/// done while a daemon runs.
pub fn export(dir: &Path, disk: &dyn Disk, out: &mut dyn Write) -> Result<Exported, StoreFault> {
    let roll = roll_dir(dir);
    let survey = fold::survey_quietly(disk, &roll)?;
    let seq = survey.head();
    let written = |done: std::io::Result<()>| done.map_err(io_at("the export"));
    survey::lines(disk, &roll, &survey, (1, seq), &mut |_, text| {
        written(out.write_all(line::json(text).unwrap_or(text)).and_then(|()| out.write_all(b"\n")))
    })?;
    let hash = survey.hash_at(seq).map(|hash| hash.to_string()).unwrap_or_default();
    let closing = serde_json::to_string(&Closing { closed: seq, hash: hash.clone() }).map_err(std::io::Error::other);
    written(closing.and_then(|closing| writeln!(out, "{closing}")).and_then(|()| out.flush()))?;
    Ok(Exported { seq, hash, damage: reasons_of(&survey, &None) })
}

/// Makes the store in the empty or missing directory `to` from an export. All of it is checked (every hash, every event
/// against the books before it, the closing line) before the first byte is written; then the roll appears under its name
/// at once, durably.
///
/// # Errors
/// [`StoreFault::BadExport`] names the line; [`StoreFault::NotEmpty`] where there is a roll already.
pub fn import(from: &mut dyn BufRead, to: &Path, disk: &dyn Disk) -> Result<Exported, StoreFault> {
    let into = roll_dir(to);
    if !disk.list(&into).map_err(io_at(&into))?.is_empty() {
        return Err(StoreFault::NotEmpty(into));
    }
    let mut read = Read::default();
    for (number, text) in (1..).zip(from.split(b'\n')) {
        let bad = |why: String| StoreFault::BadExport { line: number, why };
        read.take(&text.map_err(|fault| bad(fault.to_string()))?).map_err(bad)?;
    }
    let hash = read.closed.clone().ok_or_else(|| StoreFault::BadExport {
        line: read.books.seq + 1,
        why: "it ends without its closing line, so its end is missing".into(),
    })?;
    write(&read.segments, to, disk)?;
    Ok(Exported { seq: read.books.seq, hash, damage: Vec::new() })
}

/// An export as far as it has been read.
#[derive(Default)]
struct Read {
    books: Books,
    hash: Option<LineHash>,
    /// How many lines of the batch at hand are still to come.
    open: u32,
    segments: Vec<(SegmentName, Vec<u8>)>,
    closed: Option<String>,
}

impl Read {
    fn take(&mut self, json: &[u8]) -> Result<(), String> {
        let json = json.strip_suffix(b"\r").unwrap_or(json);
        if self.closed.is_some() {
            return if json.is_empty() { Ok(()) } else { Err("it stands after the closing line".into()) };
        }
        if let Ok(Closing { closed, hash }) = serde_json::from_slice(json) {
            return self.close(closed, hash);
        }
        let text = line::summed(json);
        let (header, event) = line::decode(&text).map_err(|bad| bad.to_string())?;
        let next = self.books.seq + 1;
        if header.seq != next {
            return Err(format!("it is event {}, where {next} comes next", header.seq));
        }
        if header.prev != self.hash.unwrap_or(LineHash::genesis(header.store)) {
            return Err("it does not follow the line before it: one of the two was changed".into());
        }
        let (part, parts) = header.part;
        if if self.open == 0 { part != 1 } else { parts - part + 1 != self.open } {
            return Err("it is out of its place in what was written together".into());
        }
        self.books.apply(&event).map_err(|misfit| format!("it does not fit what comes before: {misfit}"))?;
        self.hash = Some(LineHash::of(&text));
        self.open = parts - part;
        let most = Setup::default().segment_bytes;
        if self.segments.last().is_none_or(|(_, text)| part == 1 && text.len() as u64 >= most) {
            self.segments.push((SegmentName { first: next, generation: 0 }, Vec::new()));
        }
        if let Some((_, segment)) = self.segments.last_mut() {
            segment.extend_from_slice(&text);
            segment.push(b'\n');
        }
        Ok(())
    }

    fn close(&mut self, closed: u64, hash: String) -> Result<(), String> {
        if closed != self.books.seq || self.open > 0 {
            return Err(format!("it closes {closed} events, and there are {} before it", self.books.seq));
        }
        if self.hash.map(|hash| hash.to_string()).unwrap_or_default() != hash {
            return Err("its hash is not that of the line before it: that line was changed".into());
        }
        if closed == 0 {
            return Err("there is no event in it".into());
        }
        self.closed = Some(hash);
        Ok(())
    }
}

/// Under another name first: what an interrupted import leaves is never taken for a roll.
fn write(segments: &[(SegmentName, Vec<u8>)], to: &Path, disk: &dyn Disk) -> Result<(), StoreFault> {
    let (aside, into): (PathBuf, PathBuf) = (to.join("roll.coming"), roll_dir(to));
    for left in disk.list(&aside).map_err(io_at(&aside))? {
        disk.remove(&aside.join(&left)).map_err(io_at(aside.join(&left)))?;
    }
    disk.create_dir(&aside).map_err(io_at(&aside))?;
    for (name, text) in segments {
        let path = aside.join(name.to_string());
        let written = disk.create(&path).and_then(|mut file| {
            file.append(text)?;
            file.sync()
        });
        written.map_err(io_at(path))?;
    }
    disk.sync_dir(&aside).map_err(io_at(&aside))?;
    disk.rename(&aside, &into).map_err(io_at(&into))?;
    disk.sync_dir(to).map_err(io_at(to))
}

//! `bismar verify`, `bismar backup` and `bismar mend`: the books themselves, with or without a daemon.

use super::client::{home, print};
use crate::store::{self, Note, RealDisk, Reason, Report};
use anyhow::{bail, ensure};
use clap::Args;
use std::path::{Path, PathBuf};

/// Reads every entry of the books and says whether each is whole and in its place. Changes nothing.
#[derive(Args)]
pub struct Verify {
    /// The directory of the books; without it, the usual one.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

/// Copies the books into an empty directory, also while the daemon runs, and reads the copy again.
#[derive(Args)]
pub struct Backup {
    /// Where to; it is made if it is not there.
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    /// The directory of the books; without it, the usual one.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

/// Puts damaged books together again from their index, where that is whole. The daemon must be stopped.
#[derive(Args)]
pub struct Mend {
    /// The directory of the books; without it, the usual one.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

impl Verify {
    pub fn run(self) -> anyhow::Result<()> {
        let dir = home(self.store);
        let report = look(&dir)?;
        tell_notes(&report);
        damage(&dir, &report)?;
        let (segments, bytes) = (files(report.segments), report.bytes);
        let hash = report.hash.unwrap_or_default();
        Ok(print(&format!("{}: sound, events 1 to {} in {segments}, {bytes} bytes, {hash}\n", dir.display(), report.head))?)
    }
}

impl Backup {
    pub fn run(self) -> anyhow::Result<()> {
        let dir = home(self.store);
        let report = look(&dir)?;
        let copied = store::backup(&dir, &self.to, &RealDisk)?;
        let copy = store::verify(&self.to, &RealDisk)?;
        ensure!(
            copy.state.reasons().is_empty() && copy.head == copied.seq,
            "{}: the copy does not read back as it was written; copy again, to another disk",
            self.to.display()
        );
        let (segments, to) = (files(copied.segments), self.to.display());
        print(&format!("{to}: events 1 to {} in {segments}, {} bytes, read back and sound\n", copied.seq, copied.bytes))?;
        // A copy of damaged books ends where they are damaged; nobody should take it for the whole.
        damage(&dir, &report)
    }
}

impl Mend {
    pub fn run(self) -> anyhow::Result<()> {
        let dir = home(self.store);
        look(&dir)?;
        let Some(mended) = store::mend(&dir, &RealDisk)? else {
            return Ok(print(&format!("{}: nothing to mend\n", dir.display()))?);
        };
        let mut said = format!("{}: events {} to {} were written anew\n", dir.display(), mended.from, mended.to);
        for path in mended.aside {
            said.push_str(&format!("set aside: {}\n", path.display()));
        }
        print(&said)?;
        damage(&dir, &store::verify(&dir, &RealDisk)?)
    }
}

fn look(dir: &Path) -> anyhow::Result<Report> {
    let report = store::verify(dir, &RealDisk)?;
    let nothing = report.segments == 0;
    ensure!(!nothing, "{}: there are no books here; name their directory with --store", dir.display());
    Ok(report)
}

fn tell_notes(report: &Report) {
    // The faults are told as damage.
    for note in report.notes.iter().filter(|note| !matches!(note, Note::Fault(_))) {
        eprintln!("bismar: {note}");
    }
}

fn damage(dir: &Path, report: &Report) -> anyhow::Result<()> {
    damage_of(dir, report.head, report.state.reasons())
}

/// An error that says what to do, where books that are whole up to `head` are damaged beyond it.
pub fn damage_of(dir: &Path, head: u64, reasons: &[Reason]) -> anyhow::Result<()> {
    if reasons.is_empty() {
        return Ok(());
    }
    let why = reasons.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    let dir = dir.display();
    bail!(
        "{dir}: DAMAGED: {why}; events 1 to {head} are whole. Keep a copy of the directory as it is, stop the daemon, and try \
         `bismar mend`; if that cannot help, go back to a backup"
    )
}

fn files(count: u64) -> String {
    if count == 1 { "1 file".into() } else { format!("{count} files") }
}

//! Why a store could not be opened, read or written.

use super::line::BadLine;
use super::note::Reason;
use crate::facts::books::Misfit;
use std::io;
use std::path::PathBuf;

/// The store cannot be used at all.
#[derive(Debug, thiserror::Error)]
pub enum StoreFault {
    #[error("the store {} is in use by {}: stop it, or ask it over HTTP", .dir.display(), .by.map_or("another process".to_owned(), |pid| format!("process {pid}")))]
    Held { dir: PathBuf, by: Option<u32> },
    #[error("{}: {source}", .path.display())]
    Io { path: PathBuf, source: io::Error },
    #[error("{segment}, byte {at}: the line is of schema {found}, which this program does not know: use a newer program")]
    Newer { segment: String, at: u64, found: u16 },
    #[error("event {seq} cannot be read, although its checksum fits ({why}): use the program that wrote it, or a newer one")]
    Unreadable { seq: u64, why: String },
    #[error("{}: there is a roll already; name an empty directory", .0.display())]
    NotEmpty(PathBuf),
    /// Nothing of it was taken over.
    #[error("line {line} of the export: {why}; take a whole, unchanged one")]
    BadExport { line: u64, why: String },
    #[error("event {asked} is not there: the last one is {last}")]
    NoSuchEvent { asked: u64, last: u64 },
    #[error("the store cannot be mended from its index: {0}")]
    CannotMend(String),
}

/// An append was refused or failed. Nothing of it is kept: the same events, or others in their place, may be tried again.
#[derive(Debug, thiserror::Error)]
pub enum AppendFault {
    #[error("the store is damaged and takes no events: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Degraded(Vec<Reason>),
    #[error("event {found} was given where {expected} comes next")]
    OutOfOrder { expected: u64, found: u64 },
    #[error("event {seq} bears the id of another store")]
    OtherStore { seq: u64 },
    #[error("event {seq} is of schema {found}; this program writes {}", crate::facts::SCHEMA)]
    Schema { seq: u64, found: u16 },
    #[error(transparent)]
    Misfit(#[from] Misfit),
    #[error("event {seq} makes no line: {bad}")]
    Line { seq: u64, bad: BadLine },
    /// The disk. `kept` is how many events are kept, in the store and all.
    #[error("the roll could not be written ({source}); {kept} events are kept")]
    Disk { source: io::Error, kept: u64 },
}

impl AppendFault {
    /// Whether there was no room, so that the same may work later.
    pub fn is_full(&self) -> bool {
        let full = [io::ErrorKind::StorageFull, io::ErrorKind::QuotaExceeded, io::ErrorKind::FileTooLarge];
        matches!(self, AppendFault::Disk { source, .. } if full.contains(&source.kind()))
    }
}

/// A question to the index that cannot be answered.
#[derive(Debug, thiserror::Error)]
pub enum ReadFault {
    #[error(transparent)]
    Store(#[from] StoreFault),
    #[error("event {seq} does not fit the books: {misfit}")]
    Misfit { seq: u64, misfit: Misfit },
}

/// Names the path in an error of the disk.
pub(super) fn io_at(path: impl Into<PathBuf>) -> impl FnOnce(io::Error) -> StoreFault {
    let path = path.into();
    move |source| StoreFault::Io { path, source }
}

//! The store: the roll, in which every event stands first, and the sled index that follows it.
//!
//! ```text
//! <dir>/lock                 held while the store is open, with the holder's process number
//! <dir>/roll/*.roll          the roll: text, one event a line
//! <dir>/index/               sled; can be deleted at any time while the store is closed
//! <dir>/quarantine/          what was found and does not belong: torn tails, old indexes, surplus lines
//! ```
//!
//! An event is acknowledged when the roll has it on disk. The index follows, and no acknowledgement depends on it.
//! At open the two are compared, event by event:
//!
//! * the index is equal or behind: it is believed, caught up, and the books are folded from it;
//! * the index is damaged, unfinished or missing: it is set aside and made anew from the roll;
//! * the index knows events that the roll does not have, or the chain of the roll is broken: acknowledged events have
//!   been lost. Nothing is cut or built over; what only the index has is written to the quarantine as text, the books
//!   are those of the roll up to the fault, reading works, and **appends are refused**, because they would give away
//!   numbers for the second time under which something else was known. [`mend`] puts the roll together again from the
//!   index where that is whole; otherwise a backup is needed.

mod copy;
pub mod disk;
mod export;
mod fault;
pub mod faulty;
mod fold;
mod index;
pub mod line;
mod mend;
mod note;
mod open;
mod quarantine;
mod roll;
mod verify;

pub use copy::{Copied, backup};
pub use disk::{Disk, RealDisk};
pub use export::{Exported, export, import};
pub use fault::{AppendFault, ReadFault, StoreFault};
pub use index::{Answer, DayTotal, IndexReader, ROWS_MAX, Row, Total};
pub use mend::{Mended, mend};
pub use note::{Health, Note, Progress, Reason, Work};
pub use open::{Opening, Setup};
pub use verify::{Report, verify};

use crate::facts::{Books, Event, SCHEMA, StoreId};
use index::{Applied, Changes, Shared};
use roll::Roll;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The store, open for writing. One at a time on a directory.
pub struct Store {
    home: PathBuf,
    store: StoreId,
    /// None when the store is degraded in such a way that it takes no events.
    roll: Option<Roll>,
    books: Books,
    shared: Arc<Shared>,
    zone_name: String,
    health: Health,
    _lock: Box<dyn Send + Sync>,
}

impl Store {
    /// Opens the store in `dir`, or founds one when nothing is there. The first event, `StoreFounded`, is the caller's
    /// to append. `progress` is called during work that may take long; show it when it takes over a second.
    pub fn open(dir: &Path, disk: Arc<dyn Disk>, progress: &mut dyn FnMut(Progress)) -> Result<Opening, StoreFault> {
        Store::open_with(dir, disk, &Setup::default(), progress)
    }

    pub fn open_with(
        dir: &Path,
        disk: Arc<dyn Disk>,
        setup: &Setup,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<Opening, StoreFault> {
        open::open(dir, disk, setup, progress)
    }

    /// The id that every event of this store bears.
    pub fn store_id(&self) -> StoreId {
        self.store
    }

    /// The number of the last event that is durable.
    pub fn head(&self) -> u64 {
        self.books.seq
    }

    /// The books of all that is durable. A copy costs a few pointers.
    pub fn books(&self) -> &Books {
        &self.books
    }

    pub fn health(&mut self) -> &Health {
        let found = self.shared.read().broken.clone();
        if let Some(why) = found {
            self.break_index(why);
        }
        &self.health
    }

    /// Appends events, as one batch: all of them are durable when this returns `Ok`, and none of them counts when it does
    /// not, not even after a crash. They must follow the head and fit the books.
    pub fn append(&mut self, events: &[Event]) -> Result<(), AppendFault> {
        let Some(roll) = &mut self.roll else { return Err(AppendFault::Degraded(self.health.reasons().to_vec())) };
        let (mut after, mut touched) = (self.books.clone(), BTreeSet::new());
        for event in events {
            let expected = after.seq + 1;
            if event.seq != expected {
                return Err(AppendFault::OutOfOrder { expected, found: event.seq });
            }
            if event.store != self.store {
                return Err(AppendFault::OtherStore { seq: event.seq });
            }
            if event.schema != SCHEMA {
                return Err(AppendFault::Schema { seq: event.seq, found: event.schema });
            }
            after.apply(event)?;
            index::touched(event, &mut touched);
        }
        if events.is_empty() {
            return Ok(());
        }
        let first = roll.head() + 1;
        let batch = roll.encode(events).map_err(|(seq, bad)| AppendFault::Line { seq, bad })?;
        roll.append(&batch).map_err(|source| AppendFault::Disk { source, kept: roll.head() })?;
        let before = std::mem::replace(&mut self.books, after);
        let changes = Changes::between(&before, &self.books, &touched, &self.shared.zone);
        self.follow(first, &batch, changes);
        Ok(())
    }

    /// Hands the batch that has just become durable on to the index.
    fn follow(&mut self, first: u64, batch: &roll::Batch, changes: Changes) {
        let applied = Applied::new(self.store, self.books.seq, batch.hash(), &self.zone_name);
        let broken = {
            let mut state = self.shared.write();
            state.push(first, batch.lines().map(<[u8]>::to_vec), changes, applied);
            state.broken.clone()
        };
        if let Some(why) = broken {
            self.break_index(why);
        }
    }

    fn break_index(&mut self, why: String) {
        let trees = {
            let mut state = self.shared.write();
            (state.broken, state.pending) = (None, None);
            state.trees.take()
        };
        if let Some(trees) = trees {
            trees.close();
            self.health.add(Reason::IndexBroken { why });
        }
    }

    /// Asks the index, from any thread.
    pub fn reader(&self) -> IndexReader {
        IndexReader::new(self.shared.clone())
    }

    /// Makes the index durable, so that the next open has nothing to catch up: at the end of a session, at a stop.
    pub fn barrier(&mut self) {
        let path = index_dir(&self.home);
        let broken = {
            let mut state = self.shared.write();
            state.settle();
            let failed = match (&state.trees, &state.broken) {
                (Some(trees), None) => trees.barrier(&path).err().map(|fault| fault.to_string()),
                _ => None,
            };
            state.broken.clone().or(failed)
        };
        if let Some(why) = broken {
            self.break_index(why);
        }
    }
}

impl Drop for Store {
    /// Readers may outlive the store; sled must not, or the next open would find it locked.
    fn drop(&mut self) {
        let trees = {
            let mut state = self.shared.write();
            state.settle();
            state.trees.take()
        };
        if let Some(trees) = trees {
            trees.close();
        }
    }
}

/// Folds the roll without the index and without a lock: for verbs that read while no daemon runs. What a daemon is
/// writing at this moment may be left out.
pub fn fold_roll(dir: &Path, disk: &dyn Disk) -> Result<(Books, Vec<Note>), StoreFault> {
    let folded = fold::fold_until(disk, &roll_dir(dir), u64::MAX)?;
    let mut notes = open::notes_of(&folded.survey);
    notes.extend(open::reasons_of(&folded.survey, &folded.misfit).into_iter().map(Note::Fault));
    Ok((folded.books, notes))
}

/// The books as they stood after event `seq`.
pub fn books_at(dir: &Path, disk: &dyn Disk, seq: u64) -> Result<Books, ReadFault> {
    fold::books_at(disk, &roll_dir(dir), seq)
}

fn roll_dir(home: &Path) -> PathBuf {
    home.join("roll")
}

fn index_dir(home: &Path) -> PathBuf {
    home.join("index")
}

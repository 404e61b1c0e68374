//! The sled database: opening it, writing to it.
//!
//! sled 0.34 can panic on a damaged file, loses the end of a log without an error, and calls flushed what has only been
//! handed to the kernel. So it is opened under guard, believed only after all of it has been compared with the roll, and
//! no acknowledgement waits for it.

use super::code;
use super::derive::{Changes, Total};
use crate::facts::StoreId;
use crate::store::line::LineHash;
use serde::{Deserialize, Serialize};
use sled::transaction::{ConflictableTransactionError, TransactionError, Transactional};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// An index made by another version is made anew.
const VERSION: u32 = 1;

/// sled's default is a gigabyte.
const CACHE_BYTES: u64 = 16 << 20;

/// What is not written at a crash comes back from the roll, so there is no hurry; a short time wears out memory cards.
const FLUSH_MS: u64 = 2000;

const LOCK_TRIES: u32 = 300;
const LOCK_PAUSE: std::time::Duration = std::time::Duration::from_millis(10);

const STATE: &[u8] = b"state";

/// How many events go into one batch when many are written.
const BULK: usize = 1000;

/// Takes one line with its number.
pub type EachLine<'a, E> = dyn FnMut(u64, &[u8]) -> Result<(), E> + 'a;

/// Why sled did not do what it should.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum IndexFault {
    /// What it holds cannot be right: set aside and made anew.
    #[error("{0}")]
    Damaged(String),
    /// It cannot be used now, which says nothing about what it holds: a full disk, no permission, a lock.
    #[error("{0}")]
    Unusable(String),
}

/// The place up to which the index has followed the roll.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Applied {
    version: u32,
    pub store: StoreId,
    pub seq: u64,
    hash: String,
    /// The zone whose days the rows and totals are of.
    zone: String,
}

impl Applied {
    pub fn new(store: StoreId, seq: u64, hash: LineHash, zone: &str) -> Applied {
        Applied { version: VERSION, store, seq, hash: hash.to_string(), zone: zone.to_owned() }
    }
}

#[derive(Clone)]
pub struct Trees {
    pub db: sled::Db,
    /// Sequence number to line.
    pub events: sled::Tree,
    /// Bin and entry to row.
    pub by_bin: sled::Tree,
    /// Day and entry to row.
    pub by_day: sled::Tree,
    /// Day and bin to total.
    pub totals: sled::Tree,
    /// One small value that is always written anew, so alone in its tree.
    pub meta: sled::Tree,
}

impl From<sled::Error> for IndexFault {
    fn from(error: sled::Error) -> IndexFault {
        use std::io::ErrorKind::{InvalidData, UnexpectedEof};
        match &error {
            sled::Error::Io(inner) if !matches!(inner.kind(), InvalidData | UnexpectedEof) => {
                IndexFault::Unusable(error.to_string())
            }
            _ => IndexFault::Damaged(error.to_string()),
        }
    }
}

/// Does something with sled, whose panics become faults.
pub fn guarded<T>(work: impl FnOnce() -> Result<T, IndexFault>) -> Result<T, IndexFault> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| {
        let text = panic.downcast_ref::<String>().map(String::as_str).or_else(|| panic.downcast_ref::<&str>().copied());
        Err(IndexFault::Damaged(format!("sled panicked: {}", text.unwrap_or("it does not say why"))))
    })
}

/// sled's own threads can hold its file for a moment after it was closed. Nobody else can: the store is locked.
fn open_patiently(path: &Path) -> Result<sled::Db, IndexFault> {
    let open = || sled::Config::new().path(path).cache_capacity(CACHE_BYTES).flush_every_ms(Some(FLUSH_MS)).open();
    for _ in 0..LOCK_TRIES {
        match open() {
            Err(sled::Error::Io(error)) if error.to_string().contains("could not acquire lock") => {
                std::thread::sleep(LOCK_PAUSE);
            }
            opened => return Ok(opened?),
        }
    }
    Ok(open()?)
}

impl Trees {
    pub fn open(path: &Path) -> Result<Trees, IndexFault> {
        guarded(|| {
            let db = open_patiently(path)?;
            let tree = |name| db.open_tree(name);
            Ok(Trees {
                events: tree("events")?,
                by_bin: tree("drops-by-bin")?,
                by_day: tree("drops-by-day")?,
                totals: tree("totals")?,
                meta: tree("meta")?,
                db,
            })
        })
    }

    /// What the index says of itself; none when nothing, or nothing that this version wrote, stands there.
    pub fn applied(&self) -> Result<Option<Applied>, IndexFault> {
        let Some(bytes) = self.meta.get(STATE)? else { return Ok(None) };
        let applied: Option<Applied> = serde_json::from_slice(&bytes).ok();
        Ok(applied.filter(|applied| applied.version == VERSION))
    }

    pub fn last_event(&self) -> Result<u64, IndexFault> {
        let last = self.events.last()?;
        Ok(last.and_then(|(key, _)| code::read_seq(&key)).unwrap_or(0))
    }

    /// Follows the roll by one batch: all of it or nothing.
    pub fn follow(&self, first: u64, lines: &[Vec<u8>], changes: &Changes, applied: &Applied) -> Result<(), IndexFault> {
        let state = state(applied);
        let trees = (&self.events, &self.by_bin, &self.by_day, &self.totals, &self.meta);
        let done = trees.transaction(|(events, by_bin, by_day, totals, meta)| {
            for (seq, line) in (first..).zip(lines) {
                events.insert(&code::seq(seq), line.as_slice())?;
            }
            for (old, new) in changes.rows.values() {
                if let Some(old) = old {
                    by_bin.remove(&code::bin_key(old.bin, old.entry))?;
                    by_day.remove(&code::day_key(old.day, old.entry))?;
                }
                if let Some(new) = new {
                    let row = code::row(new);
                    by_bin.insert(&code::bin_key(new.bin, new.entry), row.as_slice())?;
                    by_day.insert(&code::day_key(new.day, new.entry), row)?;
                }
            }
            for (key, change) in &changes.totals {
                let key = code::total_key(*key);
                let sum = plus(totals.get(key)?.as_deref(), *change).map_err(ConflictableTransactionError::Abort)?;
                match sum {
                    Some(sum) => _ = totals.insert(&key, &code::total(sum))?,
                    None => _ = totals.remove(&key)?,
                }
            }
            meta.insert(STATE, state.as_slice())?;
            Ok(())
        });
        done.map_err(|error| match error {
            TransactionError::Abort(fault) => fault,
            TransactionError::Storage(error) => error.into(),
        })
    }

    /// Follows the roll by many events: `lines` gives each to the function that it gets. A crash on the way leaves an
    /// index without a state, which the next open makes anew.
    pub fn follow_many<E: From<IndexFault>>(
        &self,
        lines: impl FnOnce(&mut EachLine<'_, E>) -> Result<(), E>,
        changes: &Changes,
        applied: &Applied,
    ) -> Result<(), E> {
        let fault = |error: sled::Error| E::from(error.into());
        self.meta.remove(STATE).map_err(fault)?;
        let (mut batch, mut waiting) = (sled::Batch::default(), 0);
        lines(&mut |seq, line| {
            batch.insert(&code::seq(seq), line);
            waiting += 1;
            if waiting == BULK {
                waiting = 0;
                self.events.apply_batch(std::mem::take(&mut batch)).map_err(fault)?;
            }
            Ok(())
        })?;
        self.events.apply_batch(batch).map_err(fault)?;
        let mut rows = changes.rows.values().peekable();
        while rows.peek().is_some() {
            let (mut by_bin, mut by_day) = (sled::Batch::default(), sled::Batch::default());
            for (old, new) in rows.by_ref().take(BULK) {
                if let Some(old) = old {
                    by_bin.remove(&code::bin_key(old.bin, old.entry));
                    by_day.remove(&code::day_key(old.day, old.entry));
                }
                if let Some(new) = new {
                    let row = code::row(new);
                    by_bin.insert(&code::bin_key(new.bin, new.entry), row.as_slice());
                    by_day.insert(&code::day_key(new.day, new.entry), row);
                }
            }
            self.by_bin.apply_batch(by_bin).map_err(fault)?;
            self.by_day.apply_batch(by_day).map_err(fault)?;
        }
        for (key, change) in &changes.totals {
            let key = code::total_key(*key);
            match plus(self.totals.get(key).map_err(fault)?.as_deref(), *change)? {
                Some(sum) => self.totals.insert(key, &code::total(sum)).map_err(fault)?,
                None => self.totals.remove(key).map_err(fault)?,
            };
        }
        self.meta.insert(STATE, state(applied)).map_err(fault)?;
        self.db.flush().map_err(fault)?;
        Ok(())
    }

    /// Makes all of it durable. sled's own flush stops short of the device, so its file is synced as well.
    pub fn barrier(&self, path: &Path) -> Result<(), IndexFault> {
        guarded(|| {
            self.db.flush()?;
            let synced = std::fs::File::open(path.join("db")).and_then(|file| file.sync_all());
            synced.map_err(|error| IndexFault::Unusable(error.to_string()))
        })
    }

    /// Closes sled, whatever state it is in.
    pub fn close(self) {
        // Its own drop flushes, and may panic on what made us close it.
        let _ = guarded(|| {
            drop(self);
            Ok(())
        });
    }
}

fn state(applied: &Applied) -> Vec<u8> {
    serde_json::to_vec(applied).expect("plain text and numbers")
}

/// A total with a change added; none when nothing is left of it.
fn plus(bytes: Option<&[u8]>, change: Total) -> Result<Option<Total>, IndexFault> {
    let now = match bytes {
        Some(bytes) => code::read_total(bytes).ok_or_else(|| IndexFault::Damaged("a total cannot be read".to_owned()))?,
        None => Total::default(),
    };
    let sum = Total { mass: now.mass + change.mass, drops: now.drops + change.drops };
    Ok((sum != Total::default()).then_some(sum))
}

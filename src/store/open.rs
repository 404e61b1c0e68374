//! Opening a store.

use super::disk::{Disk, LockFault};
use super::fault::{StoreFault, io_at};
use super::fold;
use super::index::{self, Applied, Changes, EachLine, IndexFault, Shared, State, Trees, Verdict};
use super::line::LineHash;
use super::note::{Health, Note, Progress, Reason, Work};
use super::roll::{Roll, Survey, survey};
use super::{Store, index_dir, quarantine, roll_dir};
use crate::facts::books::Misfit;
use crate::facts::{Books, StoreId};
use jiff::tz::TimeZone;
use rand::TryRngCore;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Arc, RwLock};

/// What a store can be opened with.
#[derive(Debug, Clone)]
pub struct Setup {
    /// A segment that has reached this size is closed.
    pub segment_bytes: u64,
    /// The zone whose days the index lists by. A change makes the index anew.
    pub zone: TimeZone,
    /// Without it every question is answered from the roll.
    pub index: bool,
}

impl Default for Setup {
    fn default() -> Setup {
        Setup { segment_bytes: 8 << 20, zone: TimeZone::UTC, index: true }
    }
}

/// An opened store.
pub struct Opening {
    pub store: Store,
    /// The books of all that is durable and counts.
    pub books: Books,
    pub notes: Vec<Note>,
    pub state: Health,
}

/// The index side of an opening.
struct Indexed {
    trees: Option<Trees>,
    books: Books,
}

pub(super) fn open(
    dir: &Path,
    disk: Arc<dyn Disk>,
    setup: &Setup,
    progress: &mut dyn FnMut(Progress),
) -> Result<Opening, StoreFault> {
    let roll = roll_dir(dir);
    disk.create_dir(&roll).map_err(io_at(&roll))?;
    let lock = disk.lock(&dir.join("lock")).map_err(|fault| match fault {
        LockFault::Held { by } => StoreFault::Held { dir: dir.to_owned(), by },
        LockFault::Io(source) => io_at(dir.join("lock"))(source),
    })?;
    disk.sync_dir(dir).map_err(io_at(dir))?;
    let survey = survey::survey(&*disk, &roll, &mut bytes_read(progress), &mut |_, _| Ok(()))?;
    let mut opening = Open { dir, disk: &*disk, setup, survey: &survey, notes: notes_of(&survey), health: Health::Sound };
    let indexed = opening.indexed(progress)?;
    let Open { mut notes, health, .. } = opening;

    let store = match indexed.books.store.or(survey.store) {
        Some(store) => store,
        None => new_id().map_err(io_at(dir))?,
    };
    let roll = match health.takes_events() {
        true => {
            // What becomes of a torn tail is noted there.
            notes.retain(|note| !matches!(note, Note::TornTailSeen { .. }));
            Some(Roll::open(disk.clone(), dir, setup.segment_bytes, store, &survey, &mut notes)?)
        }
        false => None,
    };
    let head = indexed.books.seq;
    let shared = Shared {
        state: RwLock::new(State { trees: indexed.trees, pending: None, head, broken: None }),
        disk,
        roll: roll_dir(dir),
        zone: setup.zone.clone(),
    };
    let store = Store {
        home: dir.to_owned(),
        store,
        roll,
        books: indexed.books.clone(),
        shared: Arc::new(shared),
        zone_name: zone_name(&setup.zone),
        health: health.clone(),
        _lock: lock,
    };
    Ok(Opening { store, books: indexed.books, notes, state: health })
}

struct Open<'a> {
    dir: &'a Path,
    disk: &'a dyn Disk,
    setup: &'a Setup,
    survey: &'a Survey,
    notes: Vec<Note>,
    health: Health,
}

impl Open<'_> {
    /// The books and, if it can be had, the index at the same event.
    fn indexed(&mut self, progress: &mut dyn FnMut(Progress)) -> Result<Indexed, StoreFault> {
        if !self.setup.index {
            return self.without_index(progress);
        }
        let path = index_dir(self.dir);
        index::move_leftovers(self.dir, &path, &mut self.notes)?;
        if self.survey.broken.is_some() {
            self.export_from(self.survey.head());
            return self.without_index(progress);
        }
        let zone = zone_name(&self.setup.zone);
        let checked = Trees::open(&path).map_err(index::CheckFault::Index).and_then(|trees| {
            let mut progress = |done, total| progress(Progress { work: Work::ReadingIndex, done, total });
            let checked = guarded_check(&trees, self.survey, (&self.setup.zone, &zone), &mut progress);
            match checked {
                Ok(verdict) => Ok((trees, verdict)),
                Err(fault) => {
                    trees.close();
                    Err(fault)
                }
            }
        });
        match checked {
            Ok((trees, Verdict::Trusted { seq, books })) => self.catch_up(trees, seq, *books, progress),
            Ok((trees, Verdict::Rebuild { why })) => {
                let empty = trees.last_event().is_ok_and(|last| last == 0) && trees.applied().is_ok_and(|found| found.is_none());
                trees.close();
                self.rebuild(why, !empty, progress)
            }
            Ok((trees, Verdict::Ahead(reason))) => {
                let from = match &reason {
                    Reason::Diverged { seq } => seq - 1,
                    Reason::ForeignIndex => 0,
                    _ => self.survey.head(),
                };
                self.export(&trees, from);
                trees.close();
                self.health.add(reason);
                self.without_index(progress)
            }
            Err(index::CheckFault::Index(IndexFault::Damaged(why))) => self.rebuild(why, true, progress),
            Err(index::CheckFault::Index(IndexFault::Unusable(why))) => {
                self.health.add(Reason::IndexBroken { why });
                self.without_index(progress)
            }
            Err(index::CheckFault::Store(fault)) => Err(fault),
        }
    }

    fn without_index(&mut self, progress: &mut dyn FnMut(Progress)) -> Result<Indexed, StoreFault> {
        let mut progress = |done, total| progress(Progress { work: Work::Folding, done, total });
        let (books, misfit) = fold::fold_lines(self.disk, &roll_dir(self.dir), self.survey, u64::MAX, &mut progress)?;
        for reason in reasons_of(self.survey, &misfit) {
            self.health.add(reason);
        }
        Ok(Indexed { trees: None, books })
    }

    /// Sets the index aside, if there is one, and makes a new one from the roll.
    fn rebuild(&mut self, why: String, aside: bool, progress: &mut dyn FnMut(Progress)) -> Result<Indexed, StoreFault> {
        let indexed = self.without_index(progress)?;
        if !self.health.takes_events() {
            return Ok(indexed);
        }
        let path = index_dir(self.dir);
        let aside = if aside { index::move_aside(self.dir, &path)? } else { None };
        match Trees::open(&path) {
            Ok(trees) => {
                let grown = self.grow(trees, &Books::default(), indexed.books, progress)?;
                if grown.trees.is_some() && (grown.books.seq > 0 || aside.is_some()) {
                    self.notes.push(Note::Rebuilt { why, aside });
                }
                Ok(grown)
            }
            Err(fault) => {
                self.health.add(Reason::IndexBroken { why: fault.to_string() });
                Ok(indexed)
            }
        }
    }

    /// Folds what the index lacks from the roll, and adds it.
    fn catch_up(
        &mut self,
        trees: Trees,
        seq: u64,
        books: Books,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<Indexed, StoreFault> {
        if seq == self.survey.head() {
            return Ok(Indexed { trees: Some(trees), books });
        }
        let (mut after, mut misfit) = (books.clone(), false);
        let range = (seq + 1, self.survey.head());
        survey::lines(self.disk, &roll_dir(self.dir), self.survey, range, &mut |seq, text| {
            misfit = misfit || after.apply(&fold::event(seq, text)?).is_err();
            Ok(())
        })?;
        if misfit {
            trees.close();
            return self.without_index(progress);
        }
        let caught_up = self.grow(trees, &books, after, progress)?;
        if caught_up.trees.is_some() {
            self.notes.push(Note::CaughtUp { from: range.0, to: range.1 });
        }
        Ok(caught_up)
    }

    /// Brings the index from the books `before` to the books `after`.
    fn grow(
        &mut self,
        trees: Trees,
        before: &Books,
        after: Books,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<Indexed, StoreFault> {
        let (Some(store), head) = (after.store, after.seq) else { return Ok(Indexed { trees: Some(trees), books: after }) };
        let touched = match before.seq {
            0 => after.entries.keys().copied().collect(),
            from => self.touched_since(from)?,
        };
        let changes = Changes::between(before, &after, &touched, &self.setup.zone);
        let hash = self.survey.hash_at(head).unwrap_or(LineHash::genesis(store));
        let applied = Applied::new(store, head, hash, &zone_name(&self.setup.zone));
        let (disk, dir, survey) = (self.disk, roll_dir(self.dir), self.survey);
        let grown = guarded_grow(|| {
            let lines = |add: &mut EachLine<'_, Grow>| {
                let mut failed = None;
                let read = survey::lines(disk, &dir, survey, (before.seq + 1, head), &mut |seq, text| {
                    if seq.is_multiple_of(1024) {
                        progress(Progress { work: Work::Indexing, done: seq - before.seq, total: head - before.seq });
                    }
                    add(seq, text).map_err(|fault| {
                        failed = Some(fault);
                        StoreFault::NoSuchEvent { asked: seq, last: head }
                    })
                });
                match failed {
                    Some(fault) => Err(fault),
                    None => read.map_err(Grow::Store),
                }
            };
            trees.follow_many(lines, &changes, &applied)
        });
        match grown {
            Ok(()) => Ok(Indexed { trees: Some(trees), books: after }),
            Err(Grow::Store(fault)) => Err(fault),
            Err(Grow::Index(fault)) => {
                trees.close();
                self.health.add(Reason::IndexBroken { why: fault.to_string() });
                Ok(Indexed { trees: None, books: after })
            }
        }
    }

    fn touched_since(&self, from: u64) -> Result<BTreeSet<crate::facts::EntryId>, StoreFault> {
        let mut touched = BTreeSet::new();
        let range = (from + 1, self.survey.head());
        survey::lines(self.disk, &roll_dir(self.dir), self.survey, range, &mut |seq, text| {
            index::touched(&fold::event(seq, text)?, &mut touched);
            Ok(())
        })?;
        Ok(touched)
    }

    /// Opens an index only to write out what it has after event `from`. What cannot be read of it stays in it.
    fn export_from(&mut self, from: u64) {
        if index_dir(self.dir).exists()
            && let Ok(trees) = Trees::open(&index_dir(self.dir))
        {
            self.export(&trees, from);
            trees.close();
        }
    }

    fn export(&mut self, trees: &Trees, from: u64) {
        let Ok(Some((from, to, text))) = index::guarded(|| index::surplus(trees, from)) else { return };
        if let Ok(kept) = quarantine::keep(self.disk, self.dir, &format!("surplus-{from}-{to}"), &text) {
            self.notes.push(Note::SurplusExported { from, to, kept });
        }
    }
}

enum Grow {
    Index(IndexFault),
    Store(StoreFault),
}

impl From<IndexFault> for Grow {
    fn from(fault: IndexFault) -> Grow {
        Grow::Index(fault)
    }
}

fn guarded_grow(work: impl FnOnce() -> Result<(), Grow>) -> Result<(), Grow> {
    index::guarded(|| Ok(work())).unwrap_or_else(|fault| Err(Grow::Index(fault)))
}

fn guarded_check(
    trees: &Trees,
    survey: &Survey,
    zone: (&TimeZone, &str),
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Verdict, index::CheckFault> {
    index::guarded(|| Ok(index::check(trees, survey, zone, progress))).unwrap_or_else(|fault| Err(fault.into()))
}

fn bytes_read(progress: &mut dyn FnMut(Progress)) -> impl FnMut(u64, u64) {
    |done, total| progress(Progress { work: Work::ReadingRoll, done, total })
}

fn new_id() -> std::io::Result<StoreId> {
    let mut bytes = [0; 16];
    rand::rngs::OsRng.try_fill_bytes(&mut bytes).map_err(std::io::Error::other)?;
    Ok(StoreId(u128::from_be_bytes(bytes)))
}

/// A name for a zone, to tell whether it is still the same.
fn zone_name(zone: &TimeZone) -> String {
    zone.iana_name().map_or_else(|| format!("{zone:?}"), str::to_owned)
}

pub(super) fn notes_of(survey: &Survey) -> Vec<Note> {
    let torn = survey.torn.iter().map(|torn| Note::TornTailSeen { segment: torn.segment.to_string(), bytes: torn.bytes });
    let abandoned = survey.abandoned.iter();
    abandoned.map(|rest| Note::Abandoned { segment: rest.segment.to_string(), bytes: rest.bytes }).chain(torn).collect()
}

pub(super) fn reasons_of(survey: &Survey, misfit: &Option<(u64, Misfit)>) -> Vec<Reason> {
    let broken = survey.broken.iter().map(|found| Reason::ChainBroken {
        segment: found.segment.to_string(),
        at: found.at,
        after: found.after,
        why: found.why.to_string(),
    });
    let misfit = misfit.iter().map(|(seq, misfit)| Reason::DoesNotFit { seq: *seq, why: misfit.to_string() });
    broken.chain(misfit).collect()
}

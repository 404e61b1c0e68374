//! The index damaged, behind, ahead, foreign or gone.

use crate::events::Life;
use crate::model::{copy, flip};
use crate::support::{fold, history, open, open_sound};
use bismar::facts::{Books, Event};
use bismar::store::{AppendFault, Health, Note, RealDisk, Reason, Store, StoreFault, mend};
use std::path::{Path, PathBuf};

/// A store with a few hundred events on the real disk, closed.
struct Closed {
    home: tempfile::TempDir,
    events: Vec<Event>,
}

impl Closed {
    fn new() -> Closed {
        let mut closed = Closed { home: tempfile::tempdir().unwrap(), events: Vec::new() };
        closed.grow(400, 3);
        closed
    }

    fn grow(&mut self, events: usize, seed: u64) {
        let mut store = open_sound(self.home.path(), &RealDisk, true).store;
        for batch in Life::new(store.store_id(), store.books().clone(), seed).batches(events) {
            store.append(&batch).unwrap();
            self.events.extend(batch);
        }
        store.barrier();
    }

    fn path(&self) -> &Path {
        self.home.path()
    }

    fn index(&self) -> PathBuf {
        self.path().join("index")
    }

    fn roll(&self) -> PathBuf {
        self.path().join("roll")
    }

    /// Opens soundly to the same books, whatever was done to the index, and gives the notes.
    fn opens_the_same(&self) -> Vec<Note> {
        let opening = open_sound(self.path(), &RealDisk, true);
        assert_eq!(opening.books, fold(&self.events));
        assert_eq!(history(&opening.store), self.events);
        opening.notes
    }

    fn last_segment(&self) -> PathBuf {
        let mut segments: Vec<PathBuf> = std::fs::read_dir(self.roll()).unwrap().map(|entry| entry.unwrap().path()).collect();
        segments.sort();
        segments.pop().unwrap()
    }

    /// Opens degraded, with the index and the roll untouched and appends refused.
    fn opens_degraded(&self, head: usize) -> (Vec<Reason>, Vec<Note>) {
        let before = std::fs::read(self.last_segment()).unwrap();
        let mut opening = open(self.path(), &RealDisk, true).unwrap();
        let Health::Degraded(reasons) = opening.state else { panic!("it is taken for sound: {:?}", opening.notes) };
        assert_eq!(opening.books, fold(&self.events[..head]));
        assert_eq!(history(&opening.store), self.events[..head]);
        let next = Life::new(opening.store.store_id(), opening.books.clone(), 9).batch();
        assert!(matches!(opening.store.append(&next), Err(AppendFault::Degraded(_))));
        assert_eq!(std::fs::read(self.last_segment()).unwrap(), before);
        (reasons, opening.notes)
    }
}

#[test]
fn an_index_that_is_gone_is_made_anew() {
    let closed = Closed::new();
    assert_eq!(closed.opens_the_same(), []);
    std::fs::remove_dir_all(closed.index()).unwrap();
    assert!(matches!(closed.opens_the_same()[..], [Note::Rebuilt { aside: None, .. }]));
    assert_eq!(closed.opens_the_same(), []);
}

#[test]
fn a_cut_index_is_made_anew() {
    for percent in [0, 25, 50, 75, 90, 95, 98] {
        let closed = Closed::new();
        let db = std::fs::OpenOptions::new().write(true).open(closed.index().join("db")).unwrap();
        db.set_len(db.metadata().unwrap().len() * percent / 100).unwrap();
        closed.opens_the_same();
        assert_eq!(closed.opens_the_same(), [], "cut to {percent} %");
    }
}

#[test]
fn an_index_with_a_flipped_bit_does_no_harm() {
    let closed = Closed::new();
    let sound = closed.path().join("sound");
    copy(&closed.index(), &sound);
    let mut rebuilt = 0;
    for at in 0..48_u64 {
        flip(&closed.index().join("db"), at.wrapping_mul(7_919_357), (at % 8) as u8);
        rebuilt += closed.opens_the_same().len();
        std::fs::remove_dir_all(closed.index()).unwrap();
        copy(&sound, &closed.index());
    }
    assert!(rebuilt > 0, "no flip was ever noticed");
}

#[test]
fn garbage_in_place_of_the_index_is_set_aside() {
    let closed = Closed::new();
    for name in ["db", "conf"] {
        std::fs::write(closed.index().join(name), "garbage ".repeat(9000)).unwrap();
        let notes = closed.opens_the_same();
        assert!(matches!(&notes[..], [Note::Rebuilt { aside: Some(aside), .. }] if aside.exists()), "{name}: {notes:?}");
    }
}

/// sled#1533: an empty leftover of a snapshot keeps sled from opening.
#[test]
fn a_leftover_of_a_snapshot_is_moved_away() {
    let closed = Closed::new();
    std::fs::write(closed.index().join("snap.00000000000FFFFF.generating"), "").unwrap();
    assert!(matches!(&closed.opens_the_same()[..], [Note::LeftoverMoved { to, .. }] if to.exists()));
    assert_eq!(closed.opens_the_same(), []);
}

#[test]
fn an_index_that_is_behind_is_caught_up() {
    let mut closed = Closed::new();
    let old = closed.path().join("old");
    copy(&closed.index(), &old);
    let before = closed.events.len() as u64;
    closed.grow(100, 4);
    std::fs::remove_dir_all(closed.index()).unwrap();
    std::fs::rename(&old, closed.index()).unwrap();
    let expected = Note::CaughtUp { from: before + 1, to: closed.events.len() as u64 };
    assert_eq!(closed.opens_the_same(), [expected]);
    assert_eq!(closed.opens_the_same(), []);
}

/// A zone other than before: days are other days.
#[test]
fn another_zone_lists_by_its_own_days() {
    let closed = Closed::new();
    let totals = |zone: jiff::tz::TimeZone| {
        let setup = bismar::store::Setup { zone, ..crate::support::setup(true) };
        let opening = Store::open_with(closed.path(), std::sync::Arc::new(RealDisk), &setup, &mut |_| {}).unwrap();
        assert_eq!(opening.state, Health::Sound);
        opening.store.reader().totals(jiff::civil::Date::MIN..=jiff::civil::Date::MAX).unwrap().value
    };
    let (here, there) = (totals(jiff::tz::TimeZone::UTC), totals(jiff::tz::TimeZone::get("Pacific/Auckland").unwrap()));
    assert_ne!(here, there);
    assert_eq!(here, totals(jiff::tz::TimeZone::UTC));
}

/// The roll has lost its last segment, which was acknowledged.
#[test]
fn an_index_ahead_of_the_roll_is_never_built_over() {
    let closed = Closed::new();
    let last = closed.last_segment();
    let first: usize = last.file_stem().unwrap().to_str().unwrap().parse().unwrap();
    let lost = std::fs::read(&last).unwrap();
    std::fs::remove_file(&last).unwrap();
    let (reasons, notes) = closed.opens_degraded(first - 1);
    assert_eq!(reasons, [Reason::IndexAhead { roll: first as u64 - 1, index: closed.events.len() as u64 }]);
    let [Note::SurplusExported { kept, .. }] = &notes[..] else { panic!("{notes:?}") };
    assert_eq!(std::fs::read(kept).unwrap(), lost);
    // A second start finds the same, and keeps it only once.
    let again = closed.opens_degraded(first - 1);
    assert_eq!(again, (reasons, notes));

    let mended = mend(closed.path(), &RealDisk).unwrap().unwrap();
    assert_eq!((mended.from, mended.to), (first as u64, closed.events.len() as u64));
    assert_eq!(closed.opens_the_same(), []);
    assert_eq!(mend(closed.path(), &RealDisk).unwrap(), None);
}

#[test]
fn a_roll_that_is_gone_is_not_founded_again_over_an_index() {
    let closed = Closed::new();
    std::fs::remove_dir_all(closed.roll()).unwrap();
    let opening = open(closed.path(), &RealDisk, true).unwrap();
    assert_eq!(opening.state, Health::Degraded(vec![Reason::IndexAhead { roll: 0, index: closed.events.len() as u64 }]));
    assert_eq!(opening.books, Books::default());
    drop(opening);
    mend(closed.path(), &RealDisk).unwrap().unwrap();
    assert_eq!(closed.opens_the_same(), []);
}

/// An old backup of the roll was put back, and went on in another way than the index remembers.
#[test]
fn an_index_of_another_history_is_not_built_over() {
    let mut closed = Closed::new();
    let (roll, index) = (closed.path().join("old-roll"), closed.path().join("new-index"));
    copy(&closed.roll(), &roll);
    let common = closed.events.len();
    closed.grow(60, 5);
    copy(&closed.index(), &index);
    std::fs::remove_dir_all(closed.roll()).unwrap();
    std::fs::remove_dir_all(closed.index()).unwrap();
    std::fs::rename(&roll, closed.roll()).unwrap();
    closed.events.truncate(common);
    closed.grow(90, 6);
    std::fs::remove_dir_all(closed.index()).unwrap();
    std::fs::rename(&index, closed.index()).unwrap();
    let (reasons, notes) = closed.opens_degraded(closed.events.len());
    assert!(matches!(reasons[..], [Reason::Diverged { seq }] if seq > common as u64), "{reasons:?}");
    assert!(matches!(notes[..], [Note::SurplusExported { .. }]), "{notes:?}");
    assert!(matches!(mend(closed.path(), &RealDisk), Err(StoreFault::CannotMend(_))));
}

#[test]
fn an_index_of_another_store_is_not_built_over() {
    let (closed, other) = (Closed::new(), Closed::new());
    std::fs::remove_dir_all(closed.index()).unwrap();
    copy(&other.index(), &closed.index());
    assert_eq!(closed.opens_degraded(closed.events.len()).0, [Reason::ForeignIndex]);
}

/// A roll broken in the middle: reading goes on up to the break, and mending takes the rest from the index.
#[test]
fn a_broken_roll_is_mended_from_the_index() {
    let closed = Closed::new();
    let segments = std::fs::read_dir(closed.roll()).unwrap().count();
    assert!(segments > 5);
    let mut names: Vec<PathBuf> = std::fs::read_dir(closed.roll()).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    for (index, at) in [(2, 400), (0, 20), (segments - 1, 10)] {
        flip(&names[index], at, 3);
        let opening = open(closed.path(), &RealDisk, true).unwrap();
        let first: u64 = names[index].file_stem().unwrap().to_str().unwrap().parse().unwrap();
        assert!(matches!(opening.state.reasons(), [Reason::ChainBroken { after, .. }] if *after >= first - 1));
        assert!(opening.books.seq >= first - 1 && opening.books.seq < closed.events.len() as u64);
        drop(opening);
        let mended = mend(closed.path(), &RealDisk).unwrap().unwrap();
        assert_eq!((mended.from, mended.to), (first, closed.events.len() as u64));
        assert!(mended.aside.iter().all(|aside| aside.exists()));
        assert_eq!(closed.opens_the_same(), []);
        names = std::fs::read_dir(closed.roll()).unwrap().map(|entry| entry.unwrap().path()).collect();
        names.sort();
        if names.len() < segments {
            break;
        }
    }
}

/// sled's own threads hold its lock for a moment after it was closed.
fn open_sled(path: &std::path::Path) -> sled::Db {
    for _ in 0..100 {
        if let Ok(db) = sled::open(path) {
            return db;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    sled::open(path).unwrap()
}

/// Lists that do not follow from the events, although sled finds nothing wrong with them.
#[test]
fn a_list_that_lost_a_row_is_noticed() {
    for name in ["drops-by-bin", "drops-by-day", "totals", "events"] {
        let closed = Closed::new();
        let db = open_sled(&closed.index());
        let tree = db.open_tree(name).unwrap();
        let (key, _) = tree.iter().nth(5).unwrap().unwrap();
        tree.remove(key).unwrap();
        drop((tree, db));
        assert!(matches!(closed.opens_the_same()[..], [Note::Rebuilt { aside: Some(_), .. }]), "{name}");
        assert_eq!(closed.opens_the_same(), []);
    }
}

/// However many batches wait before they go into the index, it comes to hold the same.
#[test]
fn batches_that_go_in_together_are_as_good_as_one_by_one() {
    for every in [7, 60] {
        let home = tempfile::tempdir().unwrap();
        let mut store = open_sound(home.path(), &RealDisk, true).store;
        let reader = store.reader();
        let days = || jiff::civil::Date::MIN..=jiff::civil::Date::MAX;
        for (n, batch) in Life::new(store.store_id(), store.books().clone(), every).batches(1000).into_iter().enumerate() {
            store.append(&batch).unwrap();
            if (n as u64).is_multiple_of(every) {
                assert_eq!(reader.totals(days()).unwrap().applied, store.head());
            }
        }
        drop(store);
        // The lists are compared with the books here.
        assert_eq!(open_sound(home.path(), &RealDisk, true).notes, [], "every {every}");
    }
}

/// Readers outlive a broken index: the roll answers.
#[test]
fn answers_come_from_the_roll_when_the_index_is_off() {
    let closed = Closed::new();
    let days = jiff::civil::Date::MIN..=jiff::civil::Date::MAX;
    let with = open_sound(closed.path(), &RealDisk, true).store;
    let expected = (with.reader().totals(days.clone()).unwrap(), with.reader().events(50..=70, 9).unwrap());
    drop(with);
    let without = open_sound(closed.path(), &RealDisk, false).store;
    assert_eq!((without.reader().totals(days).unwrap(), without.reader().events(50..=70, 9).unwrap()), expected);
}

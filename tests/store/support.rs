//! What the tests of the store share.

use bismar::facts::{Books, Event};
use bismar::store::{Disk, Health, Opening, Setup, Store, StoreFault};
use std::path::Path;
use std::sync::Arc;

/// Small segments, so that a short run has several.
pub fn setup(index: bool) -> Setup {
    Setup { segment_bytes: 3000, index, ..Setup::default() }
}

pub fn open(dir: &Path, disk: &(impl Disk + Clone + 'static), index: bool) -> Result<Opening, StoreFault> {
    Store::open_with(dir, Arc::new(disk.clone()), &setup(index), &mut |_| {})
}

/// Opens, and fails the test when anything is wrong.
pub fn open_sound(dir: &Path, disk: &(impl Disk + Clone + 'static), index: bool) -> Opening {
    let opening = open(dir, disk, index).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(opening.state, Health::Sound, "{:?}", opening.notes);
    opening
}

pub fn fold(events: &[Event]) -> Books {
    let mut books = Books::default();
    for event in events {
        books.apply(event).unwrap();
    }
    books
}

/// Every event that the store has, through its reader.
pub fn history(store: &Store) -> Vec<Event> {
    let answer = store.reader().events(1..=u64::MAX, usize::MAX).unwrap();
    assert_eq!(answer.applied, answer.value.len() as u64);
    answer.value
}

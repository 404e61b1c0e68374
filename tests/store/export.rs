//! Books that go out as text and come back: the same to the last byte, or refused with the line, and nothing by halves.

use crate::events::Life;
use crate::support::open_sound;
use bismar::facts::{Books, Event, StoreId};
use bismar::store::faulty::{FaultyDisk, Loss};
use bismar::store::{Disk, Health, RealDisk, StoreFault, export, fold_roll, import, verify};
use proptest::prelude::*;
use std::io::ErrorKind;
use std::path::Path;

const HOME: &str = "/bench";
const TO: &str = "/other";

/// A store of one file on a disk in memory, and its export.
fn exported(seed: u64, events: usize) -> (FaultyDisk, Vec<Event>, Vec<u8>) {
    let disk = FaultyDisk::new();
    let mut store = open_sound(Path::new(HOME), &disk, false).store;
    let batches = Life::new(store.store_id(), store.books().clone(), seed).batches(events);
    for batch in &batches {
        store.append(batch).unwrap();
    }
    drop(store);
    let mut text = Vec::new();
    let told = export(Path::new(HOME), &disk, &mut text).unwrap();
    assert_eq!((told.seq, told.damage.len()), (batches.concat().len() as u64, 0));
    (disk, batches.concat(), text)
}

/// All bytes of a roll, in the order of its segments.
fn roll(disk: &dyn Disk, home: &str) -> Vec<u8> {
    let dir = Path::new(home).join("roll");
    let mut names = disk.list(&dir).unwrap();
    names.sort();
    names.iter().flat_map(|name| disk.read(&dir.join(name), 0, usize::MAX).unwrap()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn what_went_out_comes_back_byte_for_byte(seed in any::<u64>(), events in 1usize..120) {
        let (disk, events, text) = exported(seed, events);
        let told = import(&mut text.as_slice(), Path::new(TO), &disk).unwrap();
        prop_assert_eq!(told.seq, events.len() as u64);
        prop_assert_eq!(roll(&disk, HOME), roll(&disk, TO));
        let (books, notes) = fold_roll(Path::new(TO), &disk).unwrap();
        prop_assert_eq!((books.seq, notes.len()), (told.seq, 0));
        prop_assert_eq!(verify(Path::new(TO), &disk).unwrap().hash, Some(told.hash));
    }

    /// A changed digit anywhere, a line that is missing, doubled or out of place, an end that is missing.
    #[test]
    fn what_was_changed_is_refused(seed in any::<u64>(), place in any::<prop::sample::Index>(), how in 0u8..5) {
        let (disk, _, text) = exported(seed, 30);
        let mut lines: Vec<Vec<u8>> = text.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        let at = place.index(lines.len() - 1);
        match how {
            0 => {
                let digit = lines[at].iter().rposition(u8::is_ascii_digit).unwrap();
                lines[at][digit] = if lines[at][digit] == b'7' { b'8' } else { b'7' };
            }
            1 => _ = lines.remove(at),
            2 => {
                let double = lines[at].clone();
                lines.insert(at, double);
            }
            3 => lines.truncate(at + 1),
            _ => lines.swap(at, at + 1),
        }
        let fault = import(&mut lines.concat().as_slice(), Path::new(TO), &disk).unwrap_err();
        prop_assert!(matches!(fault, StoreFault::BadExport { .. }), "{}", fault);
        prop_assert!(disk.list(&Path::new(TO).join("roll")).unwrap().is_empty());
    }
}

/// At each operation: an error, and the power gone with whatever that leaves. Either the whole roll is there or none.
#[test]
fn an_import_is_all_or_nothing() {
    let (disk, _, text) = exported(5, 60);
    let before = disk.operations();
    import(&mut text.as_slice(), Path::new("/first"), &disk).unwrap();
    let (whole, operations) = (roll(&disk, "/first"), disk.operations() - before);
    assert!(operations >= 5, "{:?}", disk.log());
    for operation in 1..=operations {
        for loss in [None, Some(Loss::All), Some(Loss::None), Some(Loss::Prefix(100)), Some(Loss::Some(operation * 7 + 1))] {
            let disk = FaultyDisk::new();
            let run = || import(&mut text.as_slice(), Path::new(TO), &disk);
            match loss {
                None => disk.fail_at(operation, ErrorKind::StorageFull),
                Some(_) => disk.crash_at(operation),
            }
            run().unwrap_err();
            if let Some(loss) = loss {
                disk.reboot(loss);
            }
            let there = roll(&disk, TO);
            if there.is_empty() {
                run().unwrap();
            }
            assert_eq!(roll(&disk, TO), whole, "operation {operation}, {loss:?}: {:?}", disk.log());
        }
    }
}

#[test]
fn only_into_an_empty_place_and_only_what_this_program_knows() {
    let (disk, events, text) = exported(9, 20);
    assert!(matches!(import(&mut text.as_slice(), Path::new(HOME), &disk), Err(StoreFault::NotEmpty(_))));
    let refused = |text: &str, line: u64, part: &str| {
        let fault = import(&mut text.as_bytes(), Path::new(TO), &FaultyDisk::new()).unwrap_err().to_string();
        assert!(fault.contains(&format!("line {line} ")) && fault.contains(part), "{fault}");
    };
    refused("", 1, "closing line");
    refused("hello\n", 1, "the hash of the line before");
    let text = String::from_utf8(text).unwrap();
    refused(&text.replace(r#""v":1"#, r#""v":2"#), 1, "newer program");
    refused(&format!("{text}{{}}\n"), events.len() as u64 + 2, "after the closing line");
    let (first, rest) = text.split_once('\n').unwrap();
    refused(&format!("{first}\n\n{rest}"), 2, "the hash of the line before");
    // A trip through an editor that ends lines otherwise changes nothing.
    import(&mut text.replace('\n', "\r\n").as_bytes(), Path::new(TO), &FaultyDisk::new()).unwrap();
}

/// The same on a real disk, where a directory is really renamed.
#[test]
fn an_imported_store_goes_on() {
    let home = tempfile::tempdir().unwrap();
    let (disk, events, text) = exported(11, 40);
    let to = home.path().join("books");
    import(&mut text.as_slice(), &to, &RealDisk).unwrap();
    let mut store = open_sound(&to, &RealDisk, true).store;
    assert_eq!(store.head(), events.len() as u64);
    let more = Life::new(store.store_id(), store.books().clone(), 12).batch();
    store.append(&more).unwrap();
    drop(store);
    assert_eq!(verify(&to, &RealDisk).unwrap().state, Health::Sound);
    assert!(roll(&RealDisk, to.to_str().unwrap()).starts_with(&roll(&disk, HOME)));
    assert_ne!(events[0].store, StoreId(0));
    assert_eq!(fold_roll(&to, &RealDisk).unwrap().0.seq, Books::default().seq + (events.len() + more.len()) as u64);
}

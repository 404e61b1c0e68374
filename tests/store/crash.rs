//! Every point at which the power can go or an operation can fail, one after the other.

use crate::events::Life;
use crate::support::{fold, history, open, open_sound};
use bismar::facts::{Event, StoreId};
use bismar::store::faulty::{FaultyDisk, Loss};
use bismar::store::{AppendFault, Store};
use std::io::ErrorKind;
use std::path::Path;

const HOME: &str = "/bench";

/// One life of a store on a faulty disk, and what it was told.
struct Run {
    disk: FaultyDisk,
    acked: Vec<Event>,
    /// Batches that were tried since the last acknowledgement, and not acknowledged.
    tried: Vec<Vec<Event>>,
    /// So that a batch that is tried again is another one.
    tries: u64,
}

impl Run {
    fn new() -> Run {
        Run { disk: FaultyDisk::new(), acked: Vec::new(), tried: Vec::new(), tries: 0 }
    }

    fn open(&self) -> Option<Store> {
        match open(Path::new(HOME), &self.disk, false) {
            Ok(opening) => Some(opening.store),
            Err(_) if self.disk.crashed() => None,
            // An operation failed: opening again must do.
            Err(_) => Some(open_sound(Path::new(HOME), &self.disk, false).store),
        }
    }

    /// Appends until so many events are acknowledged, or the power goes. What fails is tried again with other events in
    /// its place, as a bench does that merges steps while it cannot store them.
    fn work(&mut self, store: &mut Store, events: usize) {
        let mut failures = 0;
        while self.acked.len() < events {
            let seed = self.acked.len() as u64 * 1000 + self.tries;
            let batch = Life::new(store.store_id(), store.books().clone(), seed).batch();
            match store.append(&batch) {
                Ok(()) => {
                    self.acked.extend(batch);
                    self.tried.clear();
                }
                Err(AppendFault::Disk { kept, .. }) => {
                    assert_eq!(kept, self.acked.len() as u64);
                    self.tried.push(batch);
                    self.tries += 1;
                    if self.disk.crashed() {
                        return;
                    }
                    failures += 1;
                    assert!(failures < 9, "it does not recover: {:?}", self.disk.log());
                }
                Err(fault) => panic!("{fault}"),
            }
        }
    }

    /// Reopens, and checks that exactly what was acknowledged is there, or that and one whole batch that was tried.
    fn check(&mut self, what: &str) -> Store {
        let opening = open_sound(Path::new(HOME), &self.disk, false);
        let there = history(&opening.store);
        let told = |extra: &[Event]| there.iter().eq(self.acked.iter().chain(extra));
        let fits = told(&[]) || self.tried.iter().any(|batch| told(batch));
        assert!(fits, "{what}: {} acknowledged, {} there; {:?}", self.acked.len(), there.len(), self.disk.log());
        assert_eq!(opening.books, fold(&there), "{what}");
        self.acked = there;
        self.tried.clear();
        opening.store
    }
}

const EVENTS: usize = 26;

fn losses() -> Vec<Loss> {
    let prefixes = [70, 420, 900].map(Loss::Prefix);
    let some = (1..=5).map(|seed| Loss::Some(seed * 0x1234_5677_9abd));
    [Loss::All, Loss::None].into_iter().chain(prefixes).chain(some).collect()
}

/// The operations of a run in which nothing fails.
fn operations() -> u64 {
    let mut run = Run::new();
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    run.disk.operations()
}

#[test]
fn the_power_goes_at_every_operation() {
    let last = operations();
    assert!(last > 40, "the run is too short to show anything");
    for at in 1..=last {
        for loss in losses() {
            let mut run = Run::new();
            run.disk.crash_at(at);
            if let Some(mut store) = run.open() {
                run.work(&mut store, EVENTS);
            }
            run.disk.reboot(loss);
            let what = format!("power cut at {at} of {last}, {loss:?}");
            let mut store = run.check(&what);
            run.work(&mut store, EVENTS + 6);
            drop(store);
            run.disk.reboot(Loss::All);
            run.check(&format!("{what}, then another"));
        }
    }
}

/// A second cut while the first is being recovered from, with chance about what stays.
#[test]
fn the_power_goes_again_during_recovery() {
    let last = operations();
    for at in (3..=last).step_by(2) {
        for seed in 1..=4 {
            for again in 1..=6 {
                let mut run = Run::new();
                run.disk.crash_at(at);
                if let Some(mut store) = run.open() {
                    run.work(&mut store, EVENTS);
                }
                run.disk.reboot(Loss::Some(seed * 77_777 + at));
                run.disk.crash_at(run.disk.operations() + again);
                if let Some(mut store) = run.open() {
                    run.tried_or_there(&store);
                    run.work(&mut store, EVENTS + 3);
                }
                run.disk.reboot(Loss::Some(seed * 991 + again));
                let mut store = run.check(&format!("cut at {at}, again {again} operations later, seed {seed}"));
                run.work(&mut store, EVENTS + 6);
            }
        }
    }
}

impl Run {
    /// What an opened store shows counts as told from then on.
    fn tried_or_there(&mut self, store: &Store) {
        let there = history(store);
        let told = |extra: &[Event]| there.iter().eq(self.acked.iter().chain(extra));
        assert!(told(&[]) || self.tried.iter().any(|batch| told(batch)));
        self.acked = there;
        self.tried.clear();
    }
}

#[test]
fn every_operation_fails_once() {
    let last = operations();
    for at in 1..=last {
        for kind in [ErrorKind::StorageFull, ErrorKind::Other] {
            for then in [None, Some(Loss::All), Some(Loss::None), Some(Loss::Some(at * 31 + 5)), Some(Loss::Prefix(300))] {
                let mut run = Run::new();
                run.disk.fail_at(at, kind);
                let mut store = run.open().unwrap();
                run.work(&mut store, EVENTS);
                drop(store);
                match then {
                    Some(loss) => run.disk.reboot(loss),
                    None => run.disk.restart(),
                }
                let mut store = run.check(&format!("operation {at} failed with {kind:?}, then {then:?}"));
                run.work(&mut store, EVENTS + 4);
                drop(store);
                run.disk.reboot(Loss::All);
                run.check(&format!("operation {at} failed, later"));
            }
        }
    }
}

/// The failure is not followed by a successful retry, but by a restart of the program alone, and then the power goes:
/// lines read back from pages that never reached the disk must not carry acknowledged ones.
#[test]
fn a_restart_after_a_failed_operation_trusts_no_page() {
    let last = operations();
    for at in 1..=last {
        for loss in [Loss::All, Loss::Some(at), Loss::Prefix(100)] {
            let mut run = Run::new();
            run.disk.fail_at(at, ErrorKind::Other);
            let mut store = run.open().unwrap();
            while run.acked.len() < EVENTS && run.tried.is_empty() {
                let batch = Life::new(store.store_id(), store.books().clone(), run.acked.len() as u64 * 1000).batch();
                match store.append(&batch) {
                    Ok(()) => run.acked.extend(batch),
                    Err(_) => run.tried.push(batch),
                }
            }
            drop(store);
            run.disk.restart();
            let mut store = run.check(&format!("operation {at} failed, then a restart"));
            run.work(&mut store, EVENTS + 4);
            drop(store);
            run.disk.reboot(loss);
            run.check(&format!("operation {at} failed, then a restart, then a power cut, {loss:?}"));
        }
    }
}

/// What the kernel says after a failed sync is not to be believed, so the file is left alone.
#[test]
fn a_segment_whose_sync_failed_is_not_touched_again() {
    let mut run = Run::new();
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    let before = run.disk.operations() as usize;
    run.disk.fail_at(before as u64 + 2, ErrorKind::Other);
    run.work(&mut store, EVENTS + 6);
    let log = run.disk.log();
    let name = |entry: &String| entry.split(' ').nth(2).unwrap().to_owned();
    let poisoned = name(&log[before + 1]);
    assert!(log[before + 1].contains(" sync "), "{log:?}");
    assert!(log[before + 2..].iter().all(|entry| name(entry) != poisoned), "{log:?}");
}

#[test]
fn a_full_disk_takes_events_again_when_there_is_room() {
    let mut run = Run::new();
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    run.disk.set_capacity(Some(0));
    for _ in 0..50 {
        let batch = Life::new(store.store_id(), store.books().clone(), 5).batch();
        let fault = store.append(&batch).unwrap_err();
        assert!(fault.is_full(), "{fault}");
        assert_eq!(store.head(), run.acked.len() as u64);
    }
    let files = bismar::store::Disk::list(&run.disk, &Path::new(HOME).join("roll")).unwrap().len();
    assert!(files < 9, "tries on a full disk leave {files} files");
    run.disk.set_capacity(None);
    run.work(&mut store, 2 * EVENTS);
    drop(store);
    run.disk.reboot(Loss::All);
    run.check("after the disk was full");
}

/// A torn tail that cannot be set aside, because the disk is full, is left behind and never read.
#[test]
fn a_torn_tail_on_a_full_disk() {
    let mut run = Run::new();
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    run.disk.crash_at(run.disk.operations() + 1);
    run.work(&mut store, EVENTS + 1);
    drop(store);
    run.disk.reboot(Loss::None);
    run.disk.set_capacity(Some(0));
    let store = run.check("with a torn tail on a full disk");
    drop(store);
    run.disk.set_capacity(None);
    run.disk.restart();
    let mut store = run.check("with room again");
    run.work(&mut store, 2 * EVENTS);
    drop(store);
    run.disk.reboot(Loss::All);
    run.check("and later");
}

#[test]
fn a_slow_disk_changes_nothing() {
    let mut run = Run::new();
    run.disk.set_delay(std::time::Duration::from_millis(2));
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    drop(store);
    run.disk.reboot(Loss::All);
    run.check("on a slow disk");
}

#[test]
fn a_second_opener_is_told_who_holds_the_store() {
    let run = Run::new();
    let store = run.open().unwrap();
    let fault = open(Path::new(HOME), &run.disk, false).err().expect("a refusal");
    assert!(fault.to_string().contains(&format!("process {}", std::process::id())), "{fault}");
    drop(store);
    assert!(run.open().is_some());
}

/// An event that does not follow is refused before anything is written.
#[test]
fn what_does_not_fit_is_not_written() {
    let mut run = Run::new();
    let mut store = run.open().unwrap();
    run.work(&mut store, EVENTS);
    let before = run.disk.operations();
    let good = Life::new(store.store_id(), store.books().clone(), 1).batch().remove(0);
    let unknown = bismar::facts::Fact::SessionEnded { session: bismar::facts::SessionId(999_999) };
    for bad in [
        Event { seq: good.seq + 1, ..good.clone() },
        Event { seq: good.seq - 1, ..good.clone() },
        Event { store: StoreId(7), ..good.clone() },
        Event { schema: 2, ..good.clone() },
        Event { fact: unknown, ..good.clone() },
        Event { cause: Some("x".repeat(2 << 20)), ..good.clone() },
    ] {
        store.append(&[bad]).unwrap_err();
    }
    assert_eq!(run.disk.operations(), before);
    store.append(&[good]).unwrap();
}

//! Random lives of a store, roll and index, against a plain list of events.

use crate::events::Life;
use crate::support::{fold, history, open};
use bismar::facts::{BinId, EntryId, Event};
use bismar::store::faulty::{FaultyDisk, Loss};
use bismar::store::{AppendFault, Health, Opening, Store};
use proptest::prelude::*;
use std::path::Path;

#[derive(Debug, Clone)]
enum Op {
    Append(u64),
    /// The given operation of the disk from now on fails; then appends until one goes through.
    AppendOverFault(u64, u64),
    Barrier,
    Restart,
    PowerCut(u64, u64),
    /// While the store is closed.
    DeleteIndex,
    HalveIndex,
    FlipIndex(u64, u8),
    /// The index as it was some time ago.
    OldIndex,
}

fn ops() -> impl Strategy<Value = Vec<Op>> {
    let op = prop_oneof![
        12 => any::<u64>().prop_map(Op::Append),
        3 => (any::<u64>(), 1_u64..4).prop_map(|(seed, at)| Op::AppendOverFault(seed, at)),
        1 => Just(Op::Barrier),
        2 => Just(Op::Restart),
        2 => (any::<u64>(), 1_u64..5).prop_map(|(seed, at)| Op::PowerCut(seed, at)),
        1 => Just(Op::DeleteIndex),
        1 => Just(Op::HalveIndex),
        2 => (any::<u64>(), 0_u8..8).prop_map(|(at, bit)| Op::FlipIndex(at, bit)),
        1 => Just(Op::OldIndex),
    ];
    proptest::collection::vec(op, 1..24)
}

struct World {
    home: tempfile::TempDir,
    disk: FaultyDisk,
    store: Option<Store>,
    acked: Vec<Event>,
}

impl World {
    fn store(&mut self) -> &mut Store {
        self.store.as_mut().unwrap()
    }

    fn next(&mut self, seed: u64) -> Vec<Event> {
        let store = self.store();
        Life::new(store.store_id(), store.books().clone(), seed).batch()
    }

    fn append(&mut self, seed: u64) -> Result<(), (Vec<Event>, AppendFault)> {
        let batch = self.next(seed);
        match self.store().append(&batch) {
            Ok(()) => {
                self.acked.extend(batch);
                Ok(())
            }
            Err(fault) => Err((batch, fault)),
        }
    }

    fn index(&self) -> std::path::PathBuf {
        self.home.path().join("index")
    }

    fn reopen(&mut self, tried: &[Event]) -> Result<(), TestCaseError> {
        let Opening { store, books, notes, state } = open(self.home.path(), &self.disk, true).unwrap();
        prop_assert_eq!(state, Health::Sound, "{:?}", notes);
        if store.head() > self.acked.len() as u64 {
            self.acked.extend_from_slice(tried);
        }
        prop_assert_eq!(&history(&store), &self.acked);
        prop_assert_eq!(&books, &fold(&self.acked));
        self.store = Some(store);
        Ok(())
    }

    fn run(&mut self, op: &Op) -> Result<(), TestCaseError> {
        match op {
            Op::Append(seed) => self.append(*seed).map_err(|(_, fault)| TestCaseError::fail(fault.to_string())),
            Op::AppendOverFault(seed, ahead) => {
                self.disk.fail_at(self.disk.operations() + ahead, std::io::ErrorKind::StorageFull);
                for seed in *seed..*seed + 4 {
                    // It may fail, once; what counts is what was acknowledged.
                    let _ = self.append(seed);
                }
                Ok(())
            }
            Op::Barrier => {
                self.store().barrier();
                prop_assert_eq!(self.store().health(), &Health::Sound);
                Ok(())
            }
            Op::Restart => self.closed(|_| {}),
            Op::PowerCut(seed, ahead) => {
                self.disk.crash_at(self.disk.operations() + ahead);
                let mut tried = Vec::new();
                for seed in *seed..*seed + 4 {
                    if let Err((batch, _)) = self.append(seed) {
                        tried = batch;
                        break;
                    }
                }
                self.store = None;
                self.disk.reboot(Loss::Some(*seed));
                self.reopen(&tried)
            }
            Op::DeleteIndex => self.closed(|index| std::fs::remove_dir_all(index).unwrap()),
            Op::HalveIndex => self.closed(|index| {
                let db = std::fs::OpenOptions::new().write(true).open(index.join("db")).unwrap();
                db.set_len(db.metadata().unwrap().len() / 2).unwrap();
            }),
            Op::FlipIndex(at, bit) => self.closed(|index| flip(&index.join("db"), *at, *bit)),
            Op::OldIndex => {
                let old = self.home.path().join("old");
                let fresh = !old.exists();
                self.closed(|index| {
                    if fresh {
                        copy(index, &old);
                    } else {
                        std::fs::remove_dir_all(index).unwrap();
                        std::fs::rename(&old, index).unwrap();
                    }
                })
            }
        }
    }

    fn closed(&mut self, work: impl FnOnce(&Path)) -> Result<(), TestCaseError> {
        self.store = None;
        work(&self.index());
        self.disk.restart();
        self.reopen(&[])
    }
}

pub fn flip(path: &Path, at: u64, bit: u8) {
    let mut bytes = std::fs::read(path).unwrap();
    let at = (at % bytes.len() as u64) as usize;
    bytes[at] ^= 1 << bit;
    std::fs::write(path, bytes).unwrap();
}

pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// What the index answers is what the roll alone answers.
fn same_answers(world: &World) -> Result<(), TestCaseError> {
    let reader = world.store.as_ref().unwrap().reader();
    let alone = FaultyDisk::clone(&world.disk);
    alone.restart();
    let elsewhere = open(world.home.path(), &alone, false).unwrap().store;
    let plain = elsewhere.reader();
    let days = jiff::civil::Date::MIN..=jiff::civil::Date::MAX;
    prop_assert_eq!(reader.totals(days.clone()).unwrap(), plain.totals(days.clone()).unwrap());
    prop_assert_eq!(reader.drops_on(days.clone(), None, 9000).unwrap(), plain.drops_on(days, None, 9000).unwrap());
    let all = EntryId(0)..=EntryId(u64::MAX);
    let books = fold(&world.acked);
    let bins = books.bins.keys().copied().map(Some).chain([None]);
    for bin in bins {
        let rows = reader.drops_of(bin, all.clone(), 9000).unwrap();
        prop_assert_eq!(&rows, &plain.drops_of(bin, all.clone(), 9000).unwrap());
        let listed = books.entries.iter().filter(|(_, entry)| {
            entry.bin == bin && entry.is_drop() && entry.state != bismar::facts::books::EntryState::Cancelled
        });
        prop_assert!(rows.value.iter().map(|row| row.entry).eq(listed.map(|(id, _)| *id)));
    }
    let nothing = reader.drops_of(Some(BinId(u64::MAX)), all, 9000).unwrap().value;
    prop_assert!(nothing.is_empty());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn the_store_is_a_list_of_events(ops in ops()) {
        let mut world =
            World { home: tempfile::tempdir().unwrap(), disk: FaultyDisk::new(), store: None, acked: Vec::new() };
        world.reopen(&[])?;
        for op in &ops {
            world.run(op)?;
        }
        same_answers(&world)?;
        world.closed(|_| {})?;
    }
}

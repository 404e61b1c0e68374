//! A roll whose bytes have changed by themselves.

use crate::events::Life;
use crate::support::{fold, history, open, open_sound, setup};
use bismar::facts::Event;
use bismar::store::faulty::FaultyDisk;
use bismar::store::{AppendFault, Disk, Health, Note, Reason, Setup, Store, StoreFault, verify};
use std::path::{Path, PathBuf};
use std::sync::Arc;

const HOME: &str = "/bench";

struct Roll {
    disk: FaultyDisk,
    /// By batch.
    events: Vec<Vec<Event>>,
}

impl Roll {
    fn new(batches: usize, segment_bytes: u64) -> Roll {
        let disk = FaultyDisk::new();
        let setup = Setup { segment_bytes, ..setup(false) };
        let mut store = Store::open_with(Path::new(HOME), Arc::new(disk.clone()), &setup, &mut |_| {}).unwrap().store;
        let mut life = Life::new(store.store_id(), store.books().clone(), 11);
        let events: Vec<Vec<Event>> = (0..batches).map(|_| life.batch()).collect();
        for batch in &events {
            store.append(batch).unwrap();
        }
        drop(store);
        Roll { disk, events }
    }

    fn segments(&self) -> Vec<PathBuf> {
        let dir = Path::new(HOME).join("roll");
        let mut names = self.disk.list(&dir).unwrap();
        names.sort();
        names.into_iter().map(|name| dir.join(name)).collect()
    }

    fn bytes(&self, path: &Path) -> Vec<u8> {
        self.disk.read(path, 0, usize::MAX).unwrap()
    }

    fn flat(&self, batches: usize) -> Vec<Event> {
        self.events[..batches].concat()
    }

    /// The lengths of the batches' texts, in a roll of one segment.
    fn batch_ends(&self) -> Vec<usize> {
        let bytes = self.bytes(&self.segments()[0]);
        let ends: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at] == b'\n').map(|at| at + 1).collect();
        let mut lines = 0;
        let batches = self.events.iter().map(|batch| {
            lines += batch.len();
            ends[lines - 1]
        });
        batches.collect()
    }
}

/// One flipped bit anywhere before the last batch: everything up to the damaged batch is read, the rest is kept as it
/// is, and no event is taken.
#[test]
fn a_flipped_bit_in_an_old_line_is_never_cut_off() {
    let clean = Roll::new(12, 1 << 20);
    let ends = clean.batch_ends();
    let path = clean.segments().remove(0);
    for at in (0..ends[ends.len() - 2]).step_by(7) {
        let roll = Roll::new(12, 1 << 20);
        roll.disk.damage(&path, |bytes| bytes[at] ^= 1 << (at % 8));
        let damaged = roll.bytes(&path);
        let sound = ends.iter().take_while(|end| **end <= at).count();
        let mut opening = open(Path::new(HOME), &roll.disk, false).unwrap();
        let Health::Degraded(reasons) = &opening.state else { panic!("bit at byte {at} was not noticed") };
        let after = roll.flat(sound).len() as u64;
        assert!(matches!(&reasons[..], [Reason::ChainBroken { after: found, .. }] if *found == after), "{at}: {reasons:?}");
        assert_eq!(history(&opening.store), roll.flat(sound));
        let next = Life::new(opening.store.store_id(), opening.books.clone(), 1).batch();
        assert!(matches!(opening.store.append(&next), Err(AppendFault::Degraded(_))));
        assert_eq!(roll.bytes(&path), damaged);
        assert!(!verify(Path::new(HOME), &roll.disk).unwrap().state.takes_events());
        let copied = bismar::store::backup(Path::new(HOME), Path::new("/elsewhere"), &roll.disk).unwrap();
        assert_eq!((copied.seq, copied.damage.len()), (after, 1));
    }
}

/// In the last batch the same damage looks like an unfinished write, and is set aside as such. Only the index can tell
/// that it was acknowledged, which is tried elsewhere.
#[test]
fn damage_in_the_last_batch_is_set_aside() {
    let clean = Roll::new(12, 1 << 20);
    let ends = clean.batch_ends();
    let path = clean.segments().remove(0);
    for at in ends[ends.len() - 2]..ends[ends.len() - 1] {
        let roll = Roll::new(12, 1 << 20);
        roll.disk.damage(&path, |bytes| bytes[at] ^= 1 << (at % 8));
        let tail = roll.bytes(&path)[ends[ends.len() - 2]..].to_vec();
        let opening = open_sound(Path::new(HOME), &roll.disk, false);
        assert_eq!(opening.books, fold(&roll.flat(11)), "{at}");
        let [Note::TornTail { kept, .. }] = &opening.notes[..] else { panic!("{:?}", opening.notes) };
        assert_eq!(roll.bytes(kept), tail);
    }
}

/// Every length that a crash can leave.
#[test]
fn a_roll_cut_anywhere_keeps_its_whole_batches() {
    let clean = Roll::new(9, 1 << 20);
    let ends = clean.batch_ends();
    let path = clean.segments().remove(0);
    for len in 0..=*ends.last().unwrap() {
        let roll = Roll::new(9, 1 << 20);
        roll.disk.damage(&path, |bytes| bytes.truncate(len));
        let sound = ends.iter().take_while(|end| **end <= len).count();
        let opening = open_sound(Path::new(HOME), &roll.disk, false);
        assert_eq!(opening.books, fold(&roll.flat(sound)), "cut to {len}");
        let whole = sound.checked_sub(1).map_or(0, |last| ends[last]);
        assert_eq!(roll.bytes(&path).len(), whole);
    }
}

#[test]
fn a_lost_segment_is_a_broken_chain() {
    let count = Roll::new(40, 1500).segments().len();
    assert!(count > 4);
    for lost in 0..count - 1 {
        let roll = Roll::new(40, 1500);
        let path = roll.segments().remove(lost);
        roll.disk.remove(&path).unwrap();
        let opening = open(Path::new(HOME), &roll.disk, false).unwrap();
        let first: u64 = path.file_stem().unwrap().to_str().unwrap().parse().unwrap();
        assert!(matches!(opening.state.reasons(), [Reason::ChainBroken { after, .. }] if *after == first - 1), "{lost}");
        assert_eq!(opening.books.seq, first - 1);
        assert_eq!(opening.store.store_id(), roll.events[0][0].store);
    }
}

#[test]
fn lines_in_another_order_are_a_broken_chain() {
    let roll = Roll::new(14, 1 << 20);
    let path = roll.segments().remove(0);
    roll.disk.damage(&path, |bytes| {
        let mut lines: Vec<Vec<u8>> = bytes.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        lines.swap(3, 4);
        *bytes = lines.join(&b'\n');
    });
    assert!(!open(Path::new(HOME), &roll.disk, false).unwrap().state.takes_events());
}

/// A line that is right in itself, with another hash of the line before: somebody has changed the history.
#[test]
fn a_rewritten_line_is_a_broken_chain() {
    use bismar::store::line::{LineHash, encode};
    let roll = Roll::new(14, 1 << 20);
    let path = roll.segments().remove(0);
    let mut last = roll.flat(14).pop().unwrap();
    last.epoch += 1;
    roll.disk.damage(&path, |bytes| {
        let at = bytes[..bytes.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
        bytes.truncate(at);
        bytes.extend(encode(&last, LineHash::of(b"not the line before"), (1, 1)).unwrap());
        bytes.push(b'\n');
    });
    assert!(!open(Path::new(HOME), &roll.disk, false).unwrap().state.takes_events());
}

/// What a newer program wrote is refused as a whole, and nothing is touched.
#[test]
fn a_newer_schema_or_an_unknown_kind_is_refused() {
    use bismar::store::line::{LineHash, encode};
    for (what, from, to) in [("schema", "\"v\":1", "\"v\":2"), ("kind", "\"kind\":\"", "\"kind\":\"new-")] {
        let roll = Roll::new(6, 1 << 20);
        let path = roll.segments().remove(0);
        let flat = roll.flat(6);
        let before = LineHash::of(roll.bytes(&path).split(|byte| *byte == b'\n').nth(flat.len() - 1).unwrap());
        let event = Event { seq: flat.len() as u64 + 1, ..flat.last().unwrap().clone() };
        let line = String::from_utf8(encode(&event, before, (1, 1)).unwrap()).unwrap();
        let json = line.split('\t').next().unwrap().replacen(from, to, 1);
        let line = format!("{json}\t{:08x}\nhalf a line", crc32fast::hash(json.as_bytes()));
        roll.disk.damage(&path, |bytes| bytes.extend_from_slice(line.as_bytes()));
        let bytes = roll.bytes(&path);
        let fault = open(Path::new(HOME), &roll.disk, false).err().unwrap_or_else(|| panic!("{what} was taken"));
        assert!(matches!(fault, StoreFault::Newer { found: 2, .. } | StoreFault::Unreadable { .. }), "{fault}");
        assert!(fault.to_string().contains("newer"), "{fault}");
        assert_eq!(roll.bytes(&path), bytes);
    }
}

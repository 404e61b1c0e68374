//! On the real disk: locks, backups, reading beside a running daemon, a disk that is really full.

use crate::events::Life;
use crate::support::{fold, history, open, open_sound};
use bismar::facts::Event;
use bismar::store::{Health, RealDisk, Reason, Store, StoreFault, backup, books_at, fold_roll, verify};
use std::path::Path;
use std::process::Command;

fn fill(store: &mut Store, events: usize, seed: u64) -> Vec<Event> {
    let batches = Life::new(store.store_id(), store.books().clone(), seed).batches(events);
    for batch in &batches {
        store.append(batch).unwrap();
    }
    batches.concat()
}

#[test]
fn two_openers() {
    let home = tempfile::tempdir().unwrap();
    let store = open_sound(home.path(), &RealDisk, true).store;
    match open(home.path(), &RealDisk, true) {
        Err(StoreFault::Held { by, .. }) => assert_eq!(by, Some(std::process::id())),
        other => panic!("{:?}", other.err()),
    }
    drop(store);
    open_sound(home.path(), &RealDisk, true);
}

#[test]
fn a_reader_needs_no_lock_and_a_backup_is_a_store() {
    let home = tempfile::tempdir().unwrap();
    let to = home.path().join("backup");
    let mut store = open_sound(home.path(), &RealDisk, true).store;
    let mut events = fill(&mut store, 120, 1);
    let (books, notes) = fold_roll(home.path(), &RealDisk).unwrap();
    assert_eq!((books, notes), (fold(&events), Vec::new()));
    assert_eq!(books_at(home.path(), &RealDisk, 50).unwrap(), fold(&events[..50]));
    assert!(books_at(home.path(), &RealDisk, events.len() as u64 + 1).is_err());

    let report = verify(home.path(), &RealDisk).unwrap();
    assert_eq!((report.head, report.state), (events.len() as u64, Health::Sound));
    let copied = backup(home.path(), &to, &RealDisk).unwrap();
    assert_eq!(copied.seq, events.len() as u64);
    assert!(matches!(backup(home.path(), &to, &RealDisk), Err(StoreFault::NotEmpty(_))));
    let kept = events.clone();
    events.extend(fill(&mut store, 30, 2));
    assert_eq!(open_sound(&to, &RealDisk, true).books, fold(&kept));
    assert_eq!(history(&store), events);
}

/// Backups taken while another thread appends are each a beginning of the history.
#[test]
fn a_backup_beside_a_writer_is_consistent() {
    let home = tempfile::tempdir().unwrap();
    let mut store = open_sound(home.path(), &RealDisk, false).store;
    let events = std::thread::scope(|scope| {
        let writer = scope.spawn(|| fill(&mut store, 1500, 8));
        let mut copies = 0;
        while !writer.is_finished() || copies == 0 {
            let to = tempfile::tempdir().unwrap();
            if backup(home.path(), to.path(), &RealDisk).unwrap().seq > 0 {
                let report = verify(to.path(), &RealDisk).unwrap();
                assert_eq!((report.state, &report.notes[..]), (Health::Sound, &[][..]));
            }
            copies += 1;
        }
        writer.join().unwrap()
    });
    assert_eq!(history(&store), events);
}

/// The file can be read with what every system has.
#[test]
fn the_roll_is_text_for_any_tool() {
    let home = tempfile::tempdir().unwrap();
    let mut store = open_sound(home.path(), &RealDisk, false).store;
    let events = fill(&mut store, 60, 1);
    let script = "cut -f1 roll/*.roll | grep -c '^{\"prev\":\"[0-9a-f]\\{32\\}\",.*}$'";
    let out = Command::new("sh").arg("-c").arg(script).current_dir(home.path()).output().unwrap();
    assert_eq!(String::from_utf8(out.stdout).unwrap().trim(), events.len().to_string());
}

/// A file system of its own, so small that it fills.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    fn mount(size: &str) -> Option<SmallDisk> {
        let dir = tempfile::tempdir().unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"])
            .arg(dir.path())
            .output()
            .is_ok_and(|out| out.status.success());
        if !mounted {
            assert!(std::env::var_os("BISMAR_CI").is_none(), "no small disk could be mounted, and BISMAR_CI is set");
            eprintln!("SKIPPED: no small disk can be mounted here (it takes root)");
            return None;
        }
        Some(SmallDisk(dir))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0.path()).status();
    }
}

fn fill_up(path: &Path) {
    let mut file = std::fs::File::create(path).unwrap();
    while std::io::Write::write_all(&mut file, &[7; 4096]).is_ok() {}
    while std::io::Write::write_all(&mut file, &[7; 1]).is_ok() {}
}

#[test]
fn a_full_disk_is_survived_without_a_restart() {
    let Some(small) = SmallDisk::mount("4m") else { return };
    let home = small.0.path().join("store");
    let mut store = open_sound(&home, &RealDisk, false).store;
    let mut events = fill(&mut store, 50, 1);
    let ballast = small.0.path().join("ballast");
    fill_up(&ballast);
    let mut life = Life::new(store.store_id(), store.books().clone(), 2);
    let refused = loop {
        let batch = life.batch();
        match store.append(&batch) {
            Ok(()) => events.extend(batch),
            Err(fault) => {
                assert!(fault.is_full(), "{fault}");
                break batch;
            }
        }
    };
    for _ in 0..20 {
        assert!(store.append(&refused).unwrap_err().is_full());
        assert_eq!(store.head(), events.len() as u64);
    }
    assert_eq!(fold_roll(&home, &RealDisk).unwrap().0, fold(&events));
    std::fs::remove_file(&ballast).unwrap();
    store.append(&refused).unwrap();
    events.extend(refused);
    events.extend(fill(&mut store, 50, 3));
    drop(store);
    assert_eq!(open_sound(&home, &RealDisk, false).books, fold(&events));
}

/// Only the index has no room: events go on being acknowledged, answers come from the roll, and it is said.
#[test]
fn an_index_on_a_full_disk_stops_nothing() {
    let Some(small) = SmallDisk::mount("3m") else { return };
    let home = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(small.0.path(), home.path().join("index")).unwrap();
    let mut store = open_sound(home.path(), &RealDisk, true).store;
    let mut events = fill(&mut store, 50, 1);
    store.barrier();
    fill_up(&small.0.path().join("ballast"));
    let mut seed = 2;
    while *store.health() == Health::Sound {
        events.extend(fill(&mut store, 500, seed));
        seed += 1;
        store.barrier();
        assert!(events.len() < 60_000, "the index never ran out of room");
    }
    assert!(matches!(store.health().reasons(), [Reason::IndexBroken { .. }]));
    assert!(store.health().takes_events());
    events.extend(fill(&mut store, 20, 1));
    let there = store.reader().events(1..=u64::MAX, usize::MAX).unwrap();
    assert_eq!((there.applied, &there.value[..]), (events.len() as u64, &events[..there.value.len()]));
    drop(store);
    std::fs::remove_file(small.0.path().join("ballast")).unwrap();
    assert_eq!(open(home.path(), &RealDisk, true).unwrap().books, fold(&events));
}

/// The program is killed in the middle of its work, for real.
#[test]
fn a_killed_writer_leaves_whole_batches() {
    const HOME: &str = "BISMAR_TEST_STORE_HOME";
    if let Some(home) = std::env::var_os(HOME) {
        let mut store = open_sound(Path::new(&home), &RealDisk, true).store;
        loop {
            let seed = store.head();
            fill(&mut store, 5, seed);
            println!("acknowledged {}", store.head());
        }
    }
    let home = tempfile::tempdir().unwrap();
    let mut last = 0;
    for _ in 0..4 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "real::a_killed_writer_leaves_whole_batches", "--nocapture"])
            .env(HOME, home.path())
            .stdout(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let out = std::io::BufReader::new(child.stdout.take().unwrap());
        let told = std::io::BufRead::lines(out)
            .map_while(Result::ok)
            .filter_map(|line| line.strip_prefix("acknowledged ")?.parse().ok());
        let acknowledged: u64 = told.take(12).last().unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        let opening = open_sound(home.path(), &RealDisk, true);
        assert!(opening.books.seq >= acknowledged && acknowledged > last, "{} < {acknowledged}", opening.books.seq);
        assert_eq!(opening.books, fold(&history(&opening.store)));
        last = opening.books.seq;
    }
}

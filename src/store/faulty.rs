//! A disk in memory that fails as real ones do, for tests.
//!
//! It keeps two images: what reads see, and what would be there after the power went. A write moves to the second only
//! with the `sync` of its file, a name only with the `sync_dir` of its directory. After a failed sync the writes stay
//! readable, and no later sync makes them durable: that is what Linux does with pages that it could not write.

use super::disk::{AppendFile, Disk, LockFault};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

/// What becomes of the writes that no sync covered when the power goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loss {
    /// None of them is there.
    All,
    /// All of them are there.
    None,
    /// The first so many bytes written to each file are there; names are lost.
    Prefix(u64),
    /// Of each block of 64 bytes, and of each name, chance decides; what was never written reads as zeros.
    Some(u64),
}

const BLOCK: usize = 64;

/// The disk. Copies are handles on the same one.
#[derive(Clone, Default)]
pub struct FaultyDisk {
    inner: Arc<Mutex<Inner>>,
}

#[derive(Default)]
struct Inner {
    files: BTreeMap<u64, Node>,
    names: BTreeMap<PathBuf, u64>,
    durable_names: BTreeMap<PathBuf, u64>,
    /// Directories that got another name since their parent was synced.
    moved: Vec<(PathBuf, PathBuf)>,
    dirs: BTreeSet<PathBuf>,
    locks: BTreeMap<PathBuf, u32>,
    next_id: u64,
    /// Locks of an earlier boot mean nothing.
    boot: u32,
    operations: u64,
    fail_at: Option<u64>,
    fail_kind: Option<ErrorKind>,
    crash_at: Option<u64>,
    crashed: bool,
    capacity: Option<u64>,
    delay: Duration,
    log: Vec<String>,
}

#[derive(Default, Clone)]
struct Node {
    live: Vec<u8>,
    durable: Vec<u8>,
    /// Written since the last sync.
    pending: Vec<Change>,
}

#[derive(Clone)]
enum Change {
    Write(usize, Vec<u8>),
    Cut(usize),
}

struct FaultyFile {
    disk: FaultyDisk,
    id: u64,
    path: PathBuf,
}

struct FaultyLock {
    disk: FaultyDisk,
    path: PathBuf,
    boot: u32,
}

impl FaultyDisk {
    pub fn new() -> FaultyDisk {
        FaultyDisk::default()
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
    }

    /// How many operations that change anything or sync were asked for so far.
    pub fn operations(&self) -> u64 {
        self.inner().operations
    }

    /// What they were, for a failing test's message.
    pub fn log(&self) -> Vec<String> {
        self.inner().log.clone()
    }

    /// Lets one operation fail, counted from 1 over the life of the disk. A write that fails is half done.
    pub fn fail_at(&self, operation: u64, kind: ErrorKind) {
        let mut inner = self.inner();
        (inner.fail_at, inner.fail_kind) = (Some(operation), Some(kind));
    }

    /// Lets the power go at an operation: it and every later one fail, until [`FaultyDisk::reboot`].
    pub fn crash_at(&self, operation: u64) {
        self.inner().crash_at = Some(operation);
    }

    pub fn crashed(&self) -> bool {
        self.inner().crashed
    }

    /// No more than so many bytes fit. None: any number does.
    pub fn set_capacity(&self, bytes: Option<u64>) {
        self.inner().capacity = bytes;
    }

    /// Every operation takes so long.
    pub fn set_delay(&self, delay: Duration) {
        self.inner().delay = delay;
    }

    /// The disk after a power cut and a new start: only what is durable, and of the rest what `loss` leaves.
    pub fn reboot(&self, loss: Loss) {
        let mut inner = self.inner();
        let mut chance = Chance(match loss {
            Loss::Some(seed) => seed | 1,
            _ => 1,
        });
        for node in inner.files.values_mut() {
            node.durable = after_cut(node, loss, &mut chance);
            node.live = node.durable.clone();
            node.pending.clear();
        }
        // A directory has its old name or its new one, with all that is in it.
        for (from, to) in std::mem::take(&mut inner.moved).into_iter().rev() {
            let stays = match loss {
                Loss::None => true,
                Loss::All | Loss::Prefix(_) => false,
                Loss::Some(_) => chance.coin(),
            };
            if stays {
                carry(&mut inner.durable_names, &from, &to);
            } else {
                carry(&mut inner.names, &to, &from);
            }
        }
        let changed: BTreeSet<PathBuf> = inner.names.keys().chain(inner.durable_names.keys()).cloned().collect();
        for path in changed {
            let stays = match loss {
                Loss::None => true,
                Loss::All | Loss::Prefix(_) => false,
                Loss::Some(_) => chance.coin(),
            };
            if stays {
                match inner.names.get(&path).copied() {
                    Some(id) => _ = inner.durable_names.insert(path, id),
                    None => _ = inner.durable_names.remove(&path),
                }
            }
        }
        inner.names = inner.durable_names.clone();
        inner.locks.clear();
        inner.boot += 1;
        (inner.crashed, inner.crash_at, inner.fail_at) = (false, None, None);
    }

    /// The process ends and another starts, with the power on: what was written stays, as if a kill had come.
    pub fn restart(&self) {
        let mut inner = self.inner();
        inner.locks.clear();
        inner.boot += 1;
        (inner.crashed, inner.crash_at, inner.fail_at) = (false, None, None);
    }

    /// Changes a file as rot would, on both images. The closure gets its bytes.
    pub fn damage(&self, path: &Path, change: impl FnOnce(&mut Vec<u8>)) {
        let mut inner = self.inner();
        let id = inner.names.get(path).copied();
        let node = id.and_then(|id| inner.files.get_mut(&id)).expect("a file to damage");
        change(&mut node.live);
        node.durable = node.live.clone();
        node.pending.clear();
    }

    fn begin(&self, what: &str, path: &Path) -> io::Result<MutexGuard<'_, Inner>> {
        let delay = self.inner().delay;
        if !delay.is_zero() {
            std::thread::sleep(delay);
        }
        let mut inner = self.inner();
        inner.operations += 1;
        let number = inner.operations;
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        inner.log.push(format!("{number} {what} {name}"));
        Ok(inner)
    }
}

impl Inner {
    /// The fault that is due at this operation, if any.
    fn due(&mut self) -> Option<io::Error> {
        if self.crashed || self.crash_at == Some(self.operations) {
            self.crashed = true;
            return Some(io::Error::other("the power is gone"));
        }
        (self.fail_at == Some(self.operations)).then(|| self.fail_kind.unwrap_or(ErrorKind::Other).into())
    }

    fn used(&self) -> u64 {
        self.names.values().filter_map(|id| self.files.get(id)).map(|node| node.live.len() as u64).sum()
    }

    fn id(&self, path: &Path) -> io::Result<u64> {
        self.names.get(path).copied().ok_or_else(|| ErrorKind::NotFound.into())
    }

    fn node(&mut self, id: u64) -> io::Result<&mut Node> {
        self.files.get_mut(&id).ok_or_else(|| ErrorKind::NotFound.into())
    }
}

impl Node {
    fn change(&mut self, change: Change) {
        apply(&mut self.live, &change);
        self.pending.push(change);
    }
}

/// Gives what lies in the directory `from` names in `to`.
fn carry(names: &mut BTreeMap<PathBuf, u64>, from: &Path, to: &Path) {
    let within: Vec<PathBuf> = names.keys().filter(|path| path.parent() == Some(from)).cloned().collect();
    for path in within {
        if let (Some(id), Some(name)) = (names.remove(&path), path.file_name()) {
            names.insert(to.join(name), id);
        }
    }
}

fn apply(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Write(at, data) => {
            bytes.resize(bytes.len().max(at + data.len()), 0);
            bytes[*at..at + data.len()].copy_from_slice(data);
        }
        Change::Cut(len) => bytes.resize(*len, 0),
    }
}

fn after_cut(node: &Node, loss: Loss, chance: &mut Chance) -> Vec<u8> {
    let mut bytes = node.durable.clone();
    let mut left = match loss {
        Loss::All => return bytes,
        Loss::None | Loss::Some(_) => u64::MAX,
        Loss::Prefix(left) => left,
    };
    for change in &node.pending {
        match change {
            Change::Cut(_) if left == 0 => {}
            Change::Cut(_) => {
                if !matches!(loss, Loss::Some(_)) || chance.coin() {
                    apply(&mut bytes, change);
                }
            }
            Change::Write(at, data) => {
                let fits = usize::try_from(left).unwrap_or(usize::MAX).min(data.len());
                for (index, block) in data[..fits].chunks(BLOCK).enumerate() {
                    if !matches!(loss, Loss::Some(_)) || chance.coin() {
                        apply(&mut bytes, &Change::Write(at + index * BLOCK, block.to_vec()));
                    }
                }
                left = left.saturating_sub(data.len() as u64);
            }
        }
    }
    bytes
}

/// A small generator of our own, so that the library does not draw its test disk's chance from a crate.
struct Chance(u64);

impl Chance {
    /// Marsaglia's xorshift (Journal of Statistical Software 8:14, 2003).
    fn coin(&mut self) -> bool {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 >> 40 & 1 == 1
    }
}

impl Disk for FaultyDisk {
    fn create_dir(&self, dir: &Path) -> io::Result<()> {
        let mut inner = self.inner();
        if inner.crashed {
            return Err(io::Error::other("the power is gone"));
        }
        inner.dirs.insert(dir.to_owned());
        Ok(())
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut inner = self.begin("create", path)?;
        if let Some(fault) = inner.due() {
            return Err(fault);
        }
        if inner.names.contains_key(path) {
            return Err(ErrorKind::AlreadyExists.into());
        }
        inner.next_id += 1;
        let id = inner.next_id;
        inner.files.insert(id, Node::default());
        inner.names.insert(path.to_owned(), id);
        Ok(Box::new(FaultyFile { disk: self.clone(), id, path: path.to_owned() }))
    }

    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let id = self.inner().id(path)?;
        Ok(Box::new(FaultyFile { disk: self.clone(), id, path: path.to_owned() }))
    }

    fn read(&self, path: &Path, offset: u64, most: usize) -> io::Result<Vec<u8>> {
        let mut inner = self.inner();
        let id = inner.id(path)?;
        let live = &inner.node(id)?.live;
        let from = usize::try_from(offset).unwrap_or(usize::MAX).min(live.len());
        Ok(live[from..from.saturating_add(most).min(live.len())].to_vec())
    }

    fn len(&self, path: &Path) -> io::Result<u64> {
        let mut inner = self.inner();
        let id = inner.id(path)?;
        Ok(inner.node(id)?.live.len() as u64)
    }

    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        let inner = self.inner();
        let here = inner.names.keys().filter(|path| path.parent() == Some(dir));
        Ok(here.filter_map(|path| path.file_name()).map(|name| name.to_string_lossy().into_owned()).collect())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut inner = self.begin("rename", from)?;
        if let Some(fault) = inner.due() {
            return Err(fault);
        }
        if inner.names.keys().any(|path| path.parent() == Some(from)) {
            carry(&mut inner.names, from, to);
            inner.moved.push((from.to_owned(), to.to_owned()));
            return Ok(());
        }
        let id = inner.id(from)?;
        inner.names.remove(from);
        inner.names.insert(to.to_owned(), id);
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut inner = self.begin("remove", path)?;
        if let Some(fault) = inner.due() {
            return Err(fault);
        }
        inner.names.remove(path).map(|_| ()).ok_or_else(|| ErrorKind::NotFound.into())
    }

    fn sync_dir(&self, dir: &Path) -> io::Result<()> {
        let mut inner = self.begin("sync_dir", dir)?;
        if let Some(fault) = inner.due() {
            return Err(fault);
        }
        for (from, to) in std::mem::take(&mut inner.moved) {
            if to.parent() == Some(dir) {
                carry(&mut inner.durable_names, &from, &to);
            } else {
                inner.moved.push((from, to));
            }
        }
        let here = |path: &PathBuf| path.parent() == Some(dir);
        let now: Vec<(PathBuf, u64)> =
            inner.names.iter().filter(|(path, _)| here(path)).map(|(p, id)| (p.clone(), *id)).collect();
        inner.durable_names.retain(|path, _| !here(path));
        inner.durable_names.extend(now);
        Ok(())
    }

    fn lock(&self, path: &Path) -> Result<Box<dyn Send + Sync>, LockFault> {
        let mut inner = self.inner();
        if inner.crashed {
            return Err(LockFault::Io(io::Error::other("the power is gone")));
        }
        if let Some(by) = inner.locks.get(path) {
            return Err(LockFault::Held { by: Some(*by) });
        }
        inner.locks.insert(path.to_owned(), std::process::id());
        Ok(Box::new(FaultyLock { disk: self.clone(), path: path.to_owned(), boot: inner.boot }))
    }
}

impl AppendFile for FaultyFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut inner = self.disk.begin("append", &self.path)?;
        let mut fault = inner.due();
        let mut fits = if fault.is_some() { bytes.len() / 2 } else { bytes.len() };
        if let Some(capacity) = inner.capacity {
            let room = usize::try_from(capacity.saturating_sub(inner.used())).unwrap_or(usize::MAX);
            if room < fits {
                fits = room;
                fault = fault.or(Some(ErrorKind::StorageFull.into()));
            }
        }
        let node = inner.node(self.id)?;
        let end = node.live.len();
        node.change(Change::Write(end, bytes[..fits].to_vec()));
        fault.map_or(Ok(()), Err)
    }

    fn rewrite(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let mut inner = self.disk.begin("rewrite", &self.path)?;
        let fault = inner.due();
        let fits = if fault.is_some() { bytes.len() / 2 } else { bytes.len() };
        let at = usize::try_from(offset).map_err(|_| ErrorKind::InvalidInput)?;
        inner.node(self.id)?.change(Change::Write(at, bytes[..fits].to_vec()));
        fault.map_or(Ok(()), Err)
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut inner = self.disk.begin("sync", &self.path)?;
        let fault = inner.due();
        let crashed = inner.crashed;
        let node = inner.node(self.id)?;
        match fault {
            // A sync that the power cut short leaves its writes to chance; one that failed loses them for good.
            Some(fault) => {
                if !crashed {
                    node.pending.clear();
                }
                Err(fault)
            }
            None => {
                for change in std::mem::take(&mut node.pending) {
                    apply(&mut node.durable, &change);
                }
                Ok(())
            }
        }
    }

    fn truncate(&mut self, len: u64) -> io::Result<()> {
        let mut inner = self.disk.begin("truncate", &self.path)?;
        if let Some(fault) = inner.due() {
            return Err(fault);
        }
        let len = usize::try_from(len).map_err(|_| ErrorKind::InvalidInput)?;
        inner.node(self.id)?.change(Change::Cut(len));
        Ok(())
    }
}

impl Drop for FaultyLock {
    fn drop(&mut self) {
        let mut inner = self.disk.inner();
        if inner.boot == self.boot {
            inner.locks.remove(&self.path);
        }
    }
}

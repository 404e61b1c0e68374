//! Every file operation of the roll, behind one small trait, so that a test can make each of them fail.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::os::unix::fs::FileExt;
use std::path::Path;

/// What the roll needs of a disk. Nothing is durable before the `sync` that covers it has returned `Ok`.
pub trait Disk: Send + Sync {
    /// Makes a directory with its parents; one that is there is left alone.
    fn create_dir(&self, dir: &Path) -> io::Result<()>;
    /// Makes a new file to append to; fails when there is one of this name.
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;
    /// Opens a file that is there, to append to it.
    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;
    /// The bytes from `offset` on, at most `most` of them; fewer only at the end of the file.
    fn read(&self, path: &Path, offset: u64, most: usize) -> io::Result<Vec<u8>>;
    fn len(&self, path: &Path) -> io::Result<u64>;
    /// The names in a directory, in no order; a directory that is not there has none.
    fn list(&self, dir: &Path) -> io::Result<Vec<String>>;
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    fn remove(&self, path: &Path) -> io::Result<()>;
    /// Makes the names in a directory durable.
    fn sync_dir(&self, dir: &Path) -> io::Result<()>;
    /// Takes a lock that lasts as long as the guard, and leaves this process's number in the file.
    fn lock(&self, path: &Path) -> Result<Box<dyn Send + Sync>, LockFault>;
}

/// A file that grows at its end.
pub trait AppendFile: Send {
    /// Writes all of it at the end. After an error an unknown part of it stands there.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Writes over what is there, within the length of the file.
    fn rewrite(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()>;
    /// Makes data and length durable (`fdatasync`).
    fn sync(&mut self) -> io::Result<()>;
    fn truncate(&mut self, len: u64) -> io::Result<()>;
}

#[derive(Debug, thiserror::Error)]
pub enum LockFault {
    /// Another process has it; its number, as far as it is written there.
    #[error("the lock is held by {}", .by.map_or("another process".to_owned(), |pid| format!("process {pid}")))]
    Held { by: Option<u32> },
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// The disk of this machine.
#[derive(Debug, Default, Clone, Copy)]
pub struct RealDisk;

struct RealFile(File);

impl Disk for RealDisk {
    fn create_dir(&self, dir: &Path) -> io::Result<()> {
        std::fs::create_dir_all(dir)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let file = OpenOptions::new().read(true).write(true).create_new(true).open(path)?;
        Ok(Box::new(RealFile(file)))
    }

    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut file = OpenOptions::new().read(true).write(true).open(path)?;
        file.seek(SeekFrom::End(0))?;
        Ok(Box::new(RealFile(file)))
    }

    fn read(&self, path: &Path, offset: u64, most: usize) -> io::Result<Vec<u8>> {
        let mut file = File::open(path)?;
        file.seek(SeekFrom::Start(offset))?;
        let there = file.metadata()?.len().saturating_sub(offset).min(most as u64);
        let mut bytes = Vec::with_capacity(usize::try_from(there).unwrap_or(most));
        file.take(most as u64).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn len(&self, path: &Path) -> io::Result<u64> {
        Ok(std::fs::metadata(path)?.len())
    }

    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        let entries = match std::fs::read_dir(dir) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            entries => entries?,
        };
        entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned())).collect()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    fn sync_dir(&self, dir: &Path) -> io::Result<()> {
        File::open(dir)?.sync_all()
    }

    fn lock(&self, path: &Path) -> Result<Box<dyn Send + Sync>, LockFault> {
        let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        match rustix::fs::flock(&file, rustix::fs::FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => {}
            Err(rustix::io::Errno::WOULDBLOCK) => {
                let mut text = String::new();
                // The number is only for the message.
                let _ = (&mut file).take(32).read_to_string(&mut text);
                return Err(LockFault::Held { by: text.trim().parse().ok() });
            }
            Err(error) => return Err(LockFault::Io(error.into())),
        }
        // On a full disk the number cannot be written, and the lock holds all the same.
        let _ = file.set_len(0).and_then(|()| file.write_all(format!("{}\n", std::process::id()).as_bytes()));
        Ok(Box::new(file))
    }
}

impl AppendFile for RealFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn rewrite(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all_at(bytes, offset)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn truncate(&mut self, len: u64) -> io::Result<()> {
        self.0.set_len(len)?;
        self.0.seek(SeekFrom::Start(len))?;
        Ok(())
    }
}

//! A pseudo-terminal that stands for a scale's cable: it can be pulled out and plugged in again.

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::pty::OpenptFlags;
use rustix::termios::OptionalActions;
use std::io;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// One end of a pseudo-terminal; the other end is opened by path like a serial port. Linux only.
pub struct Pty {
    /// A name that stays the same when the device behind it changes.
    link: Option<PathBuf>,
    ends: Option<Ends>,
    device: PathBuf,
}

struct Ends {
    near: OwnedFd,
    /// Held open so that writing does not fail while nobody listens.
    _far: OwnedFd,
}

impl Pty {
    /// A new pair, plugged in. With `link`, a symbolic link at that path leads to it; a link that is already there
    /// is replaced, anything else is an error.
    pub fn open(link: Option<&Path>) -> io::Result<Pty> {
        if let Some(link) = link
            && link.symlink_metadata().is_ok_and(|found| !found.is_symlink())
        {
            let words = format!("{} exists and is no symbolic link: name another path", link.display());
            return Err(io::Error::new(io::ErrorKind::AlreadyExists, words));
        }
        let mut pty = Pty { link: link.map(Path::to_owned), ends: None, device: PathBuf::new() };
        pty.plug()?;
        Ok(pty)
    }

    /// The path to give to who listens: the link if there is one, else the device of this moment.
    pub fn path(&self) -> &Path {
        self.link.as_deref().unwrap_or(&self.device)
    }

    /// Whether the cable is in.
    pub fn plugged(&self) -> bool {
        self.ends.is_some()
    }

    /// Pulls the cable: whoever has it open loses it at once, with every byte that was not read.
    pub fn unplug(&mut self) {
        if self.ends.take().is_some()
            && let Some(link) = &self.link
        {
            // Like a device manager does; a link that is gone already is as good.
            _ = std::fs::remove_file(link);
        }
    }

    /// Plugs the cable in: a new device, under the same link. Does nothing when it is in.
    pub fn plug(&mut self) -> io::Result<()> {
        if self.plugged() {
            return Ok(());
        }
        let near = rustix::pty::openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        rustix::pty::grantpt(&near)?;
        rustix::pty::unlockpt(&near)?;
        let name = rustix::pty::ptsname(&near, Vec::new())?.into_string().map_err(io::Error::other)?;
        let far = rustix::fs::open(&name, OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty())?;
        // Before anybody can write: a cooked terminal would echo and translate.
        let mut modes = rustix::termios::tcgetattr(&far)?;
        modes.make_raw();
        rustix::termios::tcsetattr(&far, OptionalActions::Now, &modes)?;
        // A program without this one's rights must be able to listen, as at a real port.
        rustix::fs::chmod(&name, Mode::from_raw_mode(0o666))?;
        rustix::fs::fcntl_setfl(&near, OFlags::NONBLOCK)?;
        self.device = PathBuf::from(name);
        if let Some(link) = &self.link {
            point(link, &self.device)?;
        }
        self.ends = Some(Ends { near, _far: far });
        Ok(())
    }

    /// The speed in bits a second that the listener has set, which a pseudo-terminal takes and ignores; 0 when
    /// unplugged.
    pub fn speed(&self) -> io::Result<u32> {
        let Some(ends) = &self.ends else { return Ok(0) };
        Ok(rustix::termios::tcgetattr(&ends.near)?.output_speed())
    }

    /// Sends bytes, as many as fit. What does not fit because nobody reads is lost, as on a real line.
    /// Returns how many went; 0 when unplugged.
    pub fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let Some(ends) = &self.ends else { return Ok(0) };
        let mut sent = 0;
        while sent < bytes.len() {
            match rustix::io::write(&ends.near, &bytes[sent..]) {
                Ok(0) | Err(Errno::AGAIN) => break,
                Ok(count) => sent += count,
                Err(Errno::INTR) => {}
                Err(fault) => return Err(fault.into()),
            }
        }
        Ok(sent)
    }

    /// What the listener sent, waiting at most `patience`; 0 when it sent nothing or the cable is out.
    pub fn read(&self, buffer: &mut [u8], patience: Duration) -> io::Result<usize> {
        let Some(ends) = &self.ends else {
            std::thread::sleep(patience);
            return Ok(0);
        };
        let wait =
            Timespec { tv_sec: patience.as_secs().try_into().unwrap_or(i64::MAX), tv_nsec: patience.subsec_nanos().into() };
        let mut watched = [PollFd::new(&ends.near, PollFlags::IN)];
        match poll(&mut watched, Some(&wait)) {
            Ok(0) | Err(Errno::INTR) => return Ok(0),
            Ok(_) => {}
            Err(fault) => return Err(fault.into()),
        }
        match rustix::io::read(&ends.near, buffer) {
            Ok(count) => Ok(count),
            Err(Errno::AGAIN | Errno::INTR) => Ok(0),
            Err(fault) => Err(fault.into()),
        }
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        self.unplug();
    }
}

/// Makes `link` lead to `device` in one move, so that nobody finds it half made.
fn point(link: &Path, device: &Path) -> io::Result<()> {
    let mut name = link.as_os_str().to_owned();
    name.push(format!(".{}", std::process::id()));
    let fresh = PathBuf::from(name);
    _ = std::fs::remove_file(&fresh);
    std::os::unix::fs::symlink(device, &fresh)?;
    std::fs::rename(&fresh, link)
}

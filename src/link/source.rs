//! The seam between the reader and what it reads from.

use super::Why;
use crate::measure::Moment;
use std::path::PathBuf;

/// What was found behind the configured path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// As configured.
    pub path: PathBuf,
    /// What the path led to at this opening.
    pub device: PathBuf,
    /// A link that stays with the device, where there is one and the configured path is not such a link:
    /// numbers like the one in `ttyUSB0` change with the order of plugging.
    pub better: Option<PathBuf>,
}

/// What one turn of reading brought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Got {
    /// So many bytes at the front of the buffer. `at` is the source's own time, where it has one.
    Bytes { count: usize, at: Option<Moment> },
    /// A command of the operator, kept on the tape.
    Control { words: String, at: Option<Moment> },
    /// Nothing within the source's waiting time (at most about 100 ms).
    Quiet,
}

/// A place that bytes come from. It is owned and called by one thread.
pub trait Source: Send {
    /// Looks for the device anew and opens it.
    fn open(&mut self) -> Result<Identity, Why>;
    /// Waits a short while for bytes. After an error the source is closed.
    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why>;
    /// Lets go of the device at once: a held handle keeps its number taken.
    fn close(&mut self);
    /// Whether the source can wait for a slow taker without losing anything: a tape can, a scale cannot.
    fn patient(&self) -> bool {
        false
    }
}

impl Source for Box<dyn Source> {
    fn open(&mut self) -> Result<Identity, Why> {
        (**self).open()
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Got, Why> {
        (**self).read(buffer)
    }

    fn close(&mut self) {
        (**self).close();
    }

    fn patient(&self) -> bool {
        (**self).patient()
    }
}

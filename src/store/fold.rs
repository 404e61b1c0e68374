//! Folding the roll into books.

use super::disk::Disk;
use super::fault::{ReadFault, StoreFault};
use super::line;
use super::roll::{Survey, survey};
use crate::facts::books::Misfit;
use crate::facts::{Books, Event};
use std::path::Path;

/// Reads the event of a line that counts.
pub fn event(seq: u64, text: &[u8]) -> Result<Event, StoreFault> {
    line::event(text).map_err(|bad| StoreFault::Unreadable { seq, why: bad.to_string() })
}

pub fn survey_quietly(disk: &dyn Disk, dir: &Path) -> Result<Survey, StoreFault> {
    survey::survey(disk, dir, &mut |_, _| {}, &mut |_, _| Ok(()))
}

/// The books of the roll as far as its lines count and fit, what the roll is like, and the first event that does not fit.
pub struct Folded {
    pub books: Books,
    pub survey: Survey,
    pub misfit: Option<(u64, Misfit)>,
}

/// Surveys and folds in one reading, up to event `until`.
pub fn fold_until(disk: &dyn Disk, dir: &Path, until: u64, progress: &mut dyn FnMut(u64, u64)) -> Result<Folded, StoreFault> {
    let (mut books, mut misfit) = (Books::default(), None);
    let survey = survey::survey(disk, dir, progress, &mut |header, text| {
        if header.seq <= until && misfit.is_none() {
            misfit = books.apply(&event(header.seq, text)?).err().map(|misfit| (header.seq, misfit));
        }
        Ok(())
    })?;
    match misfit {
        None => Ok(Folded { books, survey, misfit: None }),
        // Books after a misfit are half folded: fold again and stop before it.
        Some((seq, misfit)) => {
            let again = fold_until(disk, dir, seq - 1, progress)?;
            Ok(Folded { misfit: Some((seq, misfit)), ..again })
        }
    }
}

/// The books as they stood after event `seq`.
pub fn books_at(disk: &dyn Disk, dir: &Path, seq: u64) -> Result<Books, ReadFault> {
    let folded = fold_until(disk, dir, seq, &mut |_, _| {})?;
    if let Some((seq, misfit)) = folded.misfit {
        return Err(ReadFault::Misfit { seq, misfit });
    }
    if folded.books.seq < seq {
        return Err(StoreFault::NoSuchEvent { asked: seq, last: folded.books.seq }.into());
    }
    Ok(folded.books)
}

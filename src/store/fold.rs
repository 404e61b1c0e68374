//! Folding the roll into books.

use super::disk::Disk;
use super::fault::{ReadFault, StoreFault};
use super::line;
use super::roll::{Survey, survey};
use crate::facts::books::Misfit;
use crate::facts::{Books, Event};
use std::path::Path;

/// How many events lie between two calls for progress.
const STRIDE: u64 = 4096;

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

/// Surveys and folds, up to event `until`.
pub fn fold_until(disk: &dyn Disk, dir: &Path, until: u64) -> Result<Folded, StoreFault> {
    let survey = survey_quietly(disk, dir)?;
    let (books, misfit) = fold_lines(disk, dir, &survey, until, &mut |_, _| {})?;
    Ok(Folded { books, survey, misfit })
}

/// Folds the lines of a surveyed roll, up to event `until`; `progress` gets events done and in all. With a misfit the
/// books are those before it.
pub fn fold_lines(
    disk: &dyn Disk,
    dir: &Path,
    survey: &Survey,
    until: u64,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<(Books, Option<(u64, Misfit)>), StoreFault> {
    let (mut books, mut misfit) = (Books::default(), None);
    let until = until.min(survey.head());
    survey::lines(disk, dir, survey, (1, until), &mut |seq, text| {
        if misfit.is_none() {
            misfit = books.apply(&event(seq, text)?).err().map(|misfit| (seq, misfit));
        }
        if seq.is_multiple_of(STRIDE) {
            progress(seq, until);
        }
        Ok(())
    })?;
    match misfit {
        None => Ok((books, None)),
        // Books after a misfit are half folded: fold again and stop before it.
        Some((seq, misfit)) => Ok((fold_lines(disk, dir, survey, seq - 1, progress)?.0, Some((seq, misfit)))),
    }
}

/// The books as they stood after event `seq`.
pub fn books_at(disk: &dyn Disk, dir: &Path, seq: u64) -> Result<Books, ReadFault> {
    let folded = fold_until(disk, dir, seq)?;
    if let Some((seq, misfit)) = folded.misfit {
        return Err(ReadFault::Misfit { seq, misfit });
    }
    if folded.books.seq < seq {
        return Err(StoreFault::NoSuchEvent { asked: seq, last: folded.books.seq }.into());
    }
    Ok(folded.books)
}

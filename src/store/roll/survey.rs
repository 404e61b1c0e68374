//! Reading the roll from its first line to its last, and telling what counts.
//!
//! **Which lines count.** A segment is made only when every line that was acknowledged bears a lower number than the
//! segment's name, and from then on nothing is written to any older segment. So the rule needs no memory of what was
//! acknowledged: a line counts if its number is lower than the name of every later segment. What an older segment holds
//! beyond that is the rest of a failed write; it is called abandoned, left where it is, and never read as history.
//!
//! **What a torn tail is.** Only one batch is ever in flight, and the next is written after the one before is durable.
//! So whatever a crash left unfinished belongs to the batch that follows the last whole one, and a readable line of any
//! other batch behind a bad line proves that something acknowledged was damaged: the chain is broken, and nothing is cut.

use super::SegmentName;
use crate::facts::StoreId;
use crate::store::disk::Disk;
use crate::store::fault::{StoreFault, io_at};
use crate::store::line::{self, BadLine, Header, LineHash};
use std::path::Path;

/// Far above the size at which a segment is closed: a file beyond it is not ours.
const SEGMENT_READ_MAX: usize = 256 << 20;

/// A segment and what counts in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Segment {
    pub name: SegmentName,
    /// Size of the file in bytes.
    pub size: u64,
    /// Bytes up to the end of the last line that counts.
    pub counted: u64,
    /// Lines that count.
    pub lines: u64,
    /// Where the last batch that counts begins.
    pub last_batch: u64,
}

/// A stretch of a segment, from `at` to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    pub segment: SegmentName,
    pub at: u64,
    pub bytes: u64,
}

/// The chain of lines does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Break {
    pub segment: SegmentName,
    /// The byte at which the first line that does not fit begins.
    pub at: u64,
    /// The last line that does fit.
    pub after: u64,
    pub why: Misfit,
}

/// Why a line does not follow the one before.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Misfit {
    #[error("{0}")]
    Bad(BadLine),
    #[error("it ends without a newline")]
    Unended,
    #[error("lines are missing before it")]
    Missing,
    #[error("it is event {found} where {expected} was expected")]
    Number { expected: u64, found: u64 },
    #[error("it does not carry the hash of the line before")]
    Hash,
    #[error("it belongs to another store")]
    OtherStore,
    #[error("it is out of place in its batch")]
    Part,
    #[error("the file is too large to be a segment")]
    TooLarge,
}

/// Takes a line that counts.
pub type EachHeader<'a> = dyn FnMut(&Header, &[u8]) -> Result<(), StoreFault> + 'a;

/// Takes a line with its number.
pub type EachLine<'a> = dyn FnMut(u64, &[u8]) -> Result<(), StoreFault> + 'a;

/// What the roll holds.
#[derive(Debug, Clone, Default)]
pub struct Survey {
    /// None when there is no readable line.
    pub store: Option<StoreId>,
    /// In order.
    pub segments: Vec<Segment>,
    /// The hash of each line that counts; the line with number n is at n-1.
    pub hashes: Vec<LineHash>,
    /// What follows the last whole batch, in the last segment.
    pub torn: Option<Stretch>,
    pub abandoned: Vec<Stretch>,
    pub broken: Option<Break>,
}

impl Survey {
    /// The number of the last line that counts; 0 when there is none.
    pub fn head(&self) -> u64 {
        self.hashes.len() as u64
    }

    /// The hash that the line after `seq` must carry.
    pub fn hash_at(&self, seq: u64) -> Option<LineHash> {
        match seq.checked_sub(1) {
            None => self.store.map(LineHash::genesis),
            Some(index) => self.hashes.get(usize::try_from(index).ok()?).copied(),
        }
    }
}

/// Reads every segment. `visit` gets each line that counts, without its newline, once its whole batch is there;
/// `progress` gets bytes done and in all.
pub fn survey(
    disk: &dyn Disk,
    dir: &Path,
    progress: &mut dyn FnMut(u64, u64),
    visit: &mut EachHeader<'_>,
) -> Result<Survey, StoreFault> {
    let names = names(disk, dir)?;
    let sizes: Vec<u64> = names
        .iter()
        .map(|name| disk.len(&dir.join(name.to_string())).map_err(io_at(dir.join(name.to_string()))))
        .collect::<Result<_, _>>()?;
    let total = sizes.iter().sum();
    let mut survey = Survey::default();
    let mut done = 0;
    for (index, (name, size)) in names.iter().zip(&sizes).enumerate() {
        let path = dir.join(name.to_string());
        let mut segment = Segment { name: *name, size: *size, counted: 0, lines: 0, last_batch: 0 };
        if survey.broken.is_none() {
            let bytes = disk.read(&path, 0, SEGMENT_READ_MAX).map_err(io_at(&path))?;
            segment.size = bytes.len() as u64;
            let until = names.get(index + 1).map(|next| next.first - 1);
            read_segment(&mut survey, &mut segment, &bytes, until, visit)?;
        }
        survey.segments.push(segment);
        done += size;
        progress(done, total);
    }
    Ok(survey)
}

/// The segments in a directory, in order.
pub fn names(disk: &dyn Disk, dir: &Path) -> Result<Vec<SegmentName>, StoreFault> {
    let mut names: Vec<SegmentName> =
        disk.list(dir).map_err(io_at(dir))?.iter().filter_map(|name| SegmentName::parse(name)).collect();
    names.sort_unstable();
    Ok(names)
}

fn read_segment(
    survey: &mut Survey,
    segment: &mut Segment,
    bytes: &[u8],
    until: Option<u64>,
    visit: &mut EachHeader<'_>,
) -> Result<(), StoreFault> {
    let broken = |survey: &Survey, at: usize, why| Break { segment: segment.name, at: at as u64, after: survey.head(), why };
    let stretch = |at: usize| Stretch { segment: segment.name, at: at as u64, bytes: (bytes.len() - at) as u64 };
    if bytes.len() >= SEGMENT_READ_MAX {
        survey.broken = Some(broken(survey, 0, Misfit::TooLarge));
        return Ok(());
    }
    if segment.name.first != survey.head() + 1 {
        survey.store = survey.store.or_else(|| readable(bytes).next().and_then(|found| found.ok()).map(|header| header.store));
        survey.broken = Some(broken(survey, 0, Misfit::Missing));
        return Ok(());
    }
    let (mut counted, mut at) = (0, 0);
    let mut batch: Vec<(Header, &[u8])> = Vec::new();
    let stop = loop {
        if until == Some(survey.head()) || at == bytes.len() {
            break None;
        }
        let Some(length) = memchr(b'\n', &bytes[at..]) else { break Some(Misfit::Unended) };
        let text = &bytes[at..at + length];
        let header = match line::header(text) {
            Ok(header) => header,
            Err(BadLine::Newer { found }) => {
                return Err(StoreFault::Newer { segment: segment.name.to_string(), at: at as u64, found });
            }
            Err(bad) => break Some(Misfit::Bad(bad)),
        };
        if let Err(misfit) = follows(survey, &batch, &header) {
            break Some(misfit);
        }
        batch.push((header, text));
        at += length + 1;
        if header.ends_batch() {
            if until.is_some_and(|until| header.seq > until) {
                break None;
            }
            segment.last_batch = counted as u64;
            segment.lines += batch.len() as u64;
            for (header, text) in batch.drain(..) {
                survey.store = Some(header.store);
                visit(&header, text)?;
                survey.hashes.push(LineHash::of(text));
            }
            counted = at;
        }
    };
    segment.counted = counted as u64;
    match until {
        Some(until) if survey.head() < until => {
            survey.broken = Some(broken(survey, counted, stop.unwrap_or(Misfit::Missing)));
        }
        Some(_) if counted < bytes.len() => survey.abandoned.push(stretch(counted)),
        Some(_) => {}
        None => match damage(survey, &bytes[at..], segment.name, at)? {
            Some(why) => survey.broken = Some(broken(survey, counted, stop.unwrap_or(why))),
            None if counted < bytes.len() => survey.torn = Some(stretch(counted)),
            None => {}
        },
    }
    Ok(())
}

/// Whether a line comes next, after the lines that count and those of its own batch before it.
fn follows(survey: &Survey, batch: &[(Header, &[u8])], header: &Header) -> Result<(), Misfit> {
    let expected = survey.head() + 1 + batch.len() as u64;
    if survey.store.is_some_and(|store| store != header.store) {
        return Err(Misfit::OtherStore);
    }
    if header.seq != expected {
        return Err(Misfit::Number { expected, found: header.seq });
    }
    let (prev, part) = match batch.last() {
        Some((before, text)) => (LineHash::of(text), (before.part.0 + 1, before.part.1)),
        None => (survey.hash_at(survey.head()).unwrap_or(LineHash::genesis(header.store)), (1, header.part.1)),
    };
    if header.part != part {
        return Err(Misfit::Part);
    }
    if header.prev != prev { Err(Misfit::Hash) } else { Ok(()) }
}

/// Looks behind a line that does not fit for proof that it is no torn tail: a readable line of any other batch than the
/// one that comes next.
fn damage(survey: &Survey, rest: &[u8], segment: SegmentName, at: usize) -> Result<Option<Misfit>, StoreFault> {
    let next = survey.head() + 1;
    for found in readable(rest) {
        let header = match found {
            Ok(header) => header,
            Err(found) => return Err(StoreFault::Newer { segment: segment.to_string(), at: at as u64, found }),
        };
        if survey.store.is_some_and(|store| store != header.store) {
            return Ok(Some(Misfit::OtherStore));
        }
        if header.batch_start() != next {
            return Ok(Some(Misfit::Number { expected: next, found: header.seq }));
        }
        let prev = survey.hash_at(survey.head()).unwrap_or(LineHash::genesis(header.store));
        if header.part.0 == 1 && header.prev != prev {
            return Ok(Some(Misfit::Hash));
        }
    }
    Ok(None)
}

/// Every line in `bytes` whose checksum fits, also behind garbage that swallowed a newline. A line of a newer schema is
/// an error.
fn readable(bytes: &[u8]) -> impl Iterator<Item = Result<Header, u16>> {
    bytes.split(|byte| *byte == b'\n').filter_map(|chunk| {
        let mut from = 0;
        loop {
            let start = from + find(&chunk[from..], b"{\"prev\":\"")?;
            match line::header(&chunk[start..]) {
                Ok(header) => return Some(Ok(header)),
                Err(BadLine::Newer { found }) => return Some(Err(found)),
                Err(_) => from = start + 1,
            }
        }
    })
}

fn memchr(byte: u8, bytes: &[u8]) -> Option<usize> {
    bytes.iter().position(|other| *other == byte)
}

fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len()).position(|window| window == what)
}

/// Gives the lines from number `from` to `to` of a roll that has been surveyed, both included.
pub fn lines(
    disk: &dyn Disk,
    dir: &Path,
    survey: &Survey,
    (from, to): (u64, u64),
    visit: &mut EachLine<'_>,
) -> Result<(), StoreFault> {
    for segment in &survey.segments {
        let first = segment.name.first;
        if segment.lines == 0 || first + segment.lines <= from || first > to {
            continue;
        }
        let path = dir.join(segment.name.to_string());
        let most = usize::try_from(segment.counted).unwrap_or(usize::MAX);
        let bytes = disk.read(&path, 0, most).map_err(io_at(&path))?;
        let texts = bytes.split(|byte| *byte == b'\n').take(usize::try_from(segment.lines).unwrap_or(usize::MAX));
        for (seq, text) in (first..).zip(texts) {
            if seq >= from && seq <= to {
                visit(seq, text)?;
            }
        }
    }
    Ok(())
}

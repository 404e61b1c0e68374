//! Comparing an opened index with the roll, all of it, before it is believed.

use super::code;
use super::derive::Derived;
use super::trees::{Applied, IndexFault, Trees};
use crate::facts::Books;
use crate::store::fault::StoreFault;
use crate::store::line::{self, LineHash};
use crate::store::note::Reason;
use crate::store::roll::Survey;
use jiff::tz::TimeZone;

/// What the comparison says.
pub enum Verdict {
    /// Equal to the roll up to `seq`, and these are the books folded from it.
    Trusted { seq: u64, books: Box<Books> },
    /// To be set aside, if there is anything in it, and made anew.
    Rebuild { why: String },
    /// It knows what the roll does not. Nothing is built over it.
    Ahead(Reason),
}

/// Compares. `zone` is the name of the zone whose days are wanted.
pub fn check(
    trees: &Trees,
    survey: &Survey,
    zone: (&TimeZone, &str),
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Verdict, CheckFault> {
    let applied = trees.applied()?;
    let last = trees.last_event()?.max(applied.as_ref().map_or(0, |applied| applied.seq));
    if let Some(applied) = &applied
        && survey.store.is_some_and(|store| store != applied.store)
    {
        return Ok(Verdict::Ahead(Reason::ForeignIndex));
    }
    if last > survey.head() {
        return Ok(Verdict::Ahead(Reason::IndexAhead { roll: survey.head(), index: last }));
    }
    let mut folded = Folded { books: Books::default(), misfit: false };
    for pair in trees.events.iter() {
        let (key, text) = pair.map_err(IndexFault::from)?;
        let seq = code::read_seq(&key).unwrap_or(0);
        match compare(survey, seq, &text, folded.books.seq) {
            Compared::Equal => folded.add(seq, &text)?,
            Compared::Damaged => return Ok(Verdict::Rebuild { why: format!("event {seq} in it is damaged") }),
            Compared::Missing => return Ok(Verdict::Rebuild { why: format!("events before {seq} are missing in it") }),
            Compared::Different => return Ok(Verdict::Ahead(Reason::Diverged { seq })),
        }
        if folded.misfit {
            // The roll holds the same event, and folding it says what is wrong.
            return Ok(Verdict::Rebuild { why: format!("event {seq} does not fit") });
        }
        if seq.is_multiple_of(4096) {
            progress(seq, last);
        }
    }
    let books = folded.books;
    let Some(applied) = applied else {
        let why = if last == 0 { "there was none" } else { "it was unfinished or of another version" };
        return Ok(Verdict::Rebuild { why: why.to_owned() });
    };
    let hash = survey.hash_at(applied.seq).unwrap_or(LineHash::genesis(applied.store));
    if applied != Applied::new(applied.store, books.seq, hash, zone.1) {
        return Ok(Verdict::Rebuild { why: "it is not as it says, or of another time zone".to_owned() });
    }
    if !lists_equal(trees, &Derived::of(&books, zone.0))? {
        return Ok(Verdict::Rebuild { why: "its lists do not follow from its events".to_owned() });
    }
    Ok(Verdict::Trusted { seq: books.seq, books: Box::new(books) })
}

/// A comparison can fail because of sled, or because an event is beyond this program.
pub enum CheckFault {
    Index(IndexFault),
    Store(StoreFault),
}

impl From<IndexFault> for CheckFault {
    fn from(fault: IndexFault) -> CheckFault {
        CheckFault::Index(fault)
    }
}

impl From<StoreFault> for CheckFault {
    fn from(fault: StoreFault) -> CheckFault {
        CheckFault::Store(fault)
    }
}

struct Folded {
    books: Books,
    misfit: bool,
}

impl Folded {
    fn add(&mut self, seq: u64, text: &[u8]) -> Result<(), StoreFault> {
        let event = line::event(text).map_err(|bad| StoreFault::Unreadable { seq, why: bad.to_string() })?;
        self.misfit = self.books.apply(&event).is_err();
        Ok(())
    }
}

enum Compared {
    Equal,
    Missing,
    Damaged,
    Different,
}

fn compare(survey: &Survey, seq: u64, text: &[u8], last: u64) -> Compared {
    if seq != last + 1 {
        return Compared::Missing;
    }
    if seq.checked_sub(1).and_then(|index| survey.hashes.get(index as usize)) == Some(&LineHash::of(text)) {
        return Compared::Equal;
    }
    // A sound line with another hash is another history, and no damage.
    match line::header(text) {
        Ok(header) if header.seq == seq => Compared::Different,
        _ => Compared::Damaged,
    }
}

fn lists_equal(trees: &Trees, derived: &Derived) -> Result<bool, IndexFault> {
    let mut by_bin: Vec<_> = derived.rows.values().map(|row| (code::bin_key(row.bin, row.entry), code::row(row))).collect();
    by_bin.sort_unstable();
    let mut by_day: Vec<_> = derived.rows.values().map(|row| (code::day_key(row.day, row.entry), code::row(row))).collect();
    by_day.sort_unstable();
    let totals = derived.totals.iter().map(|(key, total)| (code::total_key(*key), code::total(*total).to_vec()));
    Ok(tree_equal(&trees.by_bin, by_bin)? && tree_equal(&trees.by_day, by_day)? && tree_equal(&trees.totals, totals)?)
}

fn tree_equal<const N: usize>(
    tree: &sled::Tree,
    expected: impl IntoIterator<Item = ([u8; N], Vec<u8>)>,
) -> Result<bool, IndexFault> {
    let mut found = tree.iter();
    for (key, value) in expected {
        match found.next().transpose()? {
            Some((found_key, found_value)) if found_key == key && found_value == value => {}
            _ => return Ok(false),
        }
    }
    Ok(found.next().is_none())
}

/// The text of the events after `from` that the index has, and the first and last number of them.
pub fn surplus(trees: &Trees, from: u64) -> Result<Option<(u64, u64, Vec<u8>)>, IndexFault> {
    let (mut text, mut ends) = (Vec::new(), None);
    for pair in trees.events.range(code::seq(from + 1)..) {
        let (key, line) = pair?;
        let seq = code::read_seq(&key).unwrap_or(0);
        ends = Some((ends.map_or(seq, |(first, _)| first), seq));
        text.extend_from_slice(&line);
        text.push(b'\n');
    }
    Ok(ends.map(|(first, last)| (first, last, text)))
}

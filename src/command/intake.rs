//! Orders about intakes and lots.

use super::decide::{Decision, find_name};
use super::{NameRef, NamedKind, Refusal};
use crate::facts::books::{AskedIntake, Entry, EntryState, Lot, Origin};
use crate::facts::{BenchId, Books, EntryId, Fact, LotId};

pub(super) fn ask(books: &Books, bench: BenchId, feed: Option<&NameRef>) -> Result<Decision, Refusal> {
    let feed = feed.map(|feed| find_name(&books.feeds, NamedKind::Feed, feed)).transpose()?;
    // Whoever presses twice, not sure of the first, means the same.
    if books.bench(bench).intake == Some(AskedIntake { feed }) {
        return Ok(Decision::Already(books.seq));
    }
    // The next load is one or the other.
    let instead = books.bench(bench).check.asked.map(|_| Fact::CheckWithdrawn {});
    Ok(Decision::Facts(instead.into_iter().chain([Fact::IntakeAsked { feed }]).collect()))
}

pub(super) fn withdraw(books: &Books, bench: BenchId) -> Result<Decision, Refusal> {
    books.bench(bench).intake.ok_or(Refusal::NoIntake)?;
    Ok(Decision::Facts(vec![Fact::IntakeWithdrawn {}]))
}

pub(super) fn tell(books: &Books, lot: LotId, feed: &NameRef) -> Result<Decision, Refusal> {
    let state = standing(books, lot)?;
    let feed = find_name(&books.feeds, NamedKind::Feed, feed)?;
    if state.feed == Some(feed) {
        return Ok(Decision::Already(lot.0));
    }
    Ok(Decision::Facts(vec![Fact::LotTold { lot, feed }]))
}

/// A lot whose intake was not taken back.
pub(super) fn standing(books: &Books, lot: LotId) -> Result<&Lot, Refusal> {
    let state = books.lots.get(&lot).ok_or(Refusal::UnknownLot { lot })?;
    let gone = |entry: &&Entry| matches!(entry.state, EntryState::Cancelled | EntryState::Voided);
    if books.lot_entry(lot).filter(gone).is_some() {
        return Err(Refusal::DropGone { entry: lot.entry() });
    }
    Ok(state)
}

pub(super) fn close(books: &Books, lot: LotId) -> Result<Decision, Refusal> {
    let state = standing(books, lot)?;
    if books.lot_entry(lot).is_some_and(|entry| entry.state == EntryState::Provisional) {
        return Err(Refusal::DropProvisional { entry: lot.entry() });
    }
    // A yield belongs to a feed, and what worked on it is known by that alone.
    state.feed.ok_or(Refusal::LotWithoutFeed { lot })?;
    if !state.is_open() {
        return Ok(Decision::Already(state.turns.back().map_or(lot.0, |turn| turn.seq)));
    }
    Ok(Decision::Facts(vec![Fact::LotClosed { lot }]))
}

pub(super) fn reopen(books: &Books, lot: LotId) -> Result<Decision, Refusal> {
    let state = standing(books, lot)?;
    if state.is_open() {
        return Ok(Decision::Already(state.turns.back().map_or(lot.0, |turn| turn.seq)));
    }
    Ok(Decision::Facts(vec![Fact::LotReopened { lot }]))
}

/// What is to be taken apart goes into no bin.
pub(super) fn no_intake(entry: EntryId, state: &Entry) -> Result<(), Refusal> {
    if matches!(state.origin, Origin::Intake(_) | Origin::Drawn(_)) { Err(Refusal::IsIntake { entry }) } else { Ok(()) }
}

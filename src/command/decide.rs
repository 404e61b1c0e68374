//! One order and the books: the facts that it makes, or why it is refused. Nothing is changed here.

use super::refusal::Kind;
use super::{BinRef, Edit, NameRef, Order, Refusal, Which};
use super::{checks, emptying, feeds, intake, places, prices};
use crate::facts::books::{Bin, Entry, EntryState, Named, Origin, PressUse, Session};
use crate::facts::{
    BenchId, BinChange, BinId, Books, Cancellation, EntryId, Fact, FillId, KnownBy, NameChange, SessionId, Set, Source,
};
use crate::measure::Mass;
use imbl::OrdMap;

/// What an order comes to.
pub enum Decision {
    Facts(Vec<Fact>),
    /// Facts that point at each other by their place among them, from 0.
    Numbered(Vec<Fact>),
    /// It is so already, since this event.
    Already(u64),
}

/// Presses that must have been felt in a trial before a press may choose a bin.
const PRESS_TRIAL: u32 = 10;

/// Longer names are a slip of the keyboard or an attack on the page's layout.
pub(super) const NAME_MAX: usize = 80;

/// Decides an order at a bench.
pub fn decide(books: &Books, bench: BenchId, order: &Order) -> Result<Decision, Refusal> {
    let one = |fact: Fact| Ok::<_, Refusal>(Decision::Facts(vec![fact]));
    match order {
        Order::ChooseBin { bin } => {
            let bin = bin.map(|bin| find_bin(books, bin).map(|(id, _)| id)).transpose()?;
            // The same bin again is news too: it is said of what is set down next.
            one(Fact::BinChosen { bin })
        }
        Order::ChooseNextBin => {
            let bin = books.next_bin(bench).ok_or(Refusal::NoBin)?;
            if books.bench(bench).chosen == Some(bin) {
                return Ok(Decision::Already(books.seq));
            }
            one(Fact::BinChosen { bin: Some(bin) })
        }
        Order::TryPress => one(Fact::PressTrialBegan {}),
        Order::UsePress { on } => match books.bench(bench).press {
            PressUse::Off | PressUse::Trial { felt: 0..PRESS_TRIAL } if *on => {
                let felt = if let PressUse::Trial { felt } = books.bench(bench).press { felt } else { 0 };
                Err(Refusal::PressUntried { felt, needed: PRESS_TRIAL })
            }
            _ => one(Fact::PressSwitched { on: *on }),
        },
        Order::ChooseManner { manner } => one(Fact::MannerChosen { manner: *manner }),
        Order::AskIntake { feed } => intake::ask(books, bench, feed.as_ref()),
        Order::WithdrawIntake => intake::withdraw(books, bench),
        Order::TellLot { lot, feed } => intake::tell(books, *lot, feed),
        Order::EnterLot { feed, mass, source, reason } => {
            positive(*mass)?;
            sound(source, *mass)?;
            let feed = find_name(&books.feeds, Kind::Feed, feed)?;
            let session = books.bench(bench).session;
            one(Fact::LotEntered { feed, session, mass: *mass, source: source.clone(), reason: said(reason)? })
        }
        Order::CloseLot { lot } => intake::close(books, *lot),
        Order::ReopenLot { lot } => intake::reopen(books, *lot),
        Order::StartSession { feed } => {
            if let Some(session) = books.bench(bench).session {
                let started = books.sessions.get(&session).map(|state| state.started.wall).unwrap_or_default();
                return Err(Refusal::SessionOpen { session, started });
            }
            one(Fact::SessionStarted { feed: find_feed(books, feed.as_ref())? })
        }
        Order::PauseSession { session } => {
            let state = open_session(books, *session)?;
            if state.running.is_none() {
                return Err(Refusal::SessionPaused { session: *session });
            }
            one(Fact::SessionPaused { session: *session })
        }
        Order::ResumeSession { session } => {
            if open_session(books, *session)?.running.is_some() {
                return Err(Refusal::SessionNotPaused { session: *session });
            }
            one(Fact::SessionResumed { session: *session })
        }
        Order::TurnSession => {
            let session = books.bench(bench).session.ok_or(Refusal::NoSession)?;
            let runs = open_session(books, session)?.running.is_some();
            one(if runs { Fact::SessionPaused { session } } else { Fact::SessionResumed { session } })
        }
        Order::EndSession { session } => {
            open_session(books, *session)?;
            one(Fact::SessionEnded { session: *session })
        }
        Order::TellStillness { session, stillness, away } => {
            let state = books.sessions.get(session).ok_or(Refusal::UnknownSession { session: *session })?;
            let known = state.stillnesses.iter().find(|known| known.id == *stillness);
            let known = known.ok_or(Refusal::UnknownStillness { stillness: *stillness })?;
            if known.away == Some(*away) {
                return Ok(Decision::Already(*stillness));
            }
            one(Fact::StillnessTold { stillness: *stillness, session: *session, away: *away })
        }
        Order::BeginLeg { session, feed } => {
            open_session(books, *session)?;
            one(Fact::LegBegan { session: *session, feed: find_feed(books, feed.as_ref())? })
        }
        Order::MakeBin { number, name, grade, tare, capacity } => {
            let number = number.unwrap_or_else(|| books.next_bin_number());
            number_is_free(books, number, None)?;
            not_negative(*tare)?;
            positive_or_none(*capacity)?;
            let grade = grade.as_ref().map(|grade| find_name(&books.grades, Kind::Grade, grade)).transpose()?;
            let name = name.as_deref().map(|name| clean(name, Kind::Bin)).transpose()?;
            one(Fact::BinMade { number, name, grade, tare: *tare, capacity: *capacity })
        }
        Order::ChangeBin { bin, change, grade, edit } => change_bin(books, *bin, change, grade.as_ref(), *edit),
        Order::MakeGrade { name } => one(Fact::GradeMade { name: free_name(&books.grades, Kind::Grade, name)? }),
        Order::MakeFeed { name } => one(Fact::FeedMade { name: free_name(&books.feeds, Kind::Feed, name)? }),
        Order::MakeBuyer { name } => one(Fact::BuyerMade { name: free_name(&books.buyers, Kind::Buyer, name)? }),
        Order::ChangeGrade { grade, change, edit } => {
            let (grade, change) = change_name(&books.grades, Kind::Grade, grade, change, *edit)?;
            one(Fact::GradeChanged { grade, change })
        }
        Order::ChangeFeed { feed, change, edit } => {
            let (feed, change) = change_name(&books.feeds, Kind::Feed, feed, change, *edit)?;
            one(Fact::FeedChanged { feed, change })
        }
        Order::ChangeBuyer { buyer, change, edit } => {
            let (buyer, change) = change_name(&books.buyers, Kind::Buyer, buyer, change, *edit)?;
            one(Fact::BuyerChanged { buyer, change })
        }
        Order::GiveQuote(quoting) => one(prices::quote(books, quoting)?),
        Order::Prices(order) => prices::decide(books, order),
        Order::WithdrawQuote { quote, reason } => {
            let state = books.quotes.get(quote).ok_or(Refusal::UnknownQuote { quote: *quote })?;
            if state.withdrawn {
                return Ok(Decision::Already(quote.0));
            }
            one(Fact::QuoteWithdrawn { quote: *quote, reason: said(reason)? })
        }
        Order::VoidDrop { entry, which, reason } => {
            emptying::is_no_tip(books, *entry, correctable(books, *entry)?)?;
            one(Fact::DropVoided { entry: *entry, which: *which, reason: said(reason)? })
        }
        Order::MoveDrops { which, to, reason } => move_drops(books, which, *to, reason),
        Order::WasTheBin { entry, bin } => was_the_bin(books, bench, *entry, *bin),
        Order::DoubtDrop { entry } => {
            let last = || books.bench(bench).last_drop.map(|(last, _)| last).ok_or(Refusal::NoDrop);
            let entry = entry.map_or_else(last, Ok)?;
            let state = books.entries.get(&entry).ok_or(Refusal::UnknownDrop { entry })?;
            if matches!(state.state, EntryState::Cancelled | EntryState::Voided) {
                return Err(Refusal::DropGone { entry });
            }
            one(Fact::DropDoubted { entry })
        }
        Order::SettleMissing { bin } => {
            let (bin, state) = find_bin(books, *bin)?;
            let missing = state.missing.ok_or(Refusal::NothingMissing { number: state.number })?;
            one(Fact::CaughtUp { bin, fill: state.fill, mass: -missing })
        }
        Order::SettleHand { removal, reason } => {
            let in_hand = books.bench(bench).in_hand;
            in_hand.iter().find(|(id, _)| id == removal).ok_or(Refusal::NotInHand { removal: *removal })?;
            one(Fact::HandSettled { removal: *removal, reason: said(reason)? })
        }
        Order::AdjustDrop { entry, mass, source, reason } => {
            correctable(books, *entry)?;
            positive(*mass)?;
            sound(source, *mass)?;
            one(Fact::DropAdjusted { entry: *entry, mass: *mass, source: source.clone(), reason: said(reason)? })
        }
        Order::TipBin { from, to, reason } => tip(books, *from, *to, reason),
        Order::EmptyBin { bin, reason } => {
            let (bin, state) = find_bin(books, *bin)?;
            one(Fact::BinEmptied { bin, fill: state.fill, reason: said(reason)? })
        }
        Order::OpeningStock { bin, mass, source, reason } => {
            let (bin, state) = find_bin(books, *bin)?;
            positive(*mass)?;
            sound(source, *mass)?;
            one(Fact::OpeningStock { bin, fill: state.fill, mass: *mass, source: source.clone(), reason: said(reason)? })
        }
        Order::EnterWeight { bin, mass, source, reason } => {
            let bin = bin.map(|bin| find_bin(books, bin)).transpose()?;
            positive(*mass)?;
            sound(source, *mass)?;
            one(Fact::WeightEntered {
                bin: bin.map(|(id, _)| id),
                fill: bin.map(|(_, state)| state.fill),
                session: books.bench(bench).session,
                mass: *mass,
                source: source.clone(),
                reason: said(reason)?,
            })
        }
        Order::CheckWeight { nominal, shown, within, source, division } => {
            positive(*nominal)?;
            positive(*division)?;
            not_negative(*within)?;
            one(Fact::CheckWeighed {
                nominal: *nominal,
                shown: *shown,
                within: *within,
                source: Some(said(source)?),
                division: Some(*division),
                scale: books.bench(bench).epoch.and_then(|epoch| epoch.scale),
                drop: None,
            })
        }
        Order::Checks(order) => checks::decide(books, bench, order),
        Order::SpendMinutes { what, span, day, session, lot } => {
            if let Some(session) = session {
                books.sessions.get(session).ok_or(Refusal::UnknownSession { session: *session })?;
            }
            if let Some(lot) = lot {
                intake::standing(books, *lot)?;
            }
            one(Fact::MinutesSpent { what: said(what)?, span: *span, day: *day, session: *session, lot: *lot, part: None })
        }
        Order::Feeds(order) => feeds::decide(books, bench, order),
        Order::Places(order) => places::decide(books, order),
        Order::Tickets(order) => super::tickets::decide(books, order),
        Order::Trips(order) => super::trips::decide(books, order),
    }
}

fn change_bin(
    books: &Books,
    bin: BinRef,
    change: &BinChange,
    grade: Option<&Option<NameRef>>,
    edit: Edit,
) -> Result<Decision, Refusal> {
    let (id, state) = find_bin(books, bin)?;
    unchanged(edit, state.changed)?;
    if let Some(number) = change.number {
        number_is_free(books, number, Some(id))?;
    }
    if let Set::To(tare) = change.tare {
        not_negative(tare)?;
    }
    if let Set::To(capacity) = change.capacity {
        positive_or_none(capacity)?;
    }
    if let Set::To(Some(litres)) = change.litres {
        super::trips::room(litres)?;
    }
    let mut change = change.clone();
    if let Set::To(Some(name)) = &change.name {
        change.name = Set::To(Some(clean(name, Kind::Bin)?));
    }
    if let Some(grade) = grade {
        let grade = grade.as_ref().map(|grade| find_name(&books.grades, Kind::Grade, grade)).transpose()?;
        change.grade = Set::To(grade);
    }
    Ok(Decision::Facts(vec![Fact::BinChanged { bin: id, change }]))
}

fn move_drops(books: &Books, which: &Which, to: BinRef, reason: &str) -> Result<Decision, Refusal> {
    let (bin, state) = find_bin(books, to)?;
    let (Which::One(first) | Which::Since(first)) = which;
    let origin = correctable(books, *first)?;
    intake::no_intake(*first, origin)?;
    let entries = match which {
        Which::One(entry) => vec![*entry],
        Which::Since(_) => books
            .entries
            .range(*first..)
            .filter(|(_, entry)| entry.bench == origin.bench && entry.bin == origin.bin && entry.counts())
            .filter(|(id, entry)| intake::no_intake(**id, entry).is_ok())
            .map(|(id, _)| *id)
            .collect(),
    };
    if origin.bin == Some(bin) && origin.fill == Some(state.fill) {
        return Err(Refusal::SameBin { number: state.number });
    }
    Ok(Decision::Facts(vec![Fact::DropsMoved { entries, bin, fill: state.fill, reason: said(reason)? }]))
}

/// The gross weight of the bin now is what was set down and all that has landed in it since.
fn was_the_bin(books: &Books, bench: BenchId, entry: EntryId, bin: BinRef) -> Result<Decision, Refusal> {
    let (bin, state) = find_bin(books, bin)?;
    let set_down = correctable(books, entry)?;
    let (None, Origin::Drop(step)) = (set_down.bin, set_down.origin) else {
        return Err(Refusal::NotSetDown { entry });
    };
    let visit = books.bench(bench).visit;
    let later = |id: &EntryId| *id > entry && books.entries.get(id).is_some_and(|later| later.counts() && later.bin.is_none());
    let since: Vec<EntryId> = visit.iter().copied().filter(later).collect();
    let landed: Mass = since.iter().filter_map(|id| books.entries.get(id)).map(|entry| entry.mass).sum();
    let mut facts = vec![Fact::Cancelled { entry, why: Cancellation::WasTheBin }];
    if !since.is_empty() {
        let reason = "landed in the bin that was set down".to_owned();
        facts.push(Fact::DropsMoved { entries: since, bin, fill: state.fill, reason });
    }
    if visit.contains(&entry) {
        // After the move: a tare that is learned now is the gross weight less all that the books hold.
        let gross = set_down.mass + landed;
        facts.push(Fact::SetDown { step: Some(step), bin, gross, known_by: KnownBy::Told, expected: None, lighter_by: None });
    }
    Ok(Decision::Facts(facts))
}

fn tip(books: &Books, from: BinRef, to: BinRef, reason: &str) -> Result<Decision, Refusal> {
    let (from_id, from_state) = find_bin(books, from)?;
    let (to_id, to_state) = find_bin(books, to)?;
    if from_id == to_id {
        return Err(Refusal::SameBin { number: from.0 });
    }
    let mass = books.fills.get(&from_state.fill).map_or(Mass::ZERO, |fill| fill.mass);
    if mass.is_zero() {
        return Err(Refusal::NothingInBin { number: from.0 });
    }
    Ok(Decision::Facts(vec![Fact::BinTipped {
        from: from_id,
        from_fill: from_state.fill,
        to: to_id,
        to_fill: to_state.fill,
        mass,
        reason: said(reason)?,
    }]))
}

pub(super) fn find_bin(books: &Books, bin: BinRef) -> Result<(BinId, &Bin), Refusal> {
    books.bin_by_number(bin.0).ok_or_else(|| {
        let known = books.bins.values().filter(|bin| !bin.retired).map(|bin| bin.number).collect();
        Refusal::UnknownBin { number: bin.0, known }
    })
}

fn find_feed(books: &Books, feed: Option<&NameRef>) -> Result<Option<crate::facts::FeedId>, Refusal> {
    feed.map(|feed| find_name(&books.feeds, Kind::Feed, feed)).transpose()
}

fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

pub(super) fn find_name<Id: Ord + Copy>(names: &OrdMap<Id, Named>, what: Kind, wanted: &NameRef) -> Result<Id, Refusal> {
    let found = names.iter().find(|(_, named)| !named.retired && same_name(&named.name, &wanted.0));
    found.map(|(id, _)| *id).ok_or_else(|| Refusal::UnknownName {
        what,
        name: wanted.0.clone(),
        known: names.values().filter(|named| !named.retired).map(|named| named.name.clone()).collect(),
    })
}

fn free_name<Id: Ord + Copy>(names: &OrdMap<Id, Named>, what: Kind, name: &str) -> Result<String, Refusal> {
    let name = clean(name, what)?;
    if names.values().any(|named| !named.retired && same_name(&named.name, &name)) {
        return Err(Refusal::NameTaken { what, name });
    }
    Ok(name)
}

fn change_name<Id: Ord + Copy>(
    names: &OrdMap<Id, Named>,
    what: Kind,
    which: &NameRef,
    change: &NameChange,
    edit: Edit,
) -> Result<(Id, NameChange), Refusal> {
    let id = find_name(names, what, which)?;
    unchanged(edit, names.get(&id).map_or(0, |named| named.changed))?;
    let mut change = change.clone();
    if let Some(name) = &change.name {
        let renamed = if same_name(name, &which.0) { clean(name, what)? } else { free_name(names, what, name)? };
        change.name = Some(renamed);
    }
    Ok((id, change))
}

fn clean(name: &str, what: Kind) -> Result<String, Refusal> {
    let name: String = name.trim().chars().filter(|c| !c.is_control()).take(NAME_MAX).collect();
    if name.is_empty() { Err(Refusal::BlankName { what }) } else { Ok(name) }
}

/// What became of a fill is not taken back while a drop of it may still turn out to be none.
pub(super) fn none_waits(books: &Books, fill: FillId) -> Result<(), Refusal> {
    let mut open = books.benches.values().flat_map(|bench| &bench.open).copied();
    match open.find(|id| books.entries.get(id).is_some_and(|entry| entry.fill == Some(fill))) {
        Some(entry) => Err(Refusal::DropProvisional { entry }),
        None => Ok(()),
    }
}

pub(super) fn said(reason: &str) -> Result<String, Refusal> {
    let reason: String = reason.trim().chars().filter(|c| !c.is_control()).take(NAME_MAX * 4).collect();
    if reason.is_empty() { Err(Refusal::NoReason) } else { Ok(reason) }
}

fn number_is_free(books: &Books, number: u32, except: Option<BinId>) -> Result<(), Refusal> {
    match books.bin_by_number(number) {
        Some((id, _)) if Some(id) != except => Err(Refusal::NumberTaken { number }),
        _ => Ok(()),
    }
}

pub(super) fn unchanged(edit: Edit, now: u64) -> Result<(), Refusal> {
    match edit.seen {
        Some(seen) if seen != now => Err(Refusal::ChangedMeanwhile { seen, now }),
        _ => Ok(()),
    }
}

pub(super) fn open_session(books: &Books, session: SessionId) -> Result<&Session, Refusal> {
    let state = books.sessions.get(&session).ok_or(Refusal::UnknownSession { session })?;
    match state.ended {
        Some(ended) => Err(Refusal::SessionEnded { session, ended: ended.wall }),
        None => Ok(state),
    }
}

pub(super) fn correctable(books: &Books, entry: EntryId) -> Result<&Entry, Refusal> {
    let state = books.entries.get(&entry).ok_or(Refusal::UnknownDrop { entry })?;
    match state.state {
        EntryState::Confirmed => Ok(state),
        EntryState::Provisional => Err(Refusal::DropProvisional { entry }),
        EntryState::Cancelled | EntryState::Voided => Err(Refusal::DropGone { entry }),
    }
}

pub(super) fn positive(mass: Mass) -> Result<(), Refusal> {
    if mass > Mass::ZERO { Ok(()) } else { Err(Refusal::NotPositive { mass }) }
}

fn positive_or_none(mass: Option<Mass>) -> Result<(), Refusal> {
    mass.map_or(Ok(()), positive)
}

pub(super) fn not_negative(mass: Option<Mass>) -> Result<(), Refusal> {
    match mass {
        Some(mass) if mass.is_negative() => Err(Refusal::NegativeTare { mass }),
        _ => Ok(()),
    }
}

pub(super) fn sound(source: &Source, mass: Mass) -> Result<(), Refusal> {
    match source {
        Source::Estimate { low, high } if low > high || mass < *low || mass > *high => Err(Refusal::EstimateCrossed),
        Source::Estimate { .. } => Ok(()),
        Source::BenchScale { division }
        | Source::HangingScale { division }
        | Source::YardScale { division }
        | Source::Label { division } => positive(*division),
    }
}

//! Orders about feeds and lots beside the scale: opened by count or from a bin, described, waited for; arrivals, money and
//! minutes; trials against the clock; and taking any of these records back.

use super::decide::{Decision, find_bin, find_name, open_session, positive, said, sound, unchanged};
use super::{BinRef, Edit, NameRef, NamedKind, Refusal, intake};
use crate::facts::{
    ArrivalCame, BenchId, Books, Fact, FeedId, JobPart, LotBegun, LotDescribed, LotDrawn, LotId, LotWaited, MoneySpent,
    RecordVoided, Set, Source, SpendingSort, TrialBegan, TrialEnded,
};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// A depth is a word or two on a label.
const DEPTH_MAX: usize = 40;

/// More than a day without a break is a slip of the keyboard.
const TRIAL_MAX: Span = Span::seconds(24 * 3600);

#[derive(Debug, Clone, PartialEq)]
pub enum FeedOrder {
    /// Opens a lot that was counted, weighed elsewhere, or drawn from a bin by so much.
    OpenLot {
        feed: NameRef,
        mass: Option<(Mass, Source)>,
        pieces: Option<u32>,
        depth: Option<String>,
        bin: Option<BinRef>,
        reason: String,
    },
    DescribeLot {
        lot: LotId,
        depth: Set<String>,
        pieces: Set<u32>,
        arrival: Set<u64>,
        edit: Edit,
    },
    /// It soaked, or was heated: hands off.
    WaitForLot {
        lot: LotId,
        what: String,
        span: Span,
        day: Date,
        clock_ran: bool,
    },
    Arrive(Arriving),
    Spend {
        sort: SpendingSort,
        what: String,
        day: Date,
        amount: Money,
        buyer: Option<NameRef>,
        feed: Option<NameRef>,
        lot: Option<LotId>,
    },
    /// Minutes of the whole job that belong to no lot.
    SpendMinutes {
        part: JobPart,
        what: String,
        span: Span,
        day: Date,
    },
    /// On this feed, or else on the one at hand.
    BeginTrial {
        feed: Option<NameRef>,
        span: Span,
    },
    EndTrial {
        trial: u64,
        pieces: Option<u32>,
        mass: Option<Mass>,
    },
    VoidRecord {
        record: u64,
        reason: String,
    },
}

/// Goods that came in.
#[derive(Debug, Clone, PartialEq)]
pub struct Arriving {
    pub from: String,
    pub day: Date,
    pub what: String,
    pub feed: Option<NameRef>,
    pub mass: Option<Mass>,
    pub pieces: Option<u32>,
    pub paid: Option<Money>,
    pub span: Option<Span>,
    pub distance_km: Option<Decimal>,
}

/// Why such an order is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedRefusal {
    /// Neither a weight nor a number of pieces.
    NothingTaken,
    /// What is drawn from a bin has a weight.
    DrawnWithoutMass,
    NoPieces,
    BlankDepth,
    NegativeAmount,
    NegativeDistance,
    NoTime,
    UnknownArrival {
        arrival: u64,
    },
    UnknownRecord {
        record: u64,
    },
    RecordGone {
        record: u64,
    },
    /// It is no record that this order takes back.
    OtherRecord {
        record: u64,
    },
    TrialRuns {
        trial: u64,
    },
    UnknownTrial {
        trial: u64,
    },
    TrialTooLong,
    /// A trial is on one feed.
    TrialWithoutFeed,
    /// Consumables and disposal belong to a lot; other money does not.
    NotOfALot,
}

impl From<FeedRefusal> for Refusal {
    fn from(refusal: FeedRefusal) -> Refusal {
        Refusal::Feeds(refusal)
    }
}

pub(super) fn decide(books: &Books, bench: BenchId, order: &FeedOrder) -> Result<Decision, Refusal> {
    let one = |fact: Fact| Ok::<_, Refusal>(Decision::Facts(vec![fact]));
    match order {
        FeedOrder::OpenLot { feed, mass, pieces, depth, bin, reason } => {
            let feed = find_name(&books.feeds, NamedKind::Feed, feed)?;
            if let Some((mass, source)) = mass {
                positive(*mass)?;
                sound(source, *mass)?;
            }
            counted(*pieces)?;
            let (depth, reason) = (worded(depth.as_deref())?, said(reason)?);
            let session = books.bench(bench).session;
            let Some(bin) = bin else {
                if mass.is_none() && pieces.is_none() {
                    return Err(FeedRefusal::NothingTaken.into());
                }
                let (mass, source) = mass.clone().unzip();
                return one(Fact::LotBegun(Box::new(LotBegun { feed, session, mass, source, pieces: *pieces, depth, reason })));
            };
            let (bin, state) = find_bin(books, *bin)?;
            let (mass, source) = mass.clone().ok_or(FeedRefusal::DrawnWithoutMass)?;
            let leg = session.and_then(|session| books.sessions.get(&session)).map(|session| session.leg());
            one(Fact::LotDrawn(Box::new(LotDrawn {
                step: None,
                bin,
                fill: state.fill,
                feed: Some(feed),
                session,
                leg,
                mass,
                source: Some(source),
                pieces: *pieces,
                depth,
                reason: Some(reason),
            })))
        }
        FeedOrder::DescribeLot { lot, depth, pieces, arrival, edit } => {
            let state = intake::standing(books, *lot)?;
            unchanged(*edit, state.changed)?;
            if let Set::To(pieces) = pieces {
                counted(*pieces)?;
            }
            let depth = match depth {
                Set::Keep => Set::Keep,
                Set::To(word) => Set::To(worded(word.as_deref())?),
            };
            if let Set::To(Some(arrival)) = arrival {
                let known = books.record(*arrival).is_some_and(|record| matches!(record.fact, Fact::ArrivalCame(_)));
                if !known || books.voids.contains_key(arrival) {
                    return Err(FeedRefusal::UnknownArrival { arrival: *arrival }.into());
                }
            }
            let said = LotDescribed { lot: *lot, depth, pieces: pieces.clone(), arrival: arrival.clone() };
            if said.depth.is_keep() && said.pieces.is_keep() && said.arrival.is_keep() {
                return Ok(Decision::Already(state.changed));
            }
            one(Fact::LotDescribed(said))
        }
        FeedOrder::WaitForLot { lot, what, span, day, clock_ran } => {
            intake::standing(books, *lot)?;
            some_time(*span)?;
            let what = said(what)?;
            one(Fact::LotWaited(LotWaited { lot: *lot, what, span: *span, day: *day, clock_ran: *clock_ran }))
        }
        FeedOrder::Arrive(came) => arrive(books, came),
        FeedOrder::Spend { sort, what, day, amount, buyer, feed, lot } => {
            not_below_nothing(*amount)?;
            if let Some(lot) = lot {
                intake::standing(books, *lot)?;
                if !matches!(sort, SpendingSort::Consumables | SpendingSort::Disposal) {
                    return Err(FeedRefusal::NotOfALot.into());
                }
            }
            let buyer = buyer.as_ref().map(|buyer| find_name(&books.buyers, NamedKind::Buyer, buyer)).transpose()?;
            let feed = find_feed(books, feed.as_ref())?;
            let what = said(what)?;
            one(Fact::MoneySpent(MoneySpent { sort: *sort, what, day: *day, amount: *amount, buyer, feed, lot: *lot }))
        }
        FeedOrder::SpendMinutes { part, what, span, day } => {
            some_time(*span)?;
            let (what, part) = (said(what)?, Some(*part));
            one(Fact::MinutesSpent { what, span: *span, day: *day, session: None, lot: None, part })
        }
        FeedOrder::BeginTrial { feed, span } => begin_trial(books, bench, feed.as_ref(), *span),
        FeedOrder::EndTrial { trial, pieces, mass } => {
            let known = books.record(*trial).is_some_and(|record| matches!(record.fact, Fact::TrialBegan(_)));
            if !known || books.voids.contains_key(trial) {
                return Err(FeedRefusal::UnknownTrial { trial: *trial }.into());
            }
            counted(*pieces)?;
            mass.map_or(Ok(()), positive)?;
            one(Fact::TrialEnded(TrialEnded { trial: *trial, pieces: *pieces, mass: *mass }))
        }
        FeedOrder::VoidRecord { record, reason } => void(books, *record, reason),
    }
}

fn arrive(books: &Books, came: &Arriving) -> Result<Decision, Refusal> {
    came.mass.map_or(Ok(()), positive)?;
    counted(came.pieces)?;
    came.paid.map_or(Ok(()), not_below_nothing)?;
    if came.distance_km.is_some_and(|distance| distance.is_sign_negative()) {
        return Err(FeedRefusal::NegativeDistance.into());
    }
    Ok(Decision::Facts(vec![Fact::ArrivalCame(Box::new(ArrivalCame {
        from: said(&came.from)?,
        day: came.day,
        what: said(&came.what)?,
        feed: find_feed(books, came.feed.as_ref())?,
        mass: came.mass,
        pieces: came.pieces,
        paid: came.paid,
        span: came.span,
        distance_km: came.distance_km,
    }))]))
}

/// A trial has a leg of its own feed, on a clock that runs.
fn begin_trial(books: &Books, bench: BenchId, feed: Option<&NameRef>, span: Span) -> Result<Decision, Refusal> {
    some_time(span)?;
    if span > TRIAL_MAX {
        return Err(FeedRefusal::TrialTooLong.into());
    }
    let state = books.bench(bench);
    if let Some(trial) = state.trial {
        return Err(FeedRefusal::TrialRuns { trial }.into());
    }
    let session = state.session.ok_or(Refusal::NoSession)?;
    let stretch = open_session(books, session)?;
    let at_hand = stretch.legs.back().and_then(|leg| leg.feed);
    let feed = find_feed(books, feed)?.or(at_hand).ok_or(FeedRefusal::TrialWithoutFeed)?;
    let mut facts = Vec::new();
    if stretch.running.is_none() {
        facts.push(Fact::SessionResumed { session });
    }
    let mut leg = stretch.leg();
    if at_hand != Some(feed) {
        facts.push(Fact::LegBegan { session, feed: Some(feed) });
        leg = stretch.legs.len() as u64 + 1;
    }
    facts.push(Fact::TrialBegan(TrialBegan { session, leg, feed, span }));
    Ok(Decision::Facts(facts))
}

fn void(books: &Books, record: u64, reason: &str) -> Result<Decision, Refusal> {
    let known = books.record(record).ok_or(FeedRefusal::UnknownRecord { record })?;
    let ours = matches!(
        known.fact,
        Fact::ArrivalCame(_)
            | Fact::MoneySpent(_)
            | Fact::MinutesSpent { .. }
            | Fact::LotWaited(_)
            | Fact::TrialBegan(_)
            | Fact::TrialEnded(_)
            | Fact::CheckWeighed { .. }
            | Fact::ScaleDisturbed(_)
            | Fact::BinFull(_)
            | Fact::WireSampled(_)
            | Fact::PaymentCame(_)
    );
    if !ours {
        return Err(FeedRefusal::OtherRecord { record }.into());
    }
    if books.voids.contains_key(&record) {
        return Err(FeedRefusal::RecordGone { record }.into());
    }
    Ok(Decision::Facts(vec![Fact::RecordVoided(RecordVoided { record, reason: said(reason)? })]))
}

fn find_feed(books: &Books, feed: Option<&NameRef>) -> Result<Option<FeedId>, Refusal> {
    feed.map(|feed| find_name(&books.feeds, NamedKind::Feed, feed)).transpose()
}

fn counted(pieces: Option<u32>) -> Result<(), Refusal> {
    if pieces == Some(0) { Err(FeedRefusal::NoPieces.into()) } else { Ok(()) }
}

fn worded(depth: Option<&str>) -> Result<Option<String>, Refusal> {
    let Some(depth) = depth else { return Ok(None) };
    let word: String = depth.trim().chars().filter(|c| !c.is_control()).take(DEPTH_MAX).collect();
    if word.is_empty() { Err(FeedRefusal::BlankDepth.into()) } else { Ok(Some(word)) }
}

fn some_time(span: Span) -> Result<(), Refusal> {
    if span == Span::ZERO { Err(FeedRefusal::NoTime.into()) } else { Ok(()) }
}

fn not_below_nothing(amount: Money) -> Result<(), Refusal> {
    if amount.amount.is_sign_negative() { Err(FeedRefusal::NegativeAmount.into()) } else { Ok(()) }
}

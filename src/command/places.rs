//! Orders about places and what the owner tells of feeds beside the pay: marks, full bins, sorting, limits, samples of wire,
//! and the round through the stock.

use super::decide::{Decision, find_bin, find_name, positive, said, unchanged};
use super::{BinRef, Edit, NameRef, NamedKind, Refusal};
use crate::facts::books::FeedMarks;
use crate::facts::{
    BinFull, Books, Fact, FeedMarked, LimitsTold, Mark, Marks, Seen, Set, SortingTold, StockFollowed, StockSeen, TicketId,
    WireSampled,
};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;

/// More places than this is a slip of the keyboard.
const PLACES_MAX: u32 = 500;

/// There are no more minutes in a month.
const MONTH: Span = Span::seconds(31 * 24 * 3600);

#[derive(Debug, Clone, PartialEq)]
pub enum PlaceOrder {
    /// Marks a feed; what is none is left as it is.
    MarkFeed { feed: NameRef, strain: Option<Mark>, mess: Option<Mark>, space: Option<Mark>, veto: Set<String>, edit: Edit },
    /// The bin is full.
    TapFull { bin: BinRef },
    /// How much more time a month sorting this grade out takes; none takes it back.
    TellSorting { grade: NameRef, a_month: Option<Span> },
    /// What an hour must bring, and how many places the bench has.
    TellLimits { floor: Set<Money>, places: Set<u32>, edit: Edit },
    /// Wire was weighed, stripped, and its metal weighed.
    SampleWire { feed: NameRef, metal: NameRef, insulated: Mass, bare: Mass, division: Mass, span: Option<Span>, day: Date },
    /// On a round: what is seen in a bin of what is booked.
    SeeStock { bin: BinRef, seen: Seen },
    /// The books follow the last look into the bin.
    FollowStock { bin: BinRef },
    /// The bin was not emptied or tipped after all.
    TakeEmptyingBack { bin: BinRef, reason: String },
}

/// Why such an order is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaceRefusal {
    /// A month has no more time than that.
    LongerThanAMonth,
    NegativeFloor,
    PlacesOutOfRange,
    /// More metal than wire.
    MoreThanWentIn,
    NoTime,
    /// No look into this bin waits for an answer.
    NothingToFollow {
        number: u32,
    },
    /// It holds the fill that it began with.
    NeverEmptied {
        number: u32,
    },
    /// It went with a run, and that is what must be taken back.
    WentWithRun {
        number: u32,
        run: u64,
    },
    /// A ticket that stands has all of it.
    SoldOnTicket {
        number: u32,
        ticket: TicketId,
    },
    /// What came in since is of another grade.
    RegradedSince {
        number: u32,
    },
    /// It was tipped into another bin, and has gone on from there.
    GoneOn {
        number: u32,
    },
    /// What was tipped over from this bin: void, it would lie nowhere.
    TippedOver {
        from: u32,
    },
}

impl From<PlaceRefusal> for Refusal {
    fn from(refusal: PlaceRefusal) -> Refusal {
        Refusal::Places(refusal)
    }
}

pub(super) fn decide(books: &Books, order: &PlaceOrder) -> Result<Decision, Refusal> {
    let one = |fact: Fact| Ok::<_, Refusal>(Decision::Facts(vec![fact]));
    match order {
        PlaceOrder::MarkFeed { feed, strain, mess, space, veto, edit } => {
            let feed = find_name(&books.feeds, NamedKind::Feed, feed)?;
            let FeedMarks { marks: before, changed } = books.marks.get(&feed).cloned().unwrap_or_default();
            unchanged(*edit, changed)?;
            let veto = match veto {
                Set::Keep => before.veto.clone(),
                Set::To(reason) => reason.as_deref().map(said).transpose()?,
            };
            let (strain, mess) = (strain.unwrap_or(before.strain), mess.unwrap_or(before.mess));
            let marks = Marks { strain, mess, space: space.unwrap_or(before.space), veto };
            if marks == before && changed > 0 {
                return Ok(Decision::Already(changed));
            }
            one(Fact::FeedMarked(Box::new(FeedMarked { feed, marks })))
        }
        PlaceOrder::TapFull { bin } => {
            let (id, state) = find_bin(books, *bin)?;
            if let Some(tap) = books.full_tap(state.fill) {
                return Ok(Decision::Already(tap.seq));
            }
            let holds = books.fills.get(&state.fill).is_some_and(|fill| fill.mass > Mass::ZERO);
            if !holds {
                return Err(Refusal::NothingInBin { number: bin.0 });
            }
            one(Fact::BinFull(BinFull { bin: id, fill: state.fill }))
        }
        PlaceOrder::TellSorting { grade, a_month } => {
            let grade = find_name(&books.grades, NamedKind::Grade, grade)?;
            if a_month.is_some_and(|span| span > MONTH) {
                return Err(PlaceRefusal::LongerThanAMonth.into());
            }
            one(Fact::SortingTold(SortingTold { grade, a_month: *a_month }))
        }
        PlaceOrder::TellLimits { floor, places, edit } => {
            unchanged(*edit, books.limits.changed)?;
            if matches!(floor, Set::To(Some(floor)) if floor.amount.is_sign_negative()) {
                return Err(PlaceRefusal::NegativeFloor.into());
            }
            if matches!(places, Set::To(Some(places)) if !(1..=PLACES_MAX).contains(places)) {
                return Err(PlaceRefusal::PlacesOutOfRange.into());
            }
            if floor.is_keep() && places.is_keep() {
                return Ok(Decision::Already(books.limits.changed));
            }
            one(Fact::LimitsTold(LimitsTold { floor: floor.clone(), places: places.clone() }))
        }
        PlaceOrder::SampleWire { feed, metal, insulated, bare, division, span, day } => {
            [*insulated, *bare, *division].into_iter().try_for_each(positive)?;
            if bare > insulated {
                return Err(PlaceRefusal::MoreThanWentIn.into());
            }
            if *span == Some(Span::ZERO) {
                return Err(PlaceRefusal::NoTime.into());
            }
            one(Fact::WireSampled(Box::new(WireSampled {
                feed: find_name(&books.feeds, NamedKind::Feed, feed)?,
                metal: find_name(&books.grades, NamedKind::Grade, metal)?,
                insulated: *insulated,
                bare: *bare,
                division: *division,
                span: *span,
                day: *day,
            })))
        }
        PlaceOrder::SeeStock { bin, seen } => {
            let (id, state) = find_bin(books, *bin)?;
            let booked = books.fills.get(&state.fill).map_or(Mass::ZERO, |fill| fill.mass);
            // Of nothing no part can be gone.
            if *seen != Seen::Right && booked <= Mass::ZERO {
                return Err(Refusal::NothingInBin { number: bin.0 });
            }
            one(Fact::StockSeen(StockSeen { bin: id, fill: state.fill, booked, seen: *seen }))
        }
        PlaceOrder::FollowStock { bin } => follow(books, *bin),
        PlaceOrder::TakeEmptyingBack { bin, reason } => super::emptying::take_back(books, *bin, reason),
    }
}

/// What was found empty is emptied, and a new fill begins; of the rest the part that is gone is taken off. What came after
/// the look is left in.
fn follow(books: &Books, number: BinRef) -> Result<Decision, Refusal> {
    let (bin, _) = find_bin(books, number)?;
    let look = books.open_look(bin).ok_or(PlaceRefusal::NothingToFollow { number: number.0 })?;
    let (gone, low, high) = look.seen.gone(look.booked).ok_or(PlaceRefusal::NothingToFollow { number: number.0 })?;
    let now = books.fills.get(&look.fill).map_or(Mass::ZERO, |fill| fill.mass);
    if look.seen == Seen::Emptied && now == look.booked {
        let reason = "found empty on a round through the stock".to_owned();
        return Ok(Decision::Facts(vec![Fact::BinEmptied { bin, fill: look.fill, reason }]));
    }
    Ok(Decision::Facts(vec![Fact::StockFollowed(StockFollowed { look: look.seq, bin, fill: look.fill, gone, low, high })]))
}

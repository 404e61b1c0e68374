//! Wire: what of it is metal, by weighed samples, and what stripping gains over selling it as it is.

use super::market::Market;
use crate::economy::weighed::Weighed;
use crate::economy::wire::{BadSample, Pace, Recovery, Sample, Stripping, WirePrices, recovery, stripping};
use crate::facts::{Books, BuyerId, Fact, FeedId, GradeId, WireSampled};
use crate::measure::{Currency, Mass, Money, Span, Variance};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

#[derive(Debug, Clone)]
pub struct WireQuestion {
    /// Samples and quotes up to this day.
    pub day: Date,
    pub stale_after: u16,
    /// Taken where any quote is in it.
    pub currency: Currency,
    /// The prices of this buyer alone.
    pub buyer: Option<BuyerId>,
    /// What an hour must bring, where it is asked anew.
    pub floor: Option<Decimal>,
    /// What it costs to be rid of a kilogram of insulation; none where nobody has said.
    pub disposal: Option<Decimal>,
    /// "I would have left it": wire that nobody buys as it is would bring nothing, by the owner's word.
    pub left: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct WireReport {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    pub currency: Currency,
    /// None where nobody has said: then an hour must bring nothing.
    pub floor: Option<Decimal>,
    pub disposal: Option<Decimal>,
    /// By what an hour of stripping gains, the most first.
    pub kinds: Vec<WireKind>,
    /// Newest first, those that were taken back with them.
    pub samples: Vec<WireLine>,
}

/// One kind of wire and its metal.
#[derive(Debug, Clone, PartialEq)]
pub struct WireKind {
    pub feed: String,
    pub metal: String,
    pub samples: usize,
    pub timed: usize,
    pub insulated: Mass,
    pub bare: Mass,
    pub recovery: Result<Recovery, BadSample>,
    /// Wire worked in an hour, from the timed samples.
    pub pace: Option<Pace>,
    pub prices: Result<WirePriced, WireUnpriced>,
    /// None without prices.
    pub stripping: Option<Stripping>,
}

/// Both at the first price of one buyer, with what is taken off the weight already off.
#[derive(Debug, Clone, PartialEq)]
pub struct WirePriced {
    pub buyer: String,
    /// None where it would have been left.
    pub insulated: Option<Decimal>,
    pub bare: Decimal,
    /// One of the two is stale.
    pub stale: bool,
}

/// Why there is no comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WireUnpriced {
    /// Nobody has a quote for the metal.
    NoMetal,
    /// Somebody buys the metal, and nobody of them the wire as it is: a quote for a grade of the feed's name.
    NoWire,
}

/// A sample.
#[derive(Debug, Clone, PartialEq)]
pub struct WireLine {
    pub record: u64,
    pub day: Date,
    pub feed: String,
    pub metal: String,
    pub insulated: Mass,
    pub bare: Mass,
    pub division: Mass,
    pub span: Option<Span>,
    pub voided: bool,
}

pub fn wire(books: &Books, question: &WireQuestion) -> WireReport {
    let market = Market::of(books, question.day, question.currency, question.stale_after, question.buyer);
    let told = books.limits.floor.filter(|floor| floor.currency == market.currency).map(|floor| floor.amount);
    let floor = question.floor.or(told);
    let mut by_kind: BTreeMap<(FeedId, GradeId), Vec<&WireSampled>> = BTreeMap::new();
    for record in books.standing_records() {
        if let Fact::WireSampled(sample) = &record.fact
            && sample.day <= question.day
        {
            by_kind.entry((sample.feed, sample.metal)).or_default().push(sample);
        }
    }
    let mut kinds: Vec<WireKind> =
        by_kind.into_iter().map(|((feed, metal), samples)| kind(&market, question, floor, (feed, metal), &samples)).collect();
    let gain = |kind: &WireKind| kind.stripping.and_then(|known| known.per_hour).map(|hour| hour.gain);
    kinds.sort_by(|a, b| gain(b).cmp(&gain(a)).then_with(|| (&a.feed, &a.metal).cmp(&(&b.feed, &b.metal))));
    WireReport {
        seq: books.seq,
        day: question.day,
        currency: market.currency,
        floor,
        disposal: question.disposal,
        kinds,
        samples: lines(books, question.day),
    }
}

fn kind(
    market: &Market,
    question: &WireQuestion,
    floor: Option<Decimal>,
    (feed, metal): (FeedId, GradeId),
    samples: &[&WireSampled],
) -> WireKind {
    let books = market.books();
    let weighed = |mass: Mass, division: Mass| Weighed { mass, variance: Variance::of_difference(division) };
    let pairs: Vec<Sample> = samples
        .iter()
        .map(|sample| Sample {
            insulated: weighed(sample.insulated, sample.division),
            bare: weighed(sample.bare, sample.division),
        })
        .collect();
    let timed: Vec<(Mass, Span)> = samples.iter().filter_map(|sample| Some((sample.insulated, sample.span?))).collect();
    let pace = (!timed.is_empty()).then(|| Pace {
        wire: timed.iter().map(|(wire, _)| *wire).sum(),
        hands_on: timed.iter().fold(Span::ZERO, |sum, (_, span)| sum.plus(*span)),
    });
    let name = books.feeds.get(&feed).map(|feed| feed.name.clone()).unwrap_or_default();
    let recovered = recovery(&pairs);
    let prices = prices(market, &name, metal, question.left);
    let stripped = recovered.as_ref().ok().zip(prices.as_ref().ok()).and_then(|(recovered, prices)| {
        let compared = WirePrices {
            currency: market.currency,
            insulated: prices.insulated.unwrap_or_default(),
            bare: prices.bare,
            disposal: question.disposal.unwrap_or_default(),
        };
        let floor = Money { amount: floor.unwrap_or_default(), currency: market.currency };
        stripping(recovered, compared, pace, floor)
    });
    WireKind {
        feed: name,
        metal: books.grades.get(&metal).map(|grade| grade.name.clone()).unwrap_or_default(),
        samples: samples.len(),
        timed: timed.len(),
        insulated: samples.iter().map(|sample| sample.insulated).sum(),
        bare: samples.iter().map(|sample| sample.bare).sum(),
        recovery: recovered,
        pace,
        prices,
        stripping: stripped,
    }
}

/// Of the buyers who take both, the one who pays most for the metal; where the wire would have been left, of all.
fn prices(market: &Market, feed: &str, metal: GradeId, left: bool) -> Result<WirePriced, WireUnpriced> {
    let same = |name: &str| name.trim().to_lowercase() == feed.trim().to_lowercase();
    let as_it_is = market.books().grades.iter().find(|(_, grade)| !grade.retired && same(&grade.name)).map(|(id, _)| *id);
    let both = |buyer: BuyerId| {
        let bare = market.first_price(metal, buyer)?.price.amount;
        let wire = as_it_is.and_then(|grade| market.first_price(grade, buyer)).map(|wire| wire.price.amount);
        Some((buyer, wire, bare))
    };
    let found: Vec<_> = market.buyers().into_iter().filter_map(both).collect();
    let dearest = |found: Vec<(BuyerId, Option<Decimal>, Decimal)>| found.into_iter().max_by_key(|(.., bare)| *bare);
    let with_wire = dearest(found.iter().copied().filter(|(_, wire, _)| wire.is_some()).collect());
    let (buyer, insulated, bare) = match (with_wire, dearest(found)) {
        (Some(both), _) => both,
        (None, None) => return Err(WireUnpriced::NoMetal),
        (None, Some(bare)) if left => bare,
        (None, Some(_)) => return Err(WireUnpriced::NoWire),
    };
    let stale = |grade: GradeId| market.is_stale(grade, buyer);
    let stale = stale(metal) || (insulated.is_some() && as_it_is.is_some_and(stale));
    Ok(WirePriced { buyer: market.buyer_name(buyer), insulated, bare, stale })
}

fn lines(books: &Books, day: Date) -> Vec<WireLine> {
    let line = |record: &crate::facts::books::Record| match &record.fact {
        Fact::WireSampled(sample) if sample.day <= day => Some(WireLine {
            record: record.seq,
            day: sample.day,
            feed: books.feeds.get(&sample.feed).map(|feed| feed.name.clone()).unwrap_or_default(),
            metal: books.grades.get(&sample.metal).map(|grade| grade.name.clone()).unwrap_or_default(),
            insulated: sample.insulated,
            bare: sample.bare,
            division: sample.division,
            span: sample.span,
            voided: books.voids.contains_key(&record.seq),
        }),
        _ => None,
    };
    books.records.iter().rev().filter_map(line).collect()
}

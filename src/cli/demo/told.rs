//! What the invented person told beside the scale: lots, arrivals, money and minutes.

use super::plan::{ArrivalPlan, Plan, SessionPlan};
use super::seed::Days;
use crate::cli::offline::Offline;
use crate::command::{Arriving, FeedOrder, NameRef, Order};
use crate::facts::{LotId, Set, Source, SpendingSort};
use crate::measure::{Currency, Mass, Money, Price, Span, Stamp};
use crate::render::feed_words::{part_of, sort_of};
use anyhow::Context;
use jiff::civil::Date;

fn euro(amount: &str) -> anyhow::Result<Money> {
    Ok(Money { amount: Price::amount(amount)?, currency: Currency::parse("EUR").context("EUR")? })
}

/// Books what came in and went out, and gives the numbers of the arrivals in their order.
pub fn outlays(bench: &mut Offline, plan: &Plan, days: &Days, at: Stamp) -> anyhow::Result<Vec<u64>> {
    let mut arrivals = Vec::new();
    for came in &plan.arrivals {
        bench.order(Order::Feeds(FeedOrder::Arrive(arriving(came, days)?)), at)?;
        arrivals.push(bench.books().seq);
    }
    for spent in &plan.spendings {
        let order = FeedOrder::Spend {
            sort: sort_of(&spent.sort).with_context(|| format!("{:?} is no sort of spending", spent.sort))?,
            what: spent.what.clone(),
            day: days.day(spent.days_ago)?,
            amount: euro(&spent.amount)?,
            buyer: None,
            feed: None,
            lot: None,
        };
        bench.order(Order::Feeds(order), at)?;
    }
    for minutes in &plan.minutes {
        let order = FeedOrder::SpendMinutes {
            part: part_of(&minutes.sort).with_context(|| format!("{:?} is no part of the job", minutes.sort))?,
            what: minutes.what.clone(),
            span: Span::seconds(60 * minutes.minutes),
            day: days.day(minutes.days_ago)?,
        };
        bench.order(Order::Feeds(order), at)?;
    }
    Ok(arrivals)
}

fn arriving(came: &ArrivalPlan, days: &Days) -> anyhow::Result<Arriving> {
    Ok(Arriving {
        from: came.from.clone(),
        day: days.day(came.days_ago)?,
        what: came.what.clone(),
        feed: came.feed.clone().map(NameRef),
        mass: came.mass,
        pieces: came.pieces,
        paid: Some(euro(&came.paid)?),
        span: Some(Span::seconds(60 * came.minutes)),
        distance_km: Some(Price::amount(&came.distance_km)?),
    })
}

/// The lot of a session, where it has one.
pub struct Lot<'a> {
    pub session: &'a SessionPlan,
    pub arrivals: &'a [u64],
    pub day: Date,
}

impl Lot<'_> {
    pub fn open(&self, bench: &mut Offline, at: Stamp) -> anyhow::Result<()> {
        let Some(plan) = &self.session.lot else { return Ok(()) };
        let order = FeedOrder::OpenLot {
            feed: NameRef(self.session.feed.clone()),
            mass: Some((plan.mass, Source::HangingScale { division: Mass::grams(10) })),
            pieces: Some(plan.pieces),
            depth: plan.depth.clone(),
            bin: None,
            reason: "weighed in a sack".to_owned(),
        };
        bench.order(Order::Feeds(order), at)
    }

    /// Tells what belongs to the lot, and that it is worked off.
    pub fn close(&self, bench: &mut Offline, at: Stamp) -> anyhow::Result<()> {
        let Some(plan) = &self.session.lot else { return Ok(()) };
        let lot: LotId = *bench.books().lots.keys().next_back().context("the lot of this session is not there")?;
        let (what, span) = (plan.what.clone(), Span::seconds(60 * plan.minutes));
        bench.order(Order::SpendMinutes { what, span, day: self.day, session: None, lot: Some(lot) }, at)?;
        if let Some((amount, what)) = &plan.used {
            let (sort, what, amount) = (SpendingSort::Consumables, what.clone(), euro(amount)?);
            let order = FeedOrder::Spend { sort, what, day: self.day, amount, buyer: None, feed: None, lot: Some(lot) };
            bench.order(Order::Feeds(order), at)?;
        }
        if let Some((minutes, what)) = &plan.waited {
            let (what, span) = (what.clone(), Span::seconds(60 * minutes));
            let order = FeedOrder::WaitForLot { lot, what, span, day: self.day, clock_ran: false };
            bench.order(Order::Feeds(order), at)?;
        }
        if let Some(arrival) = plan.arrival {
            let arrival = *self.arrivals.get(arrival).context("the plan has no such arrival")?;
            let (depth, pieces, edit) = (Set::Keep, Set::Keep, crate::command::Edit::default());
            let order = FeedOrder::DescribeLot { lot, depth, pieces, arrival: Set::To(Some(arrival)), edit };
            bench.order(Order::Feeds(order), at)?;
        }
        bench.order(Order::CloseLot { lot }, at)
    }
}

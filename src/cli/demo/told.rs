//! What the invented person told beside the scale: lots, arrivals, money and minutes.

use super::plan::{ArrivalPlan, Plan, SessionPlan};
use super::seed::Days;
use crate::cli::offline::Offline;
use crate::command::{Arriving, FeedOrder, NameRef, Order, PlaceOrder, PriceOrder, TripOrder};
use crate::facts::{Hold, LotId, OpenDays, Set, Source, SpendingSort};
use crate::measure::{Currency, Distance, DistanceUnit, Mass, Money, Price, Running, Span, Stamp};
use crate::render::feed_words::{part_of, sort_of};
use anyhow::Context;
use jiff::civil::Date;

pub fn euro(amount: &str) -> anyhow::Result<Money> {
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
    /// Does what the person says at the bench.
    pub fn hear(&self, bench: &mut Offline, words: &str, at: Stamp) -> anyhow::Result<()> {
        match words {
            "start" => {
                bench.obey(&format!("start {}", self.session.feed), at)?;
                self.open(bench, at)
            }
            "end" => {
                self.close(bench, at)?;
                bench.obey(words, at)
            }
            _ => bench.obey(words, at),
        }
    }

    fn open(&self, bench: &mut Offline, at: Stamp) -> anyhow::Result<()> {
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
    fn close(&self, bench: &mut Offline, at: Stamp) -> anyhow::Result<()> {
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

/// What the person says of grades, feeds, buyers and the bench, once and for all.
pub fn notes(bench: &mut Offline, plan: &Plan, days: &Days, at: Stamp) -> anyhow::Result<()> {
    let edit = crate::command::Edit::default;
    for told in &plan.payouts {
        let (buyer, payout) = (NameRef(told.buyer.clone()), told.payout);
        bench.order(Order::Prices(PriceOrder::TellBuyer { buyer, payout, edit: edit() }), at)?;
    }
    for told in &plan.words {
        let (buyer, grade) = (NameRef(told.buyer.clone()), Some(NameRef(told.grade.clone())));
        bench.order(Order::Prices(PriceOrder::TellWord { buyer, word: told.word.clone(), grade }), at)?;
    }
    for note in &plan.notes {
        let (grade, fallback) = (NameRef(note.grade.clone()), Set::To(Some(NameRef(note.fallback.clone()))));
        let told = PriceOrder::TellGrade { grade: grade.clone(), fallback, specification: Set::Keep, edit: edit() };
        bench.order(Order::Prices(told), at)?;
        let a_month = Some(Span::seconds(60 * note.sorting));
        bench.order(Order::Places(PlaceOrder::TellSorting { grade, a_month }), at)?;
    }
    let (floor, places) = (Set::To(Some(euro(&plan.limits.floor)?)), Set::To(Some(plan.limits.places)));
    bench.order(Order::Places(PlaceOrder::TellLimits { floor, places, edit: edit() }), at)?;
    for mark in &plan.marks {
        let order = PlaceOrder::MarkFeed {
            feed: NameRef(mark.feed.clone()),
            strain: Some(mark.strain),
            mess: Some(mark.mess),
            space: Some(mark.space),
            veto: Set::To(mark.veto.clone()),
            edit: edit(),
        };
        bench.order(Order::Places(order), at)?;
    }
    for yard in &plan.yards {
        let order = TripOrder::TellYard {
            buyer: NameRef(yard.buyer.clone()),
            distance: Some(Distance::parse(&yard.distance).with_context(|| format!("{:?} is no distance", yard.distance))?),
            minutes: Some(yard.minutes),
            minutes_there: Some(yard.minutes_there),
            open: Set::To(Some(OpenDays::of(yard.open.iter().map(String::as_str)).context("a day is no weekday")?)),
            closed: None,
            edit: edit(),
        };
        bench.order(Order::Trips(order), at)?;
    }
    let running = Running { money: euro(&plan.vehicle.running)?, per: DistanceUnit::Kilometre };
    let vehicle = TripOrder::TellVehicle {
        payload: Set::To(Some(plan.vehicle.payload)),
        litres: Set::To(Some(plan.vehicle.litres)),
        bins: Set::Keep,
        running: Set::To(Some(running)),
        edit: edit(),
    };
    bench.order(Order::Trips(vehicle), at)?;
    for hold in &plan.holds {
        let price = Price::parse(&hold.at, Currency::parse("EUR").context("EUR")?)?;
        let hold_back = Hold { at: price, by: Some(days.day(-hold.days)?), from: None };
        let order = TripOrder::TellHold { grade: NameRef(hold.grade.clone()), hold: Some(hold_back), edit: edit() };
        bench.order(Order::Trips(order), at)?;
    }
    for wire in &plan.wires {
        let order = PlaceOrder::SampleWire {
            feed: NameRef(wire.feed.clone()),
            metal: NameRef(wire.metal.clone()),
            insulated: wire.insulated,
            bare: wire.bare,
            division: wire.division,
            span: Some(Span::seconds(wire.seconds)),
            day: days.day(wire.days_ago)?,
        };
        bench.order(Order::Places(order), at)?;
    }
    Ok(())
}

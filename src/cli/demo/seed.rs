//! Works the invented weeks through the real chain, faster than real time, into a store.

use super::bench::Bench;
use super::plan::{CheckPlan, FullPlan, LookPlan, Plan, RunPlan, SessionPlan};
use super::told::{self, Lot};
use super::trip;
use crate::cli::offline::Offline;
use crate::clock::Clock;
use crate::command::{BenchSetup, BinRef, CheckOrder, NameRef, Order, PlaceOrder, Quoting};
use crate::dialect::{Options, Stream};
use crate::facts::{BenchId, KnownWeight, Source};
use crate::measure::{Currency, Mass, Moment, Rate, Span, Stamp};
use crate::settle::Manner;
use crate::sim::{Scale, Script, Setup, What};
use crate::store::{self, RealDisk, Store};
use anyhow::Context;
use jiff::civil::{Time, time};
use jiff::tz::TimeZone;
use std::path::Path;
use std::sync::Arc;

const TICK: Span = Span::millis(100);

/// Founds a store in `directory` with the weeks in it, and gives the bench as they left it.
///
/// `scale` is the port that the live scale will have: it is the one scale of all these weeks, so that what was found of its
/// error holds on.
pub fn week(plan: &Plan, directory: &Path, scale: &Path, clock: Clock) -> anyhow::Result<Bench> {
    let days = Days { now: clock.now(), zone: TimeZone::system() };
    let store = store::Setup { zone: days.zone.clone(), ..store::Setup::default() };
    let mut opening = Store::open_with(directory, Arc::new(RealDisk), &store, &mut |_| {})?;
    let first = days.at(DAYS, time(9, 0, 0, 0))?;
    let setup = BenchSetup { id: BenchId(1), division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap, capacity: None };
    let mut offline = Offline::new(opening.store.store_id(), setup, first)?;
    set_up(&mut offline, plan, &days, first)?;
    told::notes(&mut offline, plan, &days, first)?;
    let arrivals = told::outlays(&mut offline, plan, &days, first)?;
    let mut bench = Bench::new(plan);
    let scale = scale.display().to_string();
    for (days_ago, at, deed) in agenda(plan) {
        let (start, day) = (days.at(days_ago, at)?, days.day(days_ago)?);
        match deed {
            Deed::Session(session) => {
                let script = bench.stretch(&session.feed, &session.work, session.seed);
                let lot = Lot { session, arrivals: &arrivals, day };
                work(&mut offline, &scale, script, session.seed, start, &mut |bench, words, at| lot.hear(bench, words, at))?;
            }
            Deed::Check(check) => {
                let weight = KnownWeight { nominal: check.nominal, within: Some(check.within), source: check.source.clone() };
                let (script, seed) = (Bench::checked(check.felt, days_ago.unsigned_abs()), days_ago.unsigned_abs());
                work(&mut offline, &scale, script, seed, start, &mut |bench, _, at| {
                    bench.order(Order::Checks(CheckOrder::Ask { weight: weight.clone() }), at)
                })?;
            }
            Deed::Full(full) => offline.order(Order::Places(PlaceOrder::TapFull { bin: BinRef(full.bin) }), start)?,
            Deed::Look(look) => {
                offline.order(Order::Places(PlaceOrder::SeeStock { bin: BinRef(look.bin), seen: look.seen }), start)?;
            }
            Deed::Run(run) => {
                trip::drive(&mut offline, run, day, start)?;
                run.lines.iter().for_each(|line| bench.emptied(line.bin));
            }
        }
    }
    // All at once: each append waits for the disk.
    opening.store.append(&offline.recorded())?;
    opening.store.barrier();
    Ok(bench)
}

/// Before the first of them the bench is set up; all that happens in the invented weeks lies behind it.
const DAYS: i64 = 42;

/// What happens on a day of the invented weeks.
enum Deed<'a> {
    Session(&'a SessionPlan),
    Check(&'a CheckPlan),
    Full(&'a FullPlan),
    Look(&'a LookPlan),
    Run(&'a RunPlan),
}

/// All of it in order, with the days ago and the local time. Only a session says when on its day it was.
fn agenda(plan: &Plan) -> Vec<(i64, Time, Deed<'_>)> {
    let sessions = plan.sessions.iter().map(|session| (session.days_ago, session.at, Deed::Session(session)));
    let checks = plan.checks.iter().map(|check| (check.days_ago, time(7, 0, 0, 0), Deed::Check(check)));
    let looks = plan.looks.iter().map(|look| (look.days_ago, time(12, 0, 0, 0), Deed::Look(look)));
    let fulls = plan.fulls.iter().map(|full| (full.days_ago, time(14, 0, 0, 0), Deed::Full(full)));
    let runs = plan.runs.iter().map(|run| (run.days_ago, time(15, 0, 0, 0), Deed::Run(run)));
    let mut agenda: Vec<_> = sessions.chain(checks).chain(looks).chain(fulls).chain(runs).collect();
    agenda.sort_by_key(|(days_ago, at, _)| (-days_ago, *at));
    agenda
}

/// The days of the weeks, counted back from now.
pub(super) struct Days {
    now: Stamp,
    zone: TimeZone,
}

impl Days {
    /// A local time so many days ago. The clock of the invented weeks starts long before this boot's, so it runs as a
    /// boot of its own.
    fn at(&self, days_ago: i64, time: Time) -> anyhow::Result<Stamp> {
        let day = self.day(days_ago)?;
        let wall = self.zone.to_timestamp(day.to_datetime(time))?;
        let before = self.now.wall.as_nanosecond() - wall.as_nanosecond();
        // So many days and one lie before every moment of the weeks.
        let mono = Span::seconds((DAYS.unsigned_abs() + 1) * 86_400).0.saturating_sub(u64::try_from(before).unwrap_or(0));
        let boot = crate::measure::BootId(self.now.boot.0 ^ 1);
        Ok(Stamp { boot, mono: Moment(mono), wall, trusted: true })
    }

    pub(super) fn day(&self, days_ago: i64) -> anyhow::Result<jiff::civil::Date> {
        let today = self.zone.to_datetime(self.now.wall).date();
        Ok(today.checked_sub(jiff::Span::new().days(days_ago))?)
    }
}

fn later(at: Stamp, span: Span) -> Stamp {
    let nanos = jiff::SignedDuration::from_nanos(i64::try_from(span.0).unwrap_or(i64::MAX));
    Stamp { mono: at.mono.plus(span), wall: at.wall.saturating_add(nanos).unwrap_or(at.wall), ..at }
}

/// The names, bins and prices.
fn set_up(bench: &mut Offline, plan: &Plan, days: &Days, at: Stamp) -> anyhow::Result<()> {
    for name in &plan.grades {
        bench.order(Order::MakeGrade { name: name.clone() }, at)?;
    }
    for name in &plan.feeds {
        bench.order(Order::MakeFeed { name: name.clone() }, at)?;
    }
    for name in &plan.buyers {
        bench.order(Order::MakeBuyer { name: name.clone() }, at)?;
    }
    for bin in &plan.bins {
        let order = Order::MakeBin {
            number: Some(bin.number),
            name: Some(bin.name.clone()),
            grade: Some(NameRef(bin.grade.clone())),
            tare: bin.tare,
            capacity: bin.capacity,
        };
        bench.order(order, at)?;
    }
    for stock in &plan.stocks {
        let source = Source::HangingScale { division: Mass::grams(10) };
        let order = Order::OpeningStock { bin: BinRef(stock.bin), mass: stock.mass, source, reason: stock.reason.clone() };
        bench.order(order, at)?;
    }
    let currency = Currency::parse("EUR").context("EUR")?;
    for quote in &plan.quotes {
        let order = Order::GiveQuote(Quoting {
            buyer: NameRef(quote.buyer.clone()),
            grade: NameRef(quote.grade.clone()),
            rate: Rate::parse(&quote.price, currency)?,
            day: days.day(quote.days_ago)?,
            stale_after: None,
            breaks: Vec::new(),
            minimum: quote.minimum,
            deduction: None,
        });
        bench.order(order, at)?;
    }
    Ok(())
}

/// One script, frame by frame, as the daemon would see it; `hear` does what the person says.
fn work(
    bench: &mut Offline,
    scale: &str,
    script: Script,
    seed: u64,
    start: Stamp,
    hear: &mut dyn FnMut(&mut Offline, &str, Stamp) -> anyhow::Result<()>,
) -> anyhow::Result<()> {
    let setup = Setup::default();
    let mut stream = Stream::new(setup.dialect, Options::default());
    let end = later(start, Span(script.end().0));
    bench.plug(scale, start)?;
    let mut ticked = Moment::default();
    let mut readings = Vec::new();
    for frame in Scale::new(setup, script, seed)? {
        let at = later(start, Span(frame.at.0));
        while frame.at.since(ticked) >= TICK {
            ticked = ticked.plus(TICK);
            bench.tick(later(start, Span(ticked.0)))?;
        }
        match frame.what {
            What::Sent { bytes, .. } => {
                stream.push(&bytes, &mut |reading| readings.push(reading));
                for reading in readings.drain(..) {
                    bench.reading(reading, at)?;
                }
            }
            What::Control(words) => hear(bench, &words, at)?,
            What::Held { .. } | What::Unplugged | What::Plugged => {}
        }
    }
    bench.unplug(end)
}

//! Works the invented week through the real chain, faster than real time, into a store.

use super::bench::Bench;
use super::plan::Plan;
use super::told::{self, Lot};
use crate::cli::offline::Offline;
use crate::clock::Clock;
use crate::command::{BenchSetup, BinRef, NameRef, Order, Quoting};
use crate::dialect::{Options, Stream};
use crate::facts::{BenchId, Source};
use crate::measure::{Currency, Mass, Moment, Rate, Span, Stamp};
use crate::settle::Manner;
use crate::sim::{Scale, Script, Setup, What};
use crate::store::{self, RealDisk, Store};
use anyhow::Context;
use jiff::tz::TimeZone;
use std::path::Path;
use std::sync::Arc;

const TICK: Span = Span::millis(100);

/// Founds a store in `directory` with the week in it, and gives the bench as the week left it.
pub fn week(plan: &Plan, directory: &Path, clock: Clock) -> anyhow::Result<Bench> {
    let days = Days { now: clock.now(), zone: TimeZone::system() };
    let store = store::Setup { zone: days.zone.clone(), ..store::Setup::default() };
    let mut opening = Store::open_with(directory, Arc::new(RealDisk), &store, &mut |_| {})?;
    let first = days.at(7, jiff::civil::time(9, 0, 0, 0))?;
    let setup = BenchSetup { id: BenchId(1), division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap, capacity: None };
    let mut offline = Offline::new(opening.store.store_id(), setup, first)?;
    set_up(&mut offline, plan, &days, first)?;
    let arrivals = told::outlays(&mut offline, plan, &days, first)?;
    let mut bench = Bench::new(plan);
    for session in &plan.sessions {
        let start = days.at(session.days_ago, session.at)?;
        let script = bench.stretch(&session.feed, &session.work, session.seed);
        let lot = Lot { session, arrivals: &arrivals, day: days.day(session.days_ago)? };
        work(&mut offline, script, &lot, start)?;
    }
    for chunk in offline.recorded().chunks(256) {
        opening.store.append(chunk)?;
    }
    opening.store.barrier();
    Ok(bench)
}

/// The days of the week, counted back from now.
pub(super) struct Days {
    now: Stamp,
    zone: TimeZone,
}

impl Days {
    /// A local time so many days ago. The clock of the invented week starts long before this boot's, so it runs as a
    /// boot of its own.
    fn at(&self, days_ago: i64, time: jiff::civil::Time) -> anyhow::Result<Stamp> {
        let day = self.day(days_ago)?;
        let wall = self.zone.to_timestamp(day.to_datetime(time))?;
        let before = self.now.wall.as_nanosecond() - wall.as_nanosecond();
        // Eight days lie before every moment of the week.
        let mono = Span::seconds(8 * 86_400).0.saturating_sub(u64::try_from(before).unwrap_or(0));
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

/// The names, bins and prices of the week.
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

/// One session, frame by frame, as the daemon would see it.
fn work(bench: &mut Offline, script: Script, lot: &Lot, start: Stamp) -> anyhow::Result<()> {
    let (feed, seed) = (lot.session.feed.as_str(), lot.session.seed);
    let setup = Setup::default();
    let mut stream = Stream::new(setup.dialect, Options::default());
    let end = later(start, Span(script.end().0));
    bench.plug("the demo's simulated scale", start)?;
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
            What::Control(words) if words == "start" => {
                bench.obey(&format!("start {feed}"), at)?;
                lot.open(bench, at)?;
            }
            What::Control(words) if words == "end" => {
                lot.close(bench, at)?;
                bench.obey(&words, at)?;
            }
            What::Control(words) => bench.obey(&words, at)?,
            What::Held { .. } | What::Unplugged | What::Plugged => {}
        }
    }
    bench.unplug(end)
}

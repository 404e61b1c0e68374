//! The invented drives: what was loaded, what the buyer's slip said, and what was paid.

use super::plan::{RunLinePlan, RunPlan};
use super::told::euro;
use crate::cli::offline::Offline;
use crate::command::{BinRef, NameRef, Order, SettingOut, Share, Taking, TakingLine, TicketOrder};
use crate::economy::cash::paid;
use crate::economy::quotes::{MONEY_PLACES, MONEY_RULE};
use crate::facts::{Fact, PayMethod, Payout, TicketId};
use crate::measure::{Currency, Mass, Money, Price, Rounding, Span, Stamp};
use anyhow::Context;
use jiff::civil::Date;
use rust_decimal::Decimal;

/// Drives off with whole bins, takes the ticket, and takes the money where it was paid at once.
pub fn drive(bench: &mut Offline, run: &RunPlan, day: Date, at: Stamp) -> anyhow::Result<()> {
    let currency = Currency::parse("EUR").context("EUR")?;
    let lines: Vec<TakingLine> = run.lines.iter().map(|line| slip(bench, run, line, currency)).collect::<Result<_, _>>()?;
    let total: Decimal = lines.iter().filter_map(|line| line.amount).sum();
    let out = SettingOut {
        day,
        stops: vec![NameRef(run.buyer.clone())],
        loads: run.lines.iter().map(|line| (BinRef(line.bin), None)).collect(),
        distance_km: Some(Price::amount(&run.distance_km)?),
        span: Some(Span::seconds(60 * run.minutes)),
        cost: Some(euro(&run.cost)?),
    };
    order(bench, TicketOrder::SetOut(out), at)?;
    let taking = Taking {
        buyer: NameRef(run.buyer.clone()),
        day,
        number: Some(run.number.clone()),
        run: bench.books().records.iter().rev().find(|record| matches!(record.fact, Fact::RunSetOut(_))).map(|record| record.seq),
        currency,
        passes: Vec::new(),
        division: Some(run.division),
        lines,
        off: Vec::new(),
        total: Some(total),
        due: None,
    };
    order(bench, TicketOrder::Take(vec![taking]), at)?;
    let Some(method) = run.paid else { return Ok(()) };
    let ticket: TicketId = *bench.books().tickets.keys().next_back().context("the ticket is not there")?;
    let payout = payout(bench, &run.buyer);
    let total = Money { amount: total, currency };
    let amount = if method == PayMethod::Cash { paid(total, payout, MONEY_RULE).context("a total")? } else { total };
    order(bench, TicketOrder::Pay { ticket, day, method, amount, fee: None, held: false }, at)
}

fn order(bench: &mut Offline, order: TicketOrder, at: Stamp) -> anyhow::Result<()> {
    bench.order(Order::Tickets(Box::new(order)), at)
}

fn payout(bench: &Offline, buyer: &str) -> Payout {
    let books = bench.books();
    let found = books.buyers.iter().find(|(_, named)| named.name == buyer);
    found.map(|(id, _)| books.payout(*id)).unwrap_or_default()
}

fn slip(bench: &Offline, run: &RunPlan, line: &RunLinePlan, currency: Currency) -> anyhow::Result<TakingLine> {
    let books = bench.books();
    let (_, bin) = books.bin_by_number(line.bin).with_context(|| format!("there is no bin {}", line.bin))?;
    let ours = books.fills.get(&bin.fill).map(|fill| fill.mass).unwrap_or_default();
    let theirs = ours + Mass::grams(line.differs);
    let divisions = Rounding::HalfUp.divide(theirs.femtograms(), run.division.femtograms());
    let net = Mass::from_femtograms(divisions * run.division.femtograms());
    let price = Price::parse(&line.price, currency)?;
    Ok(TakingLine {
        text: line.text.clone(),
        grade: Some(NameRef(line.grade.clone())),
        gross: None,
        tare: None,
        net,
        digit: run.division,
        off: None,
        off_percent: None,
        refused: None,
        price: Some(price),
        amount: price.value(net, MONEY_PLACES, MONEY_RULE).map(|money| money.amount),
        shares: vec![Share { bin: BinRef(line.bin), mass: None, whole: true, weighed: None }],
    })
}

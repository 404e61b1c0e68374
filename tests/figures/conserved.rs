//! Conservation from the scale to the cash: over random seasons that are sold off, every gram that was recorded is in a bin, on
//! a ticket, or in a loss with a name, and every cent of a ticket is in the year.

use super::market::Market;
use super::season::season;
use bismar::facts::books::{HowClosed, Origin};
use bismar::facts::{Books, FillId, LoadWhy};
use bismar::measure::Mass;
use bismar::query::{self, Riddle, TicketQuestion, YearQuestion};
use jiff::civil::date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::collections::BTreeSet;

fn masses_add_up(books: &Books, before: &BTreeSet<FillId>) {
    let tipped =
        |fill| books.fills.get(&fill).is_some_and(|fill| fill.closed.is_some_and(|closed| closed.how != HowClosed::Emptied));
    let in_fills = || books.entries.values().filter(|entry| entry.counts() && entry.fill.is_some_and(|fill| !tipped(fill)));
    let recorded: Mass = in_fills().filter(|entry| !matches!(entry.origin, Origin::Load(_))).map(|entry| entry.mass).sum();
    let named =
        |why: LoadWhy| in_fills().filter(|entry| entry.origin == Origin::Load(why)).map(|entry| -entry.mass).sum::<Mass>();
    let in_bins: Mass = query::bins(books).iter().map(|bin| bin.mass).sum();
    let question = TicketQuestion { today: date(2027, 12, 31), zone: TimeZone::UTC };
    let tickets = query::tickets(books, &question);
    let standing = || tickets.iter().filter(|ticket| !ticket.voided);
    let on_tickets: Mass = standing().flat_map(|ticket| &ticket.lines).flat_map(|line| &line.bins).map(|tied| tied.mass).sum();
    let losses = named(LoadWhy::ScaleDifference) + named(LoadWhy::GivenAway) + named(LoadWhy::SoldUnweighed);
    let emptied = |fill: &bismar::facts::books::Fill| fill.closed.is_some_and(|closed| closed.how == HowClosed::Emptied);
    let gone: Mass = books.fills.values().filter(|fill| emptied(fill)).map(|fill| fill.mass).sum();
    assert_eq!(named(LoadWhy::BroughtHome), Mass::ZERO, "what came home left one fill for another");
    assert_eq!(recorded, in_bins + on_tickets + losses + gone);
    for line in standing().flat_map(|ticket| &ticket.lines) {
        assert!(line.bins.iter().map(|tied| tied.mass).sum::<Mass>() <= line.weighed.delivered, "more is tied than was there");
    }
    // What left on board and is on no ticket is asked, and nothing else of the runs is.
    let asked: Mass = query::riddles(books)
        .iter()
        .map(|riddle| if let Riddle::LoadLeft { mass, .. } = riddle { *mass } else { Mass::ZERO })
        .sum();
    let since = books.fills.iter().filter(|(id, fill)| emptied(fill) && !before.contains(id));
    assert_eq!(asked, since.map(|(_, fill)| fill.mass).sum(), "from here on bins are emptied by runs and tickets alone");
}

fn money_adds_up(books: &Books) {
    let question = YearQuestion { year: 2027, today: date(2027, 12, 31), zone: TimeZone::UTC, stale_after: 30 };
    let year = query::year(books, &question);
    let asked = TicketQuestion { today: question.today, zone: TimeZone::UTC };
    let tickets = query::tickets(books, &asked);
    let standing = || tickets.iter().filter(|ticket| !ticket.voided);
    let totals: Decimal = standing().filter_map(|ticket| ticket.total).map(|total| total.amount).sum();
    let paid: Decimal = standing().map(|ticket| ticket.paid).sum();
    let sum = |rows: &[query::Income]| rows.iter().map(|row| row.amount.amount).sum::<Decimal>();
    assert_eq!((sum(&year.earned), sum(&year.received)), (totals, paid));
    let unpaid: Decimal = year.unpaid.iter().map(|open| open.amount).sum();
    assert_eq!(totals - paid, unpaid);
    let to_lots: Decimal = year.lots.iter().flat_map(|lot| &lot.received).map(|money| money.amount).sum();
    assert!(to_lots <= standing().flat_map(|ticket| &ticket.paper.lines).filter_map(|line| line.amount).sum::<Decimal>());
}

#[test]
fn every_gram_is_somewhere() {
    let (mut taken, mut refused) = (0, 0);
    for seed in 0..4 {
        let dir = tempfile::tempdir().unwrap();
        let books = season(seed, dir.path());
        let before: BTreeSet<FillId> = books.fills.iter().filter(|(_, fill)| fill.closed.is_some()).map(|(id, _)| *id).collect();
        let mut market = Market::over(books, seed);
        for _ in 0..60 {
            market.deed();
            masses_add_up(market.books(), &before);
        }
        money_adds_up(market.books());
        taken += market.taken;
        refused += market.refused;
    }
    assert!(taken > 120 && refused > 0, "{taken} taken, {refused} refused");
}

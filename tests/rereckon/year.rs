//! Tickets and the year, reckoned again: what each slip is paid for and what our scale says of it, and the money by month,
//! buyer and grade, by the day it was earned and the day it came, and back to the lots that it came out of.

use crate::market::Market;
use crate::{compare, python, roll, season};
use bismar::facts::{ArrivalCame, Event, Fact, FeedId, MoneySpent, SpendingSort};
use bismar::measure::{Currency, Money, Span};
use bismar::query::{TicketQuestion, YearQuestion, tickets, year};
use bismar::render::json::{TicketView, YearView};
use jiff::civil::date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use serde_json::{Value, json};

#[test]
fn tickets_and_the_year_come_out_the_same() {
    let Some(python) = python::python() else { return };
    let (mut compared, mut paid) = (0, 0);
    for seed in 1..=5 {
        let dir = tempfile::tempdir().unwrap();
        let mut market = Market::over(season::season(seed, dir.path()), seed);
        for _ in 0..70 {
            market.deed();
        }
        let mut books = market.books().clone();
        let mut events = std::mem::take(&mut market.events);
        for fact in told() {
            let last = events.last().unwrap();
            let event = Event { seq: books.seq + 1, cause: None, fact, ..last.clone() };
            books.apply(&event).unwrap();
            events.push(event);
        }
        let later: String = events.iter().map(|event| serde_json::to_string(event).unwrap() + "\t-\n").collect();
        let said = python::run(&python, "reckon_year.py", &["2027-12-31", "30", "0"], &(roll(dir.path()) + &later));
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        let theirs: Value = serde_json::from_slice(&said.stdout).unwrap();

        let (today, zone) = (date(2027, 12, 31), TimeZone::UTC);
        let asked = YearQuestion { year: 2027, today, zone: zone.clone(), stale_after: 30 };
        let answers = tickets(&books, &TicketQuestion { today, zone });
        let views: Vec<TicketView> = answers.iter().map(TicketView::from).collect();
        let ours = json!({ "year": YearView::from(&year(&books, &asked)), "tickets": views });
        compared += views.iter().filter(|view| view.whole.is_some()).count();
        paid += ours["year"]["received"].as_array().unwrap().len();
        let mut differences = Vec::new();
        compare("", &theirs, &ours, &mut differences);
        assert!(differences.is_empty(), "season {seed}:\n{}", differences.join("\n"));
    }
    assert!(compared > 20 && paid > 20, "{compared} loads compared and {paid} rows paid show little");
}

/// Spending and fetching, of this year and of the one before.
fn told() -> Vec<Fact> {
    let money = |cents| Money { amount: Decimal::new(cents, 2), currency: Currency::parse("EUR").unwrap() };
    let spent = |sort, month, cents| {
        let (what, day) = ("so".to_owned(), date(2027, month, 9));
        Fact::MoneySpent(MoneySpent { sort, what, day, amount: money(cents), buyer: None, feed: None, lot: None })
    };
    let came = |day, span: Option<u64>, distance_km: Option<i64>| {
        Fact::ArrivalCame(Box::new(ArrivalCame {
            from: "a refit".to_owned(),
            day,
            what: "taps".to_owned(),
            feed: None::<FeedId>,
            mass: None,
            pieces: None,
            paid: Some(money(500)),
            span: span.map(Span::seconds),
            distance_km: distance_km.map(|tenths| Decimal::new(tenths, 1)),
        }))
    };
    vec![
        spent(SpendingSort::Fuel, 3, 1250),
        spent(SpendingSort::Consumables, 3, 399),
        spent(SpendingSort::Fuel, 3, 1),
        spent(SpendingSort::Other, 1, 7777),
        came(date(2027, 2, 3), Some(3600), None),
        came(date(2027, 2, 2), None, Some(125)),
        came(date(2027, 2, 1), None, None),
        came(date(2026, 2, 1), Some(60), None),
    ]
}

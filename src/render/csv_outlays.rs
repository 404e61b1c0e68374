//! Arrivals, money and minutes as CSV (RFC 4180).

use super::csv::{text, write};
use super::json::{ArrivalView, SpendingView, TimeView};

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

fn yes(is: bool) -> String {
    if is { "yes".into() } else { "no".into() }
}

pub fn arrivals(lines: &[ArrivalView]) -> String {
    let head = [
        "arrival",
        "day",
        "from",
        "what",
        "feed",
        "kg",
        "lb",
        "pieces",
        "paid",
        "currency",
        "minutes",
        "distance_km",
        "lots",
        "voided",
    ];
    let row = |line: &ArrivalView| {
        let lots: Vec<String> = line.lots.iter().map(u64::to_string).collect();
        vec![
            line.id.to_string(),
            line.day.clone(),
            text(&line.from),
            text(&line.what),
            text(line.feed.as_deref().unwrap_or_default()),
            own(line.mass.as_ref().map(|mass| &mass.kg)),
            own(line.mass.as_ref().map(|mass| &mass.lb)),
            own(line.pieces),
            own(line.paid.as_ref().map(|paid| &paid.amount)),
            own(line.paid.as_ref().map(|paid| &paid.currency)),
            own(line.minutes),
            own(line.distance_km.as_ref()),
            lots.join(" "),
            yes(line.voided),
        ]
    };
    rows(&head, lines.iter().map(row))
}

pub fn spendings(lines: &[SpendingView]) -> String {
    let head = ["spending", "day", "sort", "what", "amount", "currency", "buyer", "feed", "lot", "voided"];
    let row = |line: &SpendingView| {
        vec![
            line.id.to_string(),
            line.day.clone(),
            line.sort.clone(),
            text(&line.what),
            line.amount.amount.clone(),
            line.amount.currency.clone(),
            text(line.buyer.as_deref().unwrap_or_default()),
            text(line.feed.as_deref().unwrap_or_default()),
            own(line.lot),
            yes(line.voided),
        ]
    };
    rows(&head, lines.iter().map(row))
}

pub fn times(lines: &[TimeView]) -> String {
    let head = ["record", "day", "sort", "what", "minutes", "lot", "clock_ran", "voided"];
    let row = |line: &TimeView| {
        vec![
            line.id.to_string(),
            line.day.clone(),
            line.sort.clone(),
            text(&line.what),
            line.minutes.to_string(),
            own(line.lot),
            yes(line.clock_ran),
            yes(line.voided),
        ]
    };
    rows(&head, lines.iter().map(row))
}

fn rows(head: &[&str], lines: impl Iterator<Item = Vec<String>>) -> String {
    let head: Vec<String> = head.iter().map(|cell| (*cell).to_owned()).collect();
    write(&std::iter::once(head).chain(lines).collect::<Vec<_>>())
}

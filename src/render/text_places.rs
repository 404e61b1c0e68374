//! The kerb list and the round through the stock, for the terminal.

use super::json::{KerbView, RoundView};
use super::kerb_words::PARTS;
use super::place_words::{marks_line, seen_of, seen_words};
use super::text::{Cell, Table};

pub fn kerb(list: &KerbView) -> String {
    let mut text = format!("At the kerb, {}; {} an hour\n", list.day, list.currency);
    if list.lines.is_empty() {
        text.push_str("\nThere is nothing to choose from; a feed is made with: bismar feed make NAME\n");
    }
    for (code, words) in PARTS {
        let mut lines = list.lines.iter().filter(|line| line.when == code).peekable();
        if lines.peek().is_some() {
            text.push_str(&format!("\n{words}\n"));
        }
        for line in lines {
            let depth = line.depth.as_ref().map(|depth| format!(", to {depth}")).unwrap_or_default();
            let figure = line.adds_per_hour.as_ref().map_or("no figure".to_owned(), |figure| match (&figure.low, &figure.high) {
                (Some(low), Some(high)) => format!("{} ({low} to {high})", figure.value),
                _ => figure.value.clone(),
            });
            text.push_str(&format!("  {}{depth}: {figure}\n    {}\n", line.feed, line.reason));
            if let Some(marks) = marks_line(&super::json::MarksView { veto: None, ..line.marks.clone() }) {
                text.push_str(&format!("    your marks: {marks}\n"));
            }
        }
    }
    text.push_str(&format!("\nPrices: {}.\n", list.prices));
    for note in &list.notes {
        text.push_str(&format!("{note}\n"));
    }
    text
}

pub fn round(round: &RoundView) -> String {
    if round.bins.is_empty() {
        return "There is no bin yet; one is made with: bismar bin make\n".into();
    }
    let mut table = Table::new();
    table.row(vec![
        Cell::right("Bin"),
        Cell::left("Name"),
        Cell::right("Booked kg"),
        Cell::left("Seen"),
        Cell::right("Of kg"),
        Cell::right("Days"),
        Cell::left(""),
    ]);
    table.rule();
    for bin in &round.bins {
        let seen = bin.seen.as_deref().and_then(seen_of).map_or("not yet", seen_words);
        let state = match (bin.open, bin.due) {
            (true, _) => "waits for an answer",
            (_, true) => "due",
            _ => "",
        };
        table.row(vec![
            Cell::right(bin.number.to_string()),
            Cell::left(bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or("no grade yet")),
            Cell::right(&bin.booked.kg),
            Cell::left(seen),
            Cell::right(bin.booked_then.as_ref().map_or("-", |mass| mass.kg.as_str())),
            Cell::right(bin.days.map_or("?".into(), |days| days.to_string())),
            Cell::left(state),
        ]);
    }
    let reminder = round.reminder.as_ref().map(|words| format!("\n{words}.\n")).unwrap_or_default();
    format!("Stock round, {}\n\n{}{reminder}", round.day, table.text())
}

//! Prices for the terminal: the grid of a day, the history, what is told of grades, and a table that was read.

use super::json::{BuyerPricesView, GradeNoteView, ImportView, PriceHistoryView};
use super::text::{Cell, Table, counted};

/// The price history, a line a price.
pub fn history(history: &PriceHistoryView) -> String {
    let mut table = Table::new();
    table.row(vec![
        Cell::left("Grade"),
        Cell::left("Buyer"),
        Cell::left("From"),
        Cell::left("Until"),
        Cell::right("Amount"),
        Cell::left(""),
        Cell::right("As given"),
        Cell::left("Stale from"),
    ]);
    table.rule();
    for series in &history.series {
        for point in &series.points {
            let mark = if point.exact { "" } else { "≈ " };
            table.row(vec![
                Cell::left(&series.grade),
                Cell::left(&series.buyer),
                Cell::left(&point.day),
                Cell::left(point.until.as_deref().unwrap_or("in force")),
                Cell::right(point.amount.as_ref().map_or("-".into(), |amount| format!("{mark}{amount}"))),
                Cell::left(format!("{}/{}", series.currency, series.per)),
                Cell::right(&point.given),
                Cell::left(point.stale_from.as_deref().unwrap_or("")),
            ]);
        }
    }
    let body = if history.series.is_empty() { "There is no price for this.\n".to_owned() } else { table.text() };
    let mut text = format!("Price history until {}\n\n{body}", history.day);
    if !history.says.is_empty() {
        text.push('\n');
    }
    for line in &history.says {
        text.push_str(&format!("{line}\n"));
    }
    text
}

/// What each buyer pays for each grade.
pub fn grid(buyers: &[BuyerPricesView]) -> String {
    let mut table = Table::new();
    let head = ["Buyer", "Grade", "Price", "Given", "Steps", "No less than", "Off, %"];
    table.row(head.map(Cell::left).to_vec());
    table.rule();
    for buyer in buyers {
        for line in &buyer.lines {
            let mut row = vec![Cell::left(&buyer.buyer), Cell::left(&line.grade)];
            match &line.quote {
                None => row.push(Cell::left("no quote")),
                Some(held) => {
                    let stale = if held.stale { " stale" } else { "" };
                    row.push(Cell::left(format!("{} {}/{}", held.amount, line.currency, held.per)));
                    row.push(Cell::left(format!("{}{stale}", held.day)));
                    row.push(Cell::left(&held.breaks));
                    row.push(Cell::left(&held.minimum_text));
                    row.push(Cell::left(held.deduction_percent.as_deref().unwrap_or("")));
                }
            }
            table.row(row);
        }
    }
    if buyers.iter().all(|buyer| buyer.lines.is_empty()) {
        return "There is no buyer with a grade yet.\n".to_owned();
    }
    table.text()
}

/// What is told of each grade.
pub fn grades(grades: &[GradeNoteView]) -> String {
    let mut table = Table::new();
    table.row(["Grade", "Folded into", "Specification", "Buyers call it"].map(Cell::left).to_vec());
    table.rule();
    for grade in grades.iter().filter(|grade| !grade.retired) {
        let words: Vec<String> = grade.words.iter().map(|word| format!("{} ({})", word.word, word.buyer)).collect();
        table.row(vec![
            Cell::left(&grade.grade),
            Cell::left(grade.fallback.as_deref().unwrap_or("")),
            Cell::left(grade.specification.as_deref().unwrap_or("")),
            Cell::left(words.join(", ")),
        ]);
    }
    if grades.iter().all(|grade| grade.retired) { "There is no grade yet.\n".to_owned() } else { table.text() }
}

/// How a table was read, fault by fault.
pub fn import(view: &ImportView) -> String {
    let mut text = String::new();
    for fault in &view.faults {
        let column = fault.column.as_ref().map(|column| format!(", {column}")).unwrap_or_default();
        text.push_str(&format!("line {}{column}: {}\n", fault.line, fault.what));
    }
    if !view.faults.is_empty() {
        return text + &format!("{}; nothing was kept\n", counted(view.faults.len(), "fault"));
    }
    for quote in view.quotes.iter().filter(|quote| !quote.already) {
        let word = quote.word.as_ref().map(|word| format!(" (\"{word}\")")).unwrap_or_default();
        text.push_str(&format!(
            "line {}: {} {}{word} {} {} from {}\n",
            quote.line, quote.buyer, quote.grade, quote.price, quote.currency, quote.day
        ));
    }
    let kept = if view.dry_run { "would be kept" } else { "kept" };
    text + &format!("{} {kept}, {} in the books already\n", counted(view.kept, "quote"), view.already)
}

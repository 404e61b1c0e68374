//! The load sheet as CSV (RFC 4180) and for the terminal.

use super::csv::{text, write};
use super::json::{LoadSheetView, SheetLineView};
use super::text::{Cell, Table};

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

/// A line a bin, in the order of the stops; the price and the value are those of its whole line.
pub fn csv(sheet: &LoadSheetView) -> String {
    let head = [
        "stop",
        "buyer",
        "loading_order",
        "bin",
        "name",
        "grade",
        "buyers_words",
        "kg",
        "in_buyers_unit",
        "gross_kg",
        "gross_in_buyers_unit",
        "price",
        "quote_day",
        "stale",
        "line_value",
        "currency",
        "no_value",
        "their_weight",
    ];
    let order = |number: u32| sheet.loading.iter().position(|boarding| boarding.number == number).map(|at| at + 1);
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for stop in &sheet.stops {
        for line in &stop.lines {
            rows.extend(line.bins.iter().map(|bin| {
                vec![
                    stop.stop.to_string(),
                    text(&stop.buyer),
                    own(order(bin.number)),
                    bin.number.to_string(),
                    text(bin.name.as_deref().unwrap_or_default()),
                    text(line.grade.as_deref().unwrap_or_default()),
                    text(&line.buyers_words.join("; ")),
                    bin.mass.kg.clone(),
                    bin.in_buyers_unit.clone(),
                    own(bin.gross.as_ref().map(|gross| &gross.kg)),
                    own(bin.gross_in_buyers_unit.as_ref()),
                    text(line.price.as_deref().unwrap_or_default()),
                    own(line.quote_day.as_ref()),
                    if line.stale { "yes".to_owned() } else { "no".to_owned() },
                    own(line.value.as_ref().map(|value| &value.amount)),
                    own(line.value.as_ref().map(|value| &value.currency)),
                    text(line.no_value.as_deref().unwrap_or_default()),
                    String::new(),
                ]
            }));
        }
    }
    write(&rows)
}

/// The buyer's word, and ours beside it where it is another.
pub fn called(line: &SheetLineView) -> String {
    let ours = line.grade.as_deref().unwrap_or("no grade yet");
    match line.buyers_words.is_empty() {
        true => ours.to_owned(),
        false => format!("{} (ours: {ours})", line.buyers_words.join(" or ")),
    }
}

/// The price to ask for with its day, and what the line comes to.
pub fn asked(line: &SheetLineView) -> String {
    let value = line.value.as_ref().map(|value| format!("comes to {} {}", value.amount, value.currency));
    let tail = value.or_else(|| line.no_value.clone()).unwrap_or_default();
    match (&line.price, &line.quote_day) {
        (Some(price), Some(day)) => {
            let stale = if line.stale { ", stale" } else { "" };
            format!("ask {price}, quote of {day}{stale}; {tail}")
        }
        _ => "no quote: ask what they pay".to_owned(),
    }
}

pub fn terminal(sheet: &LoadSheetView) -> String {
    let mut out = format!("Load sheet, {}\n\nInto the bed, in this order:\n", sheet.day);
    let mut table = Table::new();
    for (boarding, at) in sheet.loading.iter().zip(1..) {
        table.row(vec![
            Cell::right(format!("{at}.")),
            Cell::left(format!("bin {}", boarding.number)),
            Cell::right(boarding.gross_in_buyers_unit.as_deref().unwrap_or("weight with bin not known")),
            Cell::left(format!("for stop {}", boarding.stop)),
        ]);
    }
    out.push_str(&table.text());
    for stop in &sheet.stops {
        out.push_str(&format!("\nStop {}: {}\n", stop.stop, stop.buyer));
        for line in &stop.lines {
            out.push_str(&format!("  {}: {}, {}\n", called(line), line.in_buyers_unit, asked(line)));
            for bin in &line.bins {
                let name = bin.name.as_ref().map(|name| format!(" ({name})")).unwrap_or_default();
                let gross = bin.gross_in_buyers_unit.as_ref().map(|gross| format!(", with bin {gross}")).unwrap_or_default();
                out.push_str(&format!("    bin {}{name}: {}{gross}; theirs: ________\n", bin.number, bin.in_buyers_unit));
            }
        }
        if let Some(value) = &stop.value {
            let without = stop.without_kg.as_ref().map(|kg| format!(", without {kg} kg that have no value")).unwrap_or_default();
            out.push_str(&format!("  The stop comes to {} {}{without}\n", value.amount, value.currency));
        }
    }
    let gross =
        sheet.gross.as_ref().map_or("not known for every bin".to_owned(), |gross| format!("{} kg · {} lb", gross.kg, gross.lb));
    out.push_str(&format!("\nOn board {} kg · {} lb, with bins {gross}\n\nMind:\n", sheet.total.kg, sheet.total.lb));
    for caution in &sheet.cautions {
        out.push_str(&format!("- {} ({})\n", caution.text, caution.source));
    }
    out.push_str("\nSellers are usually asked for:\n");
    for paper in &sheet.papers {
        out.push_str(&format!("- {paper}\n"));
    }
    out.push_str(&format!("\n{}\n", sheet.own_record));
    out
}

//! What to load and where to drive, as CSV (RFC 4180) and for the terminal.

use super::csv::{text, write};
use super::json::{DriveView, PlanLineView, PlanView};
use super::text::{Cell, Table, counted};
use crate::query::EFFORT_MAX;

const HEAD: [&str; 18] = [
    "row",
    "stop",
    "buyer",
    "grade",
    "buyers_word",
    "bins",
    "kg",
    "quantity",
    "unit",
    "price",
    "quote_day",
    "stale",
    "deduction_percent",
    "expected_price",
    "expected_lines",
    "amount",
    "currency",
    "note",
];

/// The effort of a longer search.
pub fn longer(effort: u32) -> u32 {
    effort.saturating_mul(4).min(EFFORT_MAX)
}

fn numbers(line: &PlanLineView) -> String {
    line.bins.iter().map(|bin| bin.number.to_string()).collect::<Vec<_>>().join(" ")
}

/// A line a grade of each stop, then what it comes to, what it is compared with, what stays, and what is held.
pub fn csv(plan: &PlanView) -> String {
    let mut rows = vec![HEAD.map(str::to_owned).to_vec()];
    let mut row = |kind: &str, cells: &[(&str, String)]| {
        let cell = |column: &&str| match *column {
            "row" => kind.to_owned(),
            "currency" => plan.currency.clone(),
            _ => cells.iter().find(|(known, _)| known == column).map(|(_, cell)| cell.clone()).unwrap_or_default(),
        };
        rows.push(HEAD.iter().map(cell).collect());
    };
    row("verdict", &[("note", text(&plan.says))]);
    for rule in &plan.rules {
        row("rule", &[("note", text(rule))]);
    }
    for (at, stop) in plan.drive.iter().flat_map(|drive| &drive.stops).enumerate() {
        for line in &stop.lines {
            let expected = line.expected.as_ref();
            row(
                "line",
                &[
                    ("stop", (at + 1).to_string()),
                    ("buyer", text(&stop.buyer)),
                    ("grade", text(&line.grade)),
                    ("buyers_word", text(line.word.as_deref().unwrap_or_default())),
                    ("bins", numbers(line)),
                    ("kg", line.mass.kg.clone()),
                    ("quantity", line.quantity.clone()),
                    ("unit", line.unit.clone()),
                    ("price", line.price.clone()),
                    ("quote_day", line.quote_day.clone()),
                    ("stale", if line.stale { "yes" } else { "no" }.to_owned()),
                    ("deduction_percent", line.deduction_percent.clone().unwrap_or_default()),
                    ("expected_price", expected.map(|known| known.expected.clone()).unwrap_or_default()),
                    ("expected_lines", expected.map(|known| known.lines.to_string()).unwrap_or_default()),
                    ("amount", line.value.clone()),
                ],
            );
        }
    }
    if let Some(drive) = &plan.drive {
        let bins = drive.bins.to_string();
        row("value", &[("bins", bins), ("kg", drive.mass.kg.clone()), ("amount", drive.value.clone())]);
        row("driving", &[("quantity", drive.km.clone()), ("unit", "km".to_owned()), ("amount", drive.driving.clone())]);
        row("hours", &[("quantity", drive.minutes.to_string()), ("unit", "min".to_owned()), ("amount", drive.hours.clone())]);
        row("net", &[("amount", drive.net.clone())]);
    }
    if let Some(bound) = &plan.bound {
        row("bound", &[("amount", bound.clone()), ("note", "nothing better than this can exist".to_owned())]);
    }
    for other in &plan.compared {
        row(&other.with, &[("amount", other.net.clone().unwrap_or_default()), ("note", text(&other.says))]);
        row(&format!("over-{}", other.with), &[("amount", other.more.clone().unwrap_or_default())]);
    }
    for bin in &plan.home {
        let grade = text(bin.grade.as_deref().unwrap_or_default());
        let bins = bin.number.to_string();
        row("stays", &[("grade", grade), ("bins", bins), ("kg", bin.mass.kg.clone()), ("note", text(&bin.says))]);
    }
    for held in &plan.held {
        let grade = || ("grade", text(&held.grade));
        row("held", &[grade(), ("kg", held.mass.kg.clone()), ("price", held.at.clone()), ("note", text(&held.says))]);
        for (kind, price) in [("held-low", &held.low), ("held-high", &held.high), ("held-last", &held.last)] {
            if let Some(price) = price {
                row(kind, &[grade(), ("price", price.clone())]);
            }
        }
        if let Some(tenth) = &held.tenth_less {
            row("held-tenth-less", &[grade(), ("amount", tenth.clone())]);
        }
    }
    for buyer in &plan.beyond {
        row("beyond", &[("buyer", text(&buyer.buyer)), ("note", text(&buyer.says))]);
    }
    for note in &plan.notes {
        row("note", &[("note", text(note))]);
    }
    write(&rows)
}

pub fn terminal(plan: &PlanView) -> String {
    let mut out = format!("What to load and where to drive, {}\n\n{}\n", plan.day, plan.says);
    let mut say = |line: String| {
        out.push_str(&line);
        out.push('\n');
    };
    plan.rules.iter().for_each(|rule| say(format!("  {rule}")));
    if let Some(drive) = &plan.drive {
        say(String::new());
        say(table(plan, drive).trim_end().to_owned());
        say(String::new());
        say(format!("Load: {} kg in {}; with the vessels {} kg", drive.mass.kg, counted(drive.bins, "bin"), drive.gross.kg));
        say(format!("Worth {} {}", drive.value, plan.currency));
        say(format!("less driving {} ({} km, {} mi)", drive.driving, drive.km, drive.miles));
        say(format!("less hours {} ({} min)", drive.hours, drive.minutes));
        say(format!("brings {} {}", drive.net, plan.currency));
        say(format!("To print: bismar report load-sheet \"{}\" --day {}", drive.sheet, plan.day));
    }
    if let Some(bound) = &plan.bound {
        say(format!(
            "The search was cut: nothing better than {bound} {} can exist. Search longer with --effort {}.",
            plan.currency,
            longer(plan.effort)
        ));
    }
    if !plan.compared.is_empty() {
        say(String::new());
    }
    for other in &plan.compared {
        say(other.says.clone());
        if let (Some(net), Some(more)) = (&other.net, &other.more) {
            say(format!("  brings {net}; the drive brings {more} more"));
        }
    }
    if !plan.home.is_empty() {
        say("\nStays at home:".to_owned());
    }
    for bin in &plan.home {
        say(format!("  bin {}, {}, {} kg: {}", bin.number, bin.grade.as_deref().unwrap_or("no grade"), bin.mass.kg, bin.says));
    }
    for held in &plan.held {
        say(format!("\n{}: {}", held.grade, held.says));
        if let (Some(low), Some(high), Some(last), Some(day)) = (&held.low, &held.high, &held.last, &held.last_day) {
            say(format!("  in ninety days {} quotes from {low} to {high}, the last {last} on {day}", held.quotes));
        }
        if let Some(tenth) = &held.tenth_less {
            say(format!("  a tenth less would cost {tenth} {} on the {} kg that lie here", held.currency, held.mass.kg));
        }
    }
    if !plan.beyond.is_empty() {
        say(String::new());
    }
    plan.beyond.iter().for_each(|buyer| say(format!("{} {}.", buyer.buyer, buyer.says)));
    say(String::new());
    plan.notes.iter().for_each(|note| say(note.clone()));
    out
}

fn table(plan: &PlanView, drive: &DriveView) -> String {
    let mut table = Table::new();
    table.row(vec![
        Cell::left("Stop"),
        Cell::left("Buyer"),
        Cell::left("Grade"),
        Cell::left("Bins"),
        Cell::right("kg"),
        Cell::right("In their unit"),
        Cell::right("Price"),
        Cell::right(plan.currency.clone()),
    ]);
    table.rule();
    for (at, stop) in drive.stops.iter().enumerate() {
        for line in &stop.lines {
            let stale = if line.stale { "*" } else { "" };
            let word = line.word.as_ref().map(|word| format!(" ({word})")).unwrap_or_default();
            table.row(vec![
                Cell::left((at + 1).to_string()),
                Cell::left(stop.buyer.clone()),
                Cell::left(format!("{}{word}", line.grade)),
                Cell::left(numbers(line)),
                Cell::right(line.mass.kg.clone()),
                Cell::right(format!("{} {}", line.quantity, line.unit)),
                Cell::right(format!("{}{stale}", line.price)),
                Cell::right(line.value.clone()),
            ]);
        }
    }
    let expected = drive.stops.iter().flat_map(|stop| stop.lines.iter().map(move |line| (stop, line)));
    let guessed = expected.filter_map(|(stop, line)| {
        let known = line.expected.as_ref()?;
        Some(format!(
            "{}, {}: quoted {}; expected {}, from {} lines of their tickets\n",
            stop.buyer, line.grade, known.quoted, known.expected, known.lines
        ))
    });
    table.text() + &guessed.collect::<String>()
}

//! The report on when to go as CSV (RFC 4180) and for the terminal.

use super::csv::{text, write};
use super::json::{EndsView, WhenView};
use super::text::{Cell, Table};

fn own(cell: Option<&String>) -> String {
    cell.cloned().unwrap_or_default()
}

fn cells(ends: Option<&EndsView>) -> [String; 3] {
    let cell = |of: fn(&EndsView) -> &Option<String>| own(ends.and_then(|ends| of(ends).as_ref()));
    [cell(|ends| &ends.slow), cell(|ends| &ends.middle), cell(|ends| &ends.fast)]
}

/// A line a day, and behind them a line a bin.
pub fn csv(report: &WhenView) -> String {
    let head = ["what", "day", "bin", "grade", "kg", "slow", "middle", "fast", "unit"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let row = |what: &str, day: &str, bin: String, grade: &str, kg: &str, ends: Option<&EndsView>, unit: &str| {
        let mut row = vec![what.to_owned(), day.to_owned(), bin, text(grade), kg.to_owned()];
        row.extend(cells(ends));
        row.push(unit.to_owned());
        row
    };
    rows.push(row("go by", &report.day, String::new(), "", "", report.go_by.as_ref(), "day"));
    for deadline in &report.deadlines {
        let (day, kg) = (deadline.day.as_ref(), deadline.holding.as_ref().map_or("", |mass| mass.kg.as_str()));
        let (day, on) = (day.unwrap_or(&report.day), deadline.holding_on.as_ref());
        rows.push(row("goes anyway", day, String::new(), &deadline.grade, kg, on, "day"));
    }
    for day in &report.by_day {
        rows.push(row("load", &day.day, String::new(), "", "", Some(&day.value), &report.currency));
        rows.push(row("trip", &day.day, String::new(), "", "", day.trip_percent.as_ref(), "per cent"));
    }
    for grade in &report.grades {
        let of_grade = |bin: &super::json::BinFillView| {
            row("full on", &report.day, bin.number.to_string(), &grade.grade, &bin.content.kg, Some(&bin.full_on), "day")
        };
        rows.extend(grade.bins.iter().map(of_grade));
    }
    write(&rows)
}

pub fn terminal(report: &WhenView) -> String {
    let mut out = format!("When to go, {}\n\n{}\n", report.day, report.says);
    let dash = |cell: &Option<String>| cell.clone().unwrap_or_else(|| "-".to_owned());
    let mut table = Table::new();
    table.row(["Day", "Load, slow", "middle", "fast", "Trip %, slow", "middle", "fast"].map(Cell::right).to_vec());
    table.rule();
    for day in &report.by_day {
        let [slow, middle, fast] = cells(day.trip_percent.as_ref()).map(|cell| if cell.is_empty() { "-".into() } else { cell });
        let value = [&day.value.slow, &day.value.middle, &day.value.fast].map(|cell| Cell::right(dash(cell)));
        let mut row = vec![Cell::right(&day.day)];
        row.extend(value);
        row.extend([slow, middle, fast].map(Cell::right));
        table.row(row);
    }
    out.push_str(&format!("\nThe load, {}, and what the trip costs of it:\n{}", report.currency, table.text()));
    let mut bins = Table::new();
    bins.row(vec![
        Cell::right("Bin"),
        Cell::left("Grade"),
        Cell::right("kg"),
        Cell::right("kg a week"),
        Cell::right("Weeks"),
        Cell::right("Full, fast"),
        Cell::right("middle"),
        Cell::right("slow"),
    ]);
    bins.rule();
    for grade in &report.grades {
        for bin in &grade.bins {
            bins.row(vec![
                Cell::right(bin.number.to_string()),
                Cell::left(&grade.grade),
                Cell::right(&bin.content.kg),
                Cell::right(grade.week.as_ref().map_or("too few", |week| week.kg.as_str())),
                Cell::right(grade.weeks.to_string()),
                Cell::right(dash(&bin.full_on.fast)),
                Cell::right(dash(&bin.full_on.middle)),
                Cell::right(dash(&bin.full_on.slow)),
            ]);
        }
    }
    out.push_str(&format!("\n{}\n", bins.text()));
    for note in &report.notes {
        out.push_str(&format!("{note}\n"));
    }
    out
}

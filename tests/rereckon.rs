//! What the program reckons, reckoned again by other means: Python with decimal, scipy and pint.

#[path = "support/events.rs"]
mod events;
#[path = "rereckon/laws.rs"]
mod laws;
#[path = "support/market.rs"]
mod market;
#[path = "rereckon/places.rs"]
mod places;
#[path = "support/python.rs"]
mod python;
#[path = "support/season.rs"]
mod season;
#[path = "rereckon/sums.rs"]
mod sums;
#[path = "rereckon/year.rs"]
mod year;

use bismar::economy::student::t95;
use bismar::facts::Books;
use bismar::measure::{Currency, Moment, Stamp};
use bismar::query::{HourQuestion, YardRunQuestion, hour, yard_run};
use bismar::render::json::{HourView, YardRunView};
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::path::Path;

/// The printed table of t that every interval rests on, row by row, against the quantile that scipy reckons.
#[test]
fn the_table_of_t_is_the_quantile() {
    let Some(python) = python::python() else { return };
    let rows: Vec<String> = (1..=30).chain([40, 50, 60, 100]).map(|freedom: u32| freedom.to_string()).collect();
    let arguments: Vec<&str> = rows.iter().map(String::as_str).collect();
    let said = python::run(&python, "student.py", &arguments, "");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let ours: Vec<String> = rows.iter().map(|row| t95(row.parse().unwrap()).unwrap().to_string()).collect();
    assert_eq!(String::from_utf8_lossy(&said.stdout).lines().collect::<Vec<_>>(), ours);
}

/// Whole seasons, each from the text of its roll: every figure that the script gives is that of the reports, to the last
/// digit.
#[test]
fn seasons_come_out_the_same() {
    let Some(python) = python::python() else { return };
    for seed in 1..=6 {
        let dir = tempfile::tempdir().unwrap();
        let books = season::season(seed, dir.path());
        let lines = roll(dir.path());
        for as_of in [None, Some(date(2026, 2, 12))] {
            come_out_the_same(&python, seed, &books, &lines, as_of);
        }
    }
}

fn come_out_the_same(python: &Path, seed: u64, books: &Books, lines: &str, as_of: Option<Date>) {
    let past = as_of.map(|day| day.to_string());
    let arguments: Vec<&str> = ["2026-03-15", "14", "4.50"].into_iter().chain(past.as_deref()).collect();
    let said = python::run(python, "reckon.py", &arguments, lines);
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let theirs: Value = serde_json::from_slice(&said.stdout).unwrap();
    let (zone, today) = (TimeZone::UTC, date(2026, 3, 15));
    let drive = YardRunQuestion { today, as_of, zone: zone.clone(), stale_after: 14 };
    let worth = HourQuestion {
        now: Stamp {
            boot: bismar::measure::BootId(9),
            mono: Moment(u64::MAX / 2),
            wall: "2026-03-15T12:00:00Z".parse().unwrap(),
            trusted: true,
        },
        today,
        as_of,
        zone,
        stale_after: 14,
        currency: Currency::parse("EUR").unwrap(),
        buyer: None,
        left: true,
        floor: Some(Decimal::new(450, 2)),
    };
    let mut report = HourView::from(&hour(books, &worth));
    report.feeds.retain(|feed| feed.closed_lots > 0);
    // By the order in which the feeds were made, since the script does not rank them.
    report.feeds.sort_by_key(|feed| ["motors", "boards", "wire"].iter().position(|name| *name == feed.feed));
    let mut ours = json!({ "yard_run": YardRunView::from(&yard_run(books, &drive)), "hour": report });
    for feed in ours["hour"]["feeds"].as_array_mut().unwrap() {
        let says = feed["says"].as_array().unwrap();
        feed["one_lot_rules"] = says.iter().any(|line| line.as_str().unwrap().starts_with("one lot rules the figure")).into();
    }
    assert!(theirs["hour"]["feeds"].as_array().is_some_and(|feeds| feeds.len() >= 2), "a season without lots shows little");
    let mut differences = Vec::new();
    compare("", &theirs, &ours, &mut differences);
    assert!(differences.is_empty(), "season {seed} as of {as_of:?}:\n{}", differences.join("\n"));
}

/// Every line of the roll, in its order.
fn roll(dir: &Path) -> String {
    let mut files: Vec<_> = walk(dir).into_iter().filter(|path| path.extension().is_some_and(|end| end == "roll")).collect();
    files.sort();
    assert!(!files.is_empty(), "no roll in {}", dir.display());
    files.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect()
}

fn walk(dir: &Path) -> Vec<std::path::PathBuf> {
    let entries = std::fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

/// Whatever stands in `theirs` stands in `ours`, and lists are as long.
fn compare(at: &str, theirs: &Value, ours: &Value, differences: &mut Vec<String>) {
    match (theirs, ours) {
        (Value::Object(fields), Value::Object(_)) => {
            fields.iter().for_each(|(key, value)| compare(&format!("{at}.{key}"), value, &ours[key], differences));
        }
        (Value::Array(rows), Value::Array(known)) if rows.len() == known.len() => {
            (0..rows.len()).for_each(|row| compare(&format!("{at}[{row}]"), &rows[row], &known[row], differences));
        }
        _ if theirs == ours => {}
        _ => differences.push(format!("{at}: reckoned again {theirs}, reported {ours}")),
    }
}

//! Each kind of plot against the file that it was looked at as. `BISMAR_RENEW=1` writes them anew.

use super::*;
use jiff::civil::{Date, date};
use rust_decimal::Decimal;
use std::path::Path;

fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn point(day: Date, value: &str, interval: Option<(&str, &str)>) -> Point {
    let interval = interval.map(|(low, high)| (dec(low), dec(high)));
    Point { day, value: dec(value), interval, note: format!("{day}: {value}") }
}

fn over_days(series: Vec<Series>) -> OverDays {
    OverDays {
        id: "p1".into(),
        title: "A plot & its <title>".into(),
        about: "What it shows.".into(),
        unit: "kg".into(),
        from: date(2026, 3, 2),
        to: date(2026, 3, 8),
        series,
        bands: Vec::new(),
        marks: Vec::new(),
        size: Size::Full,
        reach: None,
    }
}

fn as_it_was(name: &str, drawn: maud::Markup) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/plots").join(name);
    let drawn = drawn.into_string().replace("><", ">\n<") + "\n";
    if std::env::var_os("BISMAR_RENEW").is_some() {
        std::fs::write(&path, &drawn).unwrap();
    }
    let was = std::fs::read_to_string(&path).unwrap();
    assert!(drawn == was, "{name} is drawn otherwise now:\n{drawn}");
}

#[test]
fn bars_of_a_week() {
    let bars = |name: &str, values: [&str; 3]| Series {
        name: name.into(),
        shape: Shape::Bars,
        points: (2..).zip(values).map(|(day, value)| point(date(2026, 3, day), value, None)).collect(),
    };
    let small = OverDays { size: Size::Small, reach: Some(dec("20")), ..over_days(vec![bars("1", ["1.5", "0", "7.25"])]) };
    as_it_was("week.svg", small.draw());
    as_it_was("two-bins.svg", over_days(vec![bars("1", ["1.5", "0", "7.25"]), bars("2", ["3", "-1", "0.5"])]).draw());
}

#[test]
fn errors_with_their_intervals_in_a_band() {
    let points = vec![
        point(date(2026, 1, 5), "0.4", Some(("-0.2", "1"))),
        point(date(2026, 2, 10), "-0.3", Some(("-0.9", "0.3"))),
        point(date(2026, 3, 6), "1.6", Some(("1", "2.2"))),
    ];
    let mut plot = over_days(vec![Series { name: "1 kg".into(), shape: Shape::Points, points }]);
    plot.from = date(2026, 1, 1);
    plot.bands = vec![Band { from: plot.from, to: plot.to, low: dec("-1"), high: dec("1") }];
    plot.marks = vec![Mark { day: date(2026, 2, 20), words: "moved".into() }];
    as_it_was("errors.svg", plot.draw());
}

#[test]
fn words_of_two_days_stand_on_two_rows() {
    let mut plot =
        over_days(vec![Series { name: "1 kg".into(), shape: Shape::Points, points: vec![point(date(2026, 3, 2), "1", None)] }]);
    let mark = |day, words: &str| Mark { day, words: words.into() };
    plot.marks = vec![mark(date(2026, 3, 3), "early"), mark(date(2025, 3, 3), "before all"), mark(date(2026, 3, 4), "late")];
    let drawn = plot.draw().into_string();
    let height = |words: &str| {
        let before = &drawn[..drawn.find(&format!(">{words}<")).unwrap()];
        let at = before.rfind(" y=\"").unwrap() + 4;
        before[at..].split('"').next().unwrap().parse::<f64>().unwrap()
    };
    assert_eq!(height("late") - height("early"), 20.0);
    assert!(!drawn.contains("before all"));
}

#[test]
fn prices_hold_until_the_next() {
    let steps = |name: &str, values: [&str; 2]| Series {
        name: name.into(),
        shape: Shape::Steps,
        points: vec![point(date(2026, 3, 2), values[0], None), point(date(2026, 3, 5), values[1], None)],
    };
    as_it_was("prices.svg", over_days(vec![steps("north", ["8.20", "8.45"]), steps("south", ["8", "8.6"])]).draw());
}

#[test]
fn rows_with_and_without_a_figure() {
    let row = |name: &str, value: Option<&str>, interval: Option<(&str, &str)>| Named {
        name: name.into(),
        value: value.map(dec),
        interval: interval.map(|(low, high)| (dec(low), dec(high))),
        words: value.unwrap_or("no figure").into(),
    };
    let plot = ByName {
        id: "p2".into(),
        title: "Pay".into(),
        about: "By feed.".into(),
        unit: "EUR an hour".into(),
        rows: vec![row("motors", Some("21.5"), Some(("14", "29"))), row("drives", Some("-3"), None), row("plugs", None, None)],
        line: Some((dec("15"), "what an hour must bring".into())),
    };
    as_it_was("pay.svg", plot.draw());
    let empty = ByName { rows: vec![row("plugs", None, None)], ..plot };
    assert_eq!(empty.draw().into_string(), "", "no figure, no plot");
}

#[test]
fn what_no_decimal_can_place_is_left_out_and_nothing_panics() {
    let points =
        vec![point(date(2026, 3, 2), &Decimal::MAX.to_string(), None), point(date(2026, 3, 3), &Decimal::MIN.to_string(), None)];
    let plot = over_days(vec![Series { name: "wild".into(), shape: Shape::Line, points }]);
    assert_eq!(plot.draw().into_string(), "");
    let outside = vec![point(date(2026, 3, 20), "1", None)];
    assert_eq!(over_days(vec![Series { name: "later".into(), shape: Shape::Points, points: outside }]).draw().into_string(), "");
}

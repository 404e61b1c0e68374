//! When to go: what the trip costs of the load day by day, drawn, with its table; and when each bin fills.

use super::Frame;
use crate::render::json::{EndsView, LoadDayView, WhenView};
use crate::render::plot::{Mark, OverDays, Point, Series, Shape, Size};
use jiff::civil::Date;
use maud::{Markup, html};
use rust_decimal::Decimal;

/// The title.
pub const WHEN: &str = "When to go";

/// The page; `link` is the rest of the address with the question in it.
pub fn when(frame: &Frame, report: &WhenView, link: &str) -> String {
    let trip = report.trip.as_ref().map_or("", |trip| trip.amount.as_str());
    let body = html! {
        h1 { (WHEN) ", " (report.day) }
        p.forms {
            a.key href={ "/v1/reports/when-to-go.csv" (link) } { "As CSV" } " "
            a.key href={ "/v1/reports/when-to-go.json" (link) } { "As JSON" }
        }
        p { strong { (report.says) } }
        form method="get" action="/reports/when-to-go" {
            label { "A trip costs, " (report.currency) " " input name="trip" inputmode="decimal" value=(trip) size="8" autocomplete="off"; }
            label { "Days to show " input name="days" inputmode="numeric" value=(report.by_day.len().saturating_sub(1)) size="4" autocomplete="off"; }
            button { "Show" }
        }
        (shares(report))
        (bins(report))
        section.small {
            h2 { "About these figures" }
            ul { @for note in &report.notes { li { (note) } } li { "The books stand at event " (report.seq) "." } }
        }
    };
    frame.around(body)
}

fn cell(text: &Option<String>) -> &str {
    text.as_deref().unwrap_or("–")
}

fn shares(report: &WhenView) -> Markup {
    html! {
        section aria-labelledby="shares" {
            h2 #shares { "What the trip costs of the load" }
            @if report.trip.is_some() { figure.plot { (plot(report)) } }
            table.report {
                thead {
                    tr { th rowspan="2" { "Day" } th.figure colspan="3" { "The load, " (report.currency) } th.figure colspan="3" { "The trip, per cent of it" } }
                    tr { @for _ in 0..2 { th.figure { "slow" } th.figure { "middle" } th.figure { "fast" } } }
                }
                tbody { @for day in &report.by_day { tr {
                    th scope="row" { (day.day) }
                    (three(Some(&day.value)))
                    (three(day.trip_percent.as_ref()))
                } } }
            }
        }
    }
}

fn three(ends: Option<&EndsView>) -> Markup {
    html! {
        @match ends {
            Some(ends) => { td.figure { (cell(&ends.slow)) } td.figure { (cell(&ends.middle)) } td.figure { (cell(&ends.fast)) } },
            None => { td.figure { "–" } td.figure { "–" } td.figure { "–" } },
        }
    }
}

fn plot(report: &WhenView) -> Markup {
    let day = |day: &LoadDayView| day.day.parse::<Date>().ok();
    let (Some(from), Some(to)) = (report.by_day.first().and_then(day), report.by_day.last().and_then(day)) else {
        return html! {};
    };
    let series = |name: &str, of: fn(&EndsView) -> &Option<String>| {
        let point = |shown: &LoadDayView| {
            let value: Decimal = of(shown.trip_percent.as_ref()?).as_ref()?.parse().ok()?;
            Some(Point { day: day(shown)?, value, interval: None, note: format!("{}: {value} %", shown.day) })
        };
        Series { name: name.to_owned(), shape: Shape::Line, points: report.by_day.iter().filter_map(point).collect() }
    };
    let go = report.go_by.as_ref().and_then(|go| go.middle.as_ref()?.parse().ok());
    let held = report.deadlines.iter().filter_map(|held| {
        let day = held.day.as_ref().or_else(|| held.holding_on.as_ref()?.middle.as_ref())?;
        Some(Mark { day: day.parse().ok()?, words: held.grade.clone() })
    });
    let drawn = OverDays {
        id: "shares".into(),
        title: "What the trip costs of the load, day by day".into(),
        about: "Per cent of the load's value that a trip on each day costs, for bins that fill slowly, in the middle and fast; the table \
                below has the same figures."
            .into(),
        unit: "per cent of the load".into(),
        from,
        to,
        series: vec![
            series("as they fill in the middle", |ends| &ends.middle),
            series("if they fill slowly", |ends| &ends.slow),
            series("if they fill fast", |ends| &ends.fast),
        ],
        bands: Vec::new(),
        marks: go.map(|day| Mark { day, words: "waiting costs more".into() }).into_iter().chain(held).collect(),
        size: Size::Full,
        reach: Some(Decimal::ZERO),
    };
    drawn.draw()
}

fn bins(report: &WhenView) -> Markup {
    html! {
        section aria-labelledby="bins" {
            h2 #bins { "When each bin is full" }
            table.report {
                thead { tr {
                    th { "Bin" } th { "Grade" } th.figure { "kg" } th.figure { "A week, kg" } th.figure { "Whole weeks" } th.figure { "Full at kg" }
                    th.figure { "Full, if fast" } th.figure { "middle" } th.figure { "if slowly" } th.figure { "A kilogram without room loses, " (report.currency) }
                } }
                tbody { @for grade in &report.grades { @for bin in &grade.bins { tr {
                    th scope="row" { (bin.number) }
                    td { (grade.grade) @if grade.stale { ", " strong { "stale quote" } } }
                    td.figure { (bin.content.kg) @if bin.tapped { br; "full" } }
                    td.figure { @match &grade.week { Some(week) => { (week.kg) }, None => "too few weeks" } @if let Some(spread) = &grade.week_spread { br; small { "scatters by " (spread.kg) } } }
                    td.figure { (grade.weeks) }
                    td.figure { @match &grade.full_bin { Some(full) => { (full.kg) @if grade.full_learned { br; small { "as tapped" } } }, None => "not known" } }
                    td.figure { (cell(&bin.full_on.fast)) } td.figure { (cell(&bin.full_on.middle)) } td.figure { (cell(&bin.full_on.slow)) }
                    td.figure { (cell(&grade.loses_per_kg)) @if let Some(coarser) = &grade.coarser { br; small { "goes in with " (coarser) } } }
                } } } }
            }
            p { a.key href="/reports/places" { "Which bins earn their place" } " " a.key href="/load-sheet" { "Load sheet" } }
        }
    }
}

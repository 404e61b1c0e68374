//! What came into each bin day by day: a small plot for each, and the table.

use super::Frame;
use crate::render::json::{BinWeekView, WeekView};
use crate::render::plot::{OverDays, Point, Series, Shape, Size};
use jiff::civil::Date;
use maud::{Markup, html};
use rust_decimal::Decimal;

/// The title.
pub const WEEK: &str = "The week by bin";

pub fn week(frame: &Frame, week: &WeekView) -> String {
    let body = html! {
        h1 { (WEEK) ", " (week.days.first().map_or("", String::as_str)) " to " (week.days.last().map_or("", String::as_str)) }
        p.forms {
            a.key href={ "/v1/reports/week.csv" (until(week)) } { "As CSV" } " "
            a.key href={ "/v1/reports/week.json" (until(week)) } { "As JSON" }
        }
        (through_the_week(week))
        p.small { "The books stand at event " (week.seq) "." }
    };
    frame.around(body)
}

fn until(week: &WeekView) -> String {
    week.days.last().map(|day| format!("?as_of={day}")).unwrap_or_default()
}

/// The plots and their table, for a page that has more on it.
pub fn through_the_week(week: &WeekView) -> Markup {
    html! {
        section aria-labelledby="week" {
            h2 #week { "What came into each bin in the last seven days" }
            @if week.bins.is_empty() { p { "Nothing." } }
            @else {
                div.plots { @for bin in &week.bins { (plot(week, bin)) } }
                (table(week))
                p.small { "By local day: what went in less what came out, with every correction made since; opening stock is not in it." }
            }
            @if week.undated.grams != "0" {
                p { (week.undated.kg) " kg came while the clock could not be trusted and has no day." }
            }
        }
    }
}

fn kilograms(text: &str) -> Option<Decimal> {
    text.parse().ok()
}

/// Every bin has the figures of the fullest one along its side, so that heights compare.
fn plot(week: &WeekView, bin: &BinWeekView) -> Markup {
    let days = || week.days.iter().filter_map(|day| day.parse::<Date>().ok());
    let (Some(from), Some(to)) = (days().next(), days().next_back()) else { return html! {} };
    let reach = week.bins.iter().flat_map(|bin| &bin.days).filter_map(|mass| kilograms(&mass.kg)).max();
    let point =
        |(day, kg): (Date, &String)| Some(Point { day, value: kilograms(kg)?, interval: None, note: format!("{day}: {kg} kg") });
    let points = days().zip(bin.days.iter().map(|mass| &mass.kg)).filter_map(point).collect();
    let label = bin.label();
    let drawn = OverDays {
        id: format!("week{}", bin.number),
        title: format!("Bin {label} through the week"),
        about: format!(
            "Kilograms that came into bin {label} on each of seven days, {} kg in all; the table below has them.",
            bin.total.kg
        ),
        unit: format!("{label}, kg"),
        from,
        to,
        series: vec![Series { name: label, shape: Shape::Bars, points }],
        bands: Vec::new(),
        marks: Vec::new(),
        size: Size::Small,
        reach,
    };
    html! { figure.plot { (drawn.draw()) } }
}

fn table(week: &WeekView) -> Markup {
    html! {
        table.report {
            thead { tr {
                th { "Bin" } th { "Grade" }
                @for day in &week.days { th.figure { (day.get(5..).unwrap_or(day)) " kg" } }
                th.figure { "kg" }
            } }
            tbody {
                @for bin in &week.bins {
                    tr {
                        th scope="row" { (bin.number) @if let Some(name) = &bin.name { " " (name) } }
                        td { (bin.grade.as_deref().unwrap_or("no grade yet")) }
                        @for mass in &bin.days { td.figure { @if mass.grams == "0" { "–" } @else { (mass.kg) } } }
                        td.figure { (bin.total.kg) }
                    }
                }
            }
            tfoot { tr {
                th scope="row" { "All bins" } td {}
                @for mass in &week.sums { td.figure { (mass.kg) } }
                td.figure { (week.total.kg) }
            } }
        }
    }
}

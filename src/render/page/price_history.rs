//! The price history: a plot for each grade, currency and unit, each beside the table of the same figures.

use super::Frame;
use crate::measure::PriceUnit;
use crate::render::json::{NameView, PriceHistoryView, PricePointView, PriceSeriesView};
use crate::render::plot::{OverDays, Point, Series, Shape, Size};
use jiff::civil::Date;
use maud::{Markup, html};

/// The title.
pub const PRICE_HISTORY: &str = "Price history";

/// What was asked, so that the form shows it.
pub struct HistoryAsked<'a> {
    pub as_of: Option<&'a str>,
    pub grade: Option<&'a str>,
    pub buyer: Option<&'a str>,
    pub unit: Option<&'a str>,
    pub grades: &'a [NameView],
    pub buyers: &'a [NameView],
}

impl HistoryAsked<'_> {
    /// The same question to another form of the report.
    fn link(&self) -> String {
        let named = [("as_of", self.as_of), ("grade", self.grade), ("buyer", self.buyer), ("unit", self.unit)];
        let parts = named.into_iter().filter_map(|(key, value)| {
            let value = percent_encoding::utf8_percent_encode(value?, percent_encoding::NON_ALPHANUMERIC);
            Some(format!("{key}={value}"))
        });
        let asked = parts.collect::<Vec<_>>().join("&");
        if asked.is_empty() { asked } else { format!("?{asked}") }
    }
}

pub fn price_history(frame: &Frame, history: &PriceHistoryView, asked: &HistoryAsked) -> String {
    let body = html! {
        h1 { (PRICE_HISTORY) ", until " (history.day) }
        p.forms {
            a.key href={ "/v1/reports/prices.csv" (asked.link()) } { "As CSV" } " "
            a.key href={ "/v1/reports/prices.json" (asked.link()) } { "As JSON" } " "
            a.key href="/quotes" { "The prices now" }
        }
        (form(asked))
        @if history.series.is_empty() { p { "There is no price for this." } }
        @for (index, plot) in together(&history.series).into_iter().enumerate() { (section(index, &plot, history)) }
        section.small {
            h2 { "About these figures" }
            ul {
                @for line in &history.says { li { (line) } }
                li { "The books stand at event " (history.seq) "." }
            }
        }
    };
    frame.around(body)
}

fn form(asked: &HistoryAsked) -> Markup {
    let choice = |key: &str, label: &str, names: &[NameView], chosen: Option<&str>| {
        html! {
            label { (label) " " select name=(key) {
                option value="" { "all" }
                @for name in names.iter().filter(|name| !name.retired) {
                    option selected[chosen == Some(name.name.as_str())] { (name.name) }
                }
            } }
        }
    };
    html! {
        form method="get" action="/reports/prices" {
            (choice("grade", "Grade", asked.grades, asked.grade))
            (choice("buyer", "Buyer", asked.buyers, asked.buyer))
            label { "Until day " input name="as_of" type="date" value=(asked.as_of.unwrap_or_default()); }
            label { "Per " select name="unit" {
                option value="" { "as it was given last" }
                @for unit in PriceUnit::ALL { option value=(unit.symbol()) selected[asked.unit == Some(unit.symbol())] { (unit.symbol()) } }
            } }
            button { "Show" }
        }
    }
}

/// Series that can be compared share a plot: one grade, one currency, one unit.
fn together(series: &[PriceSeriesView]) -> Vec<Vec<&PriceSeriesView>> {
    let mut plots: Vec<Vec<&PriceSeriesView>> = Vec::new();
    let same = |a: &PriceSeriesView, b: &PriceSeriesView| a.grade == b.grade && a.currency == b.currency && a.per == b.per;
    for one in series {
        match plots.iter_mut().find(|plot| plot.first().is_some_and(|first| same(first, one))) {
            Some(plot) => plot.push(one),
            None => plots.push(vec![one]),
        }
    }
    plots
}

fn section(index: usize, plot: &[&PriceSeriesView], history: &PriceHistoryView) -> Markup {
    let Some(first) = plot.first() else { return html! {} };
    let unit = format!("{}/{}", first.currency, first.per);
    html! {
        section aria-labelledby={ "grade" (index) } {
            h2 id={ "grade" (index) } { (first.grade) ", " (unit) }
            (drawn(index, plot, history, &unit))
            table.report {
                thead { tr {
                    th { "Buyer" } th { "From" } th { "Until" } th.figure { (unit) } th.figure { "As given" } th { "Steps" }
                    th { "No less than" } th.figure { "Off, %" } th { "Stale from" }
                } }
                tbody { @for series in plot { @for point in series.points.iter().rev() { (row(series, point)) } } }
            }
        }
    }
}

fn row(series: &PriceSeriesView, point: &PricePointView) -> Markup {
    html! {
        tr {
            th scope="row" { (series.buyer) }
            td { (point.day) }
            td { (point.until.as_deref().unwrap_or("in force")) }
            td.figure { @if !point.exact { "≈ " } (point.amount.as_deref().unwrap_or("–")) }
            td.figure { (point.given) }
            td { (point.breaks) }
            td { (point.minimum) }
            td.figure { (point.deduction_percent.as_deref().unwrap_or("")) }
            td { @if let Some(day) = &point.stale_from { strong { "stale " } (day) } }
        }
    }
}

fn drawn(index: usize, plot: &[&PriceSeriesView], history: &PriceHistoryView, unit: &str) -> Markup {
    let day = |text: &String| text.parse::<Date>().ok();
    let first = plot.iter().flat_map(|series| &series.points).filter_map(|point| day(&point.day)).min();
    let (Some(from), Some(to)) = (first, day(&history.day)) else { return html! {} };
    let point = |point: &PricePointView| {
        let amount = point.amount.as_ref()?;
        let value = amount.parse().ok()?;
        Some(Point { day: day(&point.day)?, value, interval: None, note: format!("{}: {amount} {unit}", point.day) })
    };
    let grade = plot.first().map_or("", |series| series.grade.as_str());
    let one = |series: &&PriceSeriesView| Series {
        name: series.buyer.clone(),
        shape: Shape::Steps,
        points: series.points.iter().filter_map(point).collect(),
    };
    let plotted = OverDays {
        id: format!("prices{index}"),
        title: format!("Prices for {grade}, {unit}"),
        about: format!(
            "What each buyer gave for {grade}, each price until the next, in {unit}; the table below has the figures."
        ),
        unit: unit.to_owned(),
        from,
        to,
        series: plot.iter().map(one).collect(),
        bands: Vec::new(),
        marks: Vec::new(),
        size: Size::Full,
        reach: None,
    };
    html! { figure.plot { (plotted.draw()) } }
}

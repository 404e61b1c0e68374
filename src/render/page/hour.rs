//! What an hour is worth, for the screen and for paper.

use super::{Frame, trial};
use crate::measure::Span;
use crate::render::figures::clock;
use crate::render::json::{BreakEvenView, FeedHourView, FigureView, GradeHourView, HourView};
use crate::render::place_words::marks_line;
use crate::render::text::counted;
use crate::render::words::{CAUTIONS, SELLING};
use maud::{Markup, html};

/// The title.
pub const HOUR: &str = "What an hour is worth";

/// `link` is the rest of the address with the question in it, for the other forms.
pub fn hour(frame: &Frame, report: &HourView, link: &str) -> String {
    let body = html! {
        h1 { (HOUR) ", " (report.day) }
        p { "Prices: " (report.prices) "." }
        p.forms {
            a.key href={ "/v1/reports/hour.csv" (link) } { "As CSV" } " "
            a.key href={ "/v1/reports/hour.json" (link) } { "As JSON" }
        }
        form method="get" action="/reports/hour" {
            label { "Prices of " input name="buyer" value=(report.buyer.as_deref().unwrap_or("")) placeholder="the best of all" autocomplete="off"; }
            " " label { "An hour must bring, " (report.currency) " " input name="floor" inputmode="decimal" value=(if report.floor_told { "" } else { &report.floor_per_hour }) placeholder=(report.floor_per_hour) size="6"; }
            " " label.tick { input type="checkbox" name="left" value="true" checked[report.feeds.iter().any(|feed| feed.whole == "left")]; " What nobody buys whole I would have left" }
            " " button { "Reckon" }
        }
        @if report.feeds.is_empty() {
            p { "Too little data: nothing was weighed before it was taken apart. Press \"Weigh it before I take it apart\" on the bench page, and \"All apart\" when it is done." }
        }
        (super::hour_plot::pay_by_feed(report))
        @for feed in &report.feeds { (one(report, feed)) }
        (trial::in_report(&report.trials, &report.currency))
        (job(report))
        @if !report.left_out.is_empty() {
            section { h2 { "Not in these figures" } ul { @for line in &report.left_out { li { (line) "." } } } }
        }
        section.small {
            h2 { "About these figures" }
            ul { @for note in &report.notes { li { (note) } } li { "The books stand at event " (report.seq) "." } }
            h2 { "Cautions" }
            ul { @for caution in CAUTIONS { li { (caution.text) " (" (caution.source) ")" } } li { (SELLING) } }
        }
    };
    frame.around(body)
}

fn one(report: &HourView, feed: &FeedHourView) -> Markup {
    html! {
        section data-feed=(feed.feed) {
            h2 { (feed.feed) @if let Some(depth) = &feed.depth { ", taken apart to " (depth) } }
            p {
                @match &feed.adds_per_hour {
                    Some(figure) => { strong.adds { (figure.value) " " (report.currency) " an hour" } (interval(figure)) ", in " (counted(feed.closed_lots, "lot")) },
                    None => strong.adds { "no figure" },
                }
                " · " (clock(Span::seconds(feed.hands_on_seconds))) " hands-on"
                @if feed.off_bench_seconds > 0 { ", " (clock(Span::seconds(feed.off_bench_seconds))) " of it away from the bench" }
                @if feed.waited_seconds > 0 { ", " (clock(Span::seconds(feed.waited_seconds))) " hands-off" }
                @if let Some(value) = &feed.value_per_piece { " · " (value) " " (report.currency) " from a piece" }
                @if let Some(value) = &feed.value_per_kg { " · " (value) " " (report.currency) " from a kilogram" }
                @if feed.consumables != "0.00" { " · " (feed.consumables) " " (report.currency) " used up" }
                @if feed.disposal != "0.00" { " · " (feed.disposal) " " (report.currency) " to be rid of the rest" @if feed.charges != "0.00" { ", " (feed.charges) " of it charged by buyers" } }
                @if let Some(hours) = &feed.break_even_hours { " · pays " (within(hours, " hours")) }
            }
            @if let Some(marks) = marks_line(&feed.marks) { p.marks { "Your marks: " (marks) } }
            @if feed.closed_lots > 0 { (table(feed)) }
            ul { @for line in &feed.says { li { (line) "." } } }
        }
    }
}

/// The whole job: what came in and went out, over all hours.
fn job(report: &HourView) -> Markup {
    let (job, currency) = (&report.job, &report.currency);
    let hours = |seconds: u64| clock(Span::seconds(seconds));
    html! {
        section aria-labelledby="job" {
            h2 #job { "The whole job" }
            p {
                @match &job.per_hour {
                    Some(figure) => strong.adds { (figure) " " (currency) " an hour" },
                    None => strong.adds { "no figure" },
                }
            }
            table.report {
                tbody {
                    @for (name, amount) in [("Received", &job.received), ("In the bins, at quotes", &job.stock), ("Bought", &job.bought), ("Spent", &job.spent), ("Trips", &job.trips)] {
                        tr { th scope="row" { (name) } td.figure { (amount) " " (currency) } }
                    }
                    @for (name, seconds) in [("Fetching", job.fetching_seconds), ("At the bench", job.bench_seconds), ("Trips and yard", job.yard_seconds)] {
                        tr { th scope="row" { (name) } td.figure { (hours(seconds)) } }
                    }
                }
            }
            ul { @for line in &job.says { li { (line) "." } } li { (job.how) } }
        }
    }
}

fn table(feed: &FeedHourView) -> Markup {
    html! {
        table.report {
            thead { tr {
                th { "Grade" } th.figure { "kg" } th.figure { "lb" } th.figure { "% of intake" } th.figure { "± % weighing" }
                th.figure { "Price a kg" } th.figure { "Value" } th.figure { "Pays from price" } th.figure { "Pays from %" }
            } }
            tbody {
                @for grade in &feed.grades { (row(grade)) }
                @if let Some(loss) = &feed.loss {
                    tr {
                        th scope="row" { "missing" }
                        td.figure.kg { (loss.mass.kg) } td.figure.lb { (loss.mass.lb) }
                        td.figure { @if let Some(figure) = &loss.percent { (figure.value) (interval(figure)) } }
                        td.figure { (loss.weighing_percent.as_deref().unwrap_or("–")) }
                        td {} td {} td {} td {}
                    }
                }
            }
            tfoot { tr {
                th scope="row" { "Taken apart" }
                td.figure.kg { (feed.intake.kg) } td.figure.lb { (feed.intake.lb) }
                td {} td {} td {} td {} td {} td {}
            } }
        }
    }
}

fn row(grade: &GradeHourView) -> Markup {
    let line = |line: Option<&BreakEvenView>| line.map_or("–".to_owned(), |line| within(line, ""));
    html! {
        tr {
            th scope="row" { (grade.grade.as_deref().unwrap_or("no grade yet")) }
            td.figure.kg { (grade.mass.kg) } td.figure.lb { (grade.mass.lb) }
            td.figure { @if let Some(figure) = &grade.percent { (figure.value) (interval(figure)) } }
            td.figure { (grade.weighing_percent.as_deref().unwrap_or("–")) }
            td.figure {
                @match grade.price_per_kg.as_ref().or(grade.price_per_piece.as_ref()) {
                    None => "no quote",
                    Some(price) => {
                        (price) @if grade.price_per_piece.is_some() { " a piece" } br;
                        small { (grade.buyer.as_deref().unwrap_or("")) br; @if grade.stale { strong { "stale: " } } (grade.quote_day.as_deref().unwrap_or("")) }
                    },
                }
            }
            td.figure.value { (grade.value.as_deref().unwrap_or("–")) }
            td.figure {
                (line(grade.break_even_price_per_kg.as_ref().or(grade.break_even_price_per_piece.as_ref())))
                @if grade.break_even_price_per_piece.as_ref().is_some_and(|even| even.value.is_some()) { " a piece" }
            }
            td.figure { (line(grade.break_even_percent.as_ref())) }
        }
    }
}

fn interval(figure: &FigureView) -> String {
    match (&figure.low, &figure.high) {
        (Some(low), Some(high)) => format!(" ({low} to {high})"),
        _ => String::new(),
    }
}

fn within(line: &BreakEvenView, unit: &str) -> String {
    match (line.pays.as_str(), &line.value) {
        ("at", Some(value)) if unit.is_empty() => value.clone(),
        ("at", Some(value)) => format!("within {value}{unit}"),
        ("always", _) => "always".into(),
        _ => "never".into(),
    }
}

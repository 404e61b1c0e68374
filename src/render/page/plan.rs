//! What to load and where to drive.

use super::Frame;
use crate::query::EFFORT_MAX;
use crate::render::json::{DriveView, PlanLineView, PlanView, StopView, WaitingGradeView};
use maud::{Markup, html};

/// The title.
pub const PLAN: &str = "What to load and where to drive";

/// What was asked, as it was typed.
#[derive(Debug, Clone, Copy, Default)]
pub struct PlanAsked<'a> {
    pub day: Option<&'a str>,
    pub floor: Option<&'a str>,
    /// The rest of the address with the whole question in it.
    pub link: &'a str,
    /// The same, but searching longer.
    pub longer: &'a str,
}

pub fn plan(frame: &Frame, view: &PlanView, asked: &PlanAsked) -> String {
    let body = html! {
        h1 { (PLAN) ", " (view.day) }
        p.forms {
            a.key href={ "/v1/reports/plan.csv" (asked.link) } { "As CSV" } " "
            a.key href={ "/v1/reports/plan.json" (asked.link) } { "As JSON" } " "
            a.key href="/trips" { (super::TRIPS) }
        }
        (question(view, asked))
        p data-verdict=(view.verdict) { strong { (view.says) } }
        @if !view.rules.is_empty() {
            p { "Each of these, dropped alone, makes a drive possible:" }
            ul { @for rule in &view.rules { li { (rule) } } }
        }
        @if let Some(drive) = &view.drive {
            @for (at, stop) in drive.stops.iter().enumerate() { (stop_table(view, at, stop)) }
            (sum(view, drive))
        }
        @if let Some(bound) = &view.bound { (cut(view, bound, asked)) }
        @if !view.compared.is_empty() { (compared(view)) }
        @if !view.home.is_empty() { (home(view)) }
        @if !view.held.is_empty() {
            section aria-labelledby="held" {
                h2 #held { "Grades that wait for a price" }
                @for held in &view.held { (one_held(held)) }
                p.small { "The range is of the first prices of all quotes that began in the last ninety days, in the unit of the hold. Nothing is forecast." }
            }
        }
        section.small {
            h2 { "About this plan" }
            ul {
                @for buyer in &view.beyond { li { (buyer.buyer) " " (buyer.says) "." } }
                @for note in &view.notes { li { (note) } }
                li { "The books stand at event " (view.seq) "." }
            }
        }
    };
    frame.around(body)
}

fn question(view: &PlanView, asked: &PlanAsked) -> Markup {
    html! {
        form.forms method="get" action="/reports/plan" {
            label { "Day " input type="date" name="day" value=[asked.day]; }
            label { "An hour of mine must bring, " (view.currency) " " input name="floor" inputmode="decimal" size="6" value=[asked.floor] placeholder=[view.floor_per_hour.as_ref()] autocomplete="off"; }
            label.tick { input type="checkbox" name="expected" value="true" checked[view.by_expected]; " Plan by what buyers will likely pay, where their tickets tell" }
            button { "Plan" }
        }
    }
}

fn stop_table(view: &PlanView, at: usize, stop: &StopView) -> Markup {
    html! {
        section data-stop=(at + 1) {
            h2 { (at + 1) ". " (stop.buyer) }
            table.report {
                thead { tr { th { "Bins" } th { "Grade" } th.figure { "kg" } th.figure { "In their unit" } th.figure { "Price" } th.figure { (view.currency) } } }
                tbody { @for line in &stop.lines { (line_row(line)) } }
                tfoot { tr { th scope="row" { "At this stop" } td {} td {} td {} td {} td.figure { (stop.value) } } }
            }
        }
    }
}

fn line_row(line: &PlanLineView) -> Markup {
    html! {
        tr {
            th scope="row" { @for (at, bin) in line.bins.iter().enumerate() { @if at > 0 { ", " } (bin.number) } }
            td {
                (line.grade)
                @if let Some(word) = &line.word { br; small { "there: " (word) } }
                @if let Some(known) = &line.expected {
                    br; small { "quoted " (known.quoted) "; " strong { "expected " (known.expected) } ", from " (known.lines) " lines of their tickets" }
                }
            }
            td.figure { (line.mass.kg) }
            td.figure { (line.quantity) " " (line.unit) }
            td.figure {
                (line.price) br;
                small {
                    (line.quote_day) @if line.stale { ", " strong { "stale" } }
                    @if let Some(share) = &line.deduction_percent { ", less " (share) " %" }
                }
            }
            td.figure { (line.value) }
        }
    }
}

fn numbers(stop: &StopView) -> String {
    stop.lines.iter().flat_map(|line| &line.bins).map(|bin| bin.number.to_string()).collect::<Vec<_>>().join(" ")
}

fn sum(view: &PlanView, drive: &DriveView) -> Markup {
    let lines = [
        ("Worth".to_owned(), &drive.value),
        (format!("Driving, {} km ({} mi)", drive.km, drive.miles), &drive.driving),
        (format!("Hours, {} min", drive.minutes), &drive.hours),
        ("Brings".to_owned(), &drive.net),
    ];
    html! {
        form.forms method="get" action="/load-sheet" {
            @for (at, stop) in drive.stops.iter().enumerate() {
                input type="hidden" name={ "buyer" (at + 1) } value=(stop.buyer);
                input type="hidden" name={ "bins" (at + 1) } value=(numbers(stop));
            }
            input type="hidden" name="day" value=(view.day);
            button { (super::LOAD_SHEET) }
        }
        section aria-labelledby="sum" {
            h2 #sum { "What it comes to" }
            p { (drive.bins) " bins, " (drive.mass.kg) " kg (" (drive.mass.lb) " lb); with the vessels " (drive.gross.kg) " kg" @if drive.litres > 0 { ", " (drive.litres) " litres" } "." }
            table.report {
                tbody { @for (what, amount) in lines { tr { th scope="row" { (what) } td.figure { (amount) " " (view.currency) } } } }
            }
        }
    }
}

fn cut(view: &PlanView, bound: &str, asked: &PlanAsked) -> Markup {
    html! {
        p {
            "The search was cut before all was looked through: nothing better than " (bound) " " (view.currency) " can exist. "
            @if view.effort < EFFORT_MAX { a.key href={ "/reports/plan" (asked.longer) } { "Search longer" } }
        }
    }
}

fn compared(view: &PlanView) -> Markup {
    html! {
        section aria-labelledby="compared" {
            h2 #compared { "Against what else you could do" }
            table.report {
                thead { tr { th { "Instead" } th.figure { "Brings" } th.figure { "The drive brings more" } } }
                tbody {
                    @for other in &view.compared {
                        tr data-with=(other.with) {
                            th scope="row" { (other.says) }
                            td.figure { (other.net.as_deref().unwrap_or("–")) }
                            td.figure { (other.more.as_deref().unwrap_or("–")) }
                        }
                    }
                }
            }
        }
    }
}

fn home(view: &PlanView) -> Markup {
    html! {
        section aria-labelledby="home" {
            h2 #home { "Stays at home" }
            table.report {
                thead { tr { th { "Bin" } th { "Grade" } th.figure { "kg" } th { "Why" } } }
                tbody {
                    @for bin in &view.home {
                        tr {
                            th scope="row" { (bin.number) @if let Some(name) = &bin.name { " " (name) } }
                            td { (bin.grade.as_deref().unwrap_or("no grade yet")) }
                            td.figure { (bin.mass.kg) }
                            td { (bin.says) }
                        }
                    }
                }
            }
        }
    }
}

fn one_held(held: &WaitingGradeView) -> Markup {
    html! {
        h3 { (held.grade) }
        p { (held.says) }
        table.report {
            tbody {
                @if let (Some(low), Some(high), Some(last), Some(day)) = (&held.low, &held.high, &held.last, &held.last_day) {
                    tr { th scope="row" { "Low in ninety days" } td.figure { (low) } }
                    tr { th scope="row" { "High in ninety days" } td.figure { (high) } }
                    tr { th scope="row" { "Last, on " (day) } td.figure { (last) } }
                } @else {
                    tr { th scope="row" { "Quotes in ninety days" } td.figure { "none" } }
                }
                @if let Some(tenth) = &held.tenth_less {
                    tr { th scope="row" { "A tenth less would cost, on the " (held.mass.kg) " kg that lie here" } td.figure { (tenth) " " (held.currency) } }
                }
            }
        }
    }
}

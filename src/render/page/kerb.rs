//! What to take at the kerb: a page to set the day on, and the list alone as one file for a phone without a network.

use super::Frame;
use crate::render::json::{KerbLineView, KerbView};
use crate::render::kerb_words::PARTS;
use crate::render::place_words::{MARKS, marks_line};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The title.
pub const KERB: &str = "At the kerb";

/// The whole style of the file: nothing is fetched.
const STYLE: &str = include_str!("kerb.css");

/// The page; `link` is the rest of the address with the question in it.
pub fn kerb(frame: &Frame, list: &KerbView, link: &str) -> String {
    let allowed = |name: &str, words: &str, now: &str| {
        html! {
            label { (words) " "
                select name=(name) {
                    @for (_, code, words) in MARKS.iter().rev() {
                        option value=(code) selected[*code == now] { @if *code == "much" { "any" } @else { (words) } }
                    }
                }
            }
        }
    };
    let body = html! {
        h1 { (KERB) ", " (list.day) }
        p.forms {
            a.key href={ "/v1/reports/kerb.html" (link) } { "The list alone, to save on a phone" } " "
            a.key href={ "/v1/reports/kerb.csv" (link) } { "As CSV" } " "
            a.key href={ "/v1/reports/kerb.json" (link) } { "As JSON" }
        }
        form method="get" action="/reports/kerb" {
            label { "An hour must bring, " (list.currency) " " input name="floor" inputmode="decimal" value=(list.floor_per_hour.as_deref().filter(|_| !list.floor_told).unwrap_or("")) placeholder=[list.floor_per_hour.as_deref()] size="6"; }
            (allowed("strain", "Strain today", &list.today.strain))
            (allowed("mess", "Mess today", &list.today.mess))
            (allowed("space", "Room today", &list.today.space))
            button { "Order it" }
        }
        (parts(list))
        section.small {
            h2 { "About this list" }
            ul { li { "Prices: " (list.prices) "." } @for note in &list.notes { li { (note) } } li { "The books stand at event " (list.seq) "." } }
            p { a.key href="/feeds#marks" { "Marks" } " " a.key href="/reports/hour" { "What an hour is worth" } }
        }
    };
    frame.around(body)
}

/// One file with nothing beside it: no script, no picture, no address that a phone would have to reach. On paper it is as
/// large as a pocket.
pub fn kerb_file(list: &KerbView) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="color-scheme" content="light dark";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (KERB) ", " (list.day) }
                // Else a browser would ask for one by itself.
                link rel="icon" href="data:,";
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    h1 { (KERB) ", " (list.day) }
                    (parts(list))
                    section.notes {
                        p { (list.currency) " an hour. Prices: " (list.prices) "." }
                        @for note in &list.notes { p { (note) } }
                    }
                }
            }
        }
    };
    page.into_string()
}

fn parts(list: &KerbView) -> Markup {
    html! {
        @if list.lines.is_empty() { p { "There is nothing to choose from: no feed has a name yet." } }
        @for (code, words) in PARTS {
            @let lines: Vec<&KerbLineView> = list.lines.iter().filter(|line| line.when == code).collect();
            @if !lines.is_empty() {
                section data-when=(code) {
                    h2 { (words) }
                    ol.kerb { @for line in lines { (row(line)) } }
                }
            }
        }
    }
}

fn row(line: &KerbLineView) -> Markup {
    let marks = marks_line(&crate::render::json::MarksView { veto: None, ..line.marks.clone() });
    html! {
        li {
            div.row {
                span { (line.feed) @if let Some(depth) = &line.depth { ", to " (depth) } }
                span.figure {
                    @match &line.adds_per_hour {
                        Some(figure) => { (figure.value) @if let (Some(low), Some(high)) = (&figure.low, &figure.high) { " (" (low) " to " (high) ")" } },
                        None => "no figure",
                    }
                }
            }
            div.why { (line.reason) @if let Some(marks) = marks { " · " (marks) } }
        }
    }
}

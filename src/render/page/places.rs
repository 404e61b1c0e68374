//! Which grades earn a place at the bench.

use super::Frame;
use crate::render::json::{MoneyView, PlaceLineView, PlacesView};
use crate::render::words_of_places::verdict;
use maud::{Markup, html};

/// The title.
pub const PLACES: &str = "Which bins earn their place";

/// `link` is the rest of the address with the question in it; without a token the page holds no form that writes.
pub fn places(frame: &Frame, report: &PlacesView, link: &str, coarser: &str) -> String {
    let body = html! {
        h1 { (PLACES) ", " (report.day) }
        p.forms {
            a.key href={ "/v1/reports/places.csv" (link) } { "As CSV" } " "
            a.key href={ "/v1/reports/places.json" (link) } { "As JSON" }
        }
        @if !frame.token.is_empty() { (limits(frame, report)) }
        form.forms method="get" action="/reports/places" {
            label { "What can go in with what " input name="coarser" value=(coarser) placeholder="red brass>mixed brass; bright wire>copper" autocomplete="off"; }
            button { "Reckon" }
        }
        @if report.grades.is_empty() { p { "There is no grade yet." } }
        @for grade in &report.grades { (one(frame, report, grade)) }
        section.small {
            h2 { "About these figures" }
            ul { @for note in &report.notes { li { (note) } } li { "The books stand at event " (report.seq) "." } }
        }
    };
    frame.around(body)
}

fn limits(frame: &Frame, report: &PlacesView) -> Markup {
    html! {
        form.forms method="post" action="/limits" {
            (frame.seal())
            label { "An hour of mine must bring, " (report.currency) " " input name="floor" inputmode="decimal" size="6" value=(report.floor_per_hour.as_deref().unwrap_or("")) autocomplete="off"; }
            label { "Places for bins at the bench " input name="places" inputmode="numeric" size="4" value=[report.places] autocomplete="off"; }
            input type="hidden" name="currency" value=(report.currency);
            button { "Keep both" }
        }
    }
}

fn one(frame: &Frame, report: &PlacesView, line: &PlaceLineView) -> Markup {
    let money = |money: &Option<MoneyView>| {
        money.as_ref().map_or("–".to_owned(), |money| format!("{} {}", money.amount, money.currency))
    };
    let or_dash = |text: &Option<String>| text.clone().unwrap_or_else(|| "–".into());
    let bins = line.bins.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    html! {
        section data-grade=(line.grade) data-verdict=(line.verdict) {
            h2 { @if let Some(rank) = line.rank { (rank) ". " } (line.grade) ": " (verdict(&line.verdict, line.coarser.as_deref())) }
            p { (line.reason) "." @if !line.turns.is_empty() { " It would change at " (line.turns.join(", or at ")) "." } }
            table.report {
                tbody {
                    tr { th scope="row" { "Bins" } td.figure { @if bins.is_empty() { "none yet" } @else { (bins) } } }
                    tr {
                        th scope="row" { "Collects in a month" br; small { (line.collected.kg) " kg in " (line.days) " days" } }
                        td.figure { @match &line.month { Some(month) => { (month.kg) " kg · " (month.lb) " lb" }, None => "–" } }
                    }
                    tr {
                        th scope="row" { "A kilogram by itself" @if let Some(buyer) = &line.buyer { br; small { (buyer) @if line.stale { ", " strong { "stale" } } } } }
                        td.figure { (or_dash(&line.own_price_per_kg)) }
                    }
                    tr { th scope="row" { "A kilogram in " (line.coarser.as_deref().unwrap_or("a coarser grade")) @if line.coarser_told { br; small { "as told of the grade" } } } td.figure { (or_dash(&line.coarser_price_per_kg)) } }
                    tr { th scope="row" { "Kept apart it brings more, a month" } td.figure { (money(&line.gain_a_month)) } }
                    tr {
                        th scope="row" { "A full bin" @if line.full_bin.is_some() { br; small { @if line.full_learned { "as tapped" } @else { "as you said that it takes" } } } }
                        td.figure { @match &line.full_bin { Some(full) => { (full.kg) " kg" }, None => "–" } " · " (money(&line.full_bin_value)) }
                    }
                    tr {
                        th scope="row" { "Days to fill" }
                        td.figure {
                            @match &line.days_to_fill {
                                Some(days) => { (days.median) " (" (days.shortest) " to " (days.longest) ", " (days.taps) " taps)" },
                                None => "not tapped yet",
                            }
                        }
                    }
                    tr { th scope="row" { "One wrong piece costs at the worst" } td.figure { (money(&line.wrong_piece_costs)) } }
                }
            }
            @if !frame.token.is_empty() && line.verdict != "coarse" { (sorting(frame, line)) }
            p.small { (report.currency) " a kilogram" }
        }
    }
}

fn sorting(frame: &Frame, line: &PlaceLineView) -> Markup {
    html! {
        form.forms method="post" action="/grades/sorting" {
            (frame.seal())
            input type="hidden" name="grade" value=(line.grade);
            label { "Sorting it out takes more, minutes a month "
                input name="minutes" inputmode="numeric" size="5" value=[line.sorting_minutes_a_month] placeholder="not told" autocomplete="off";
            }
            button { "Keep" span.hidden { " for " (line.grade) } }
        }
    }
}

//! Drives with bins: setting out, and taking back what was never driven.

use super::Frame;
use crate::render::json::RunView;
use maud::{Markup, html};

const SHOWN: usize = 10;

/// For the page of tickets.
pub fn runs(frame: &Frame, runs: &[RunView], currency: &str) -> Markup {
    html! {
        @if !runs.is_empty() {
            section aria-labelledby="runs" {
                h2 #runs { "Drives with bins" }
                table.report {
                    thead { tr { th { "Run" } th { "Day" } th { "To" } th { "Bins" } th { "Tickets" } th { "" } } }
                    tbody { @for run in runs.iter().take(SHOWN) {
                        tr data-state=[run.taken_back.then_some("voided")] {
                            th scope="row" { (run.id) }
                            td { (run.day) }
                            td { (run.stops.join(", ")) }
                            td { (run.bins()) }
                            td { @for ticket in &run.tickets { a href={ "/tickets/" (ticket) } { (ticket) } " " } }
                            td { @if run.taken_back { "taken back" } @else if run.open() { (take_back(frame, run)) } }
                        }
                    } }
                }
            }
        }
        (set_out(frame, currency))
    }
}

fn take_back(frame: &Frame, run: &RunView) -> Markup {
    html! {
        details {
            summary { "It never went" }
            form method="post" action={ "/runs/" (run.id) "/take-back" } {
                (frame.seal())
                label { "Why " input name="reason" required autocomplete="off"; }
                button { "Take it back" span.hidden { ", run " (run.id) } }
            }
        }
    }
}

fn set_out(frame: &Frame, currency: &str) -> Markup {
    html! {
        details.forms {
            summary { "I set out with bins" }
            form method="post" action="/runs" {
                (frame.seal())
                label { "To, in order " input name="stops" list="buyers" required autocomplete="off"; }
                label { "Bins on board " input name="loads" placeholder="3; 4; 5=2.5" required autocomplete="off"; }
                label { "Parts are in " select name="unit" { option value="kg" { "kilograms" } option value="lb" { "pounds" } } }
                label { "Kilometres, there and back " input name="distance" autocomplete="off"; }
                label { "Minutes, all told " input name="minutes" inputmode="numeric" autocomplete="off"; }
                label { "Cost of the drive, " (currency) " " input name="cost" autocomplete="off"; }
                label { "Day " input name="day" placeholder="today, or 2026-03-01" autocomplete="off"; }
                button { "They are on board" }
            }
            p.small { "Bins that go whole are empty at home from then on; what no ticket takes is asked." }
        }
    }
}

//! The report before the trip, for the screen and for paper.

use super::Frame;
use super::week::through_the_week;
use crate::render::json::{OfferView, WeekView, YardRunView};
use crate::render::text::counted;
use crate::render::words::{CAUTIONS, SELLING, counted_before};
use maud::{Markup, html};

/// `week` is what came into each bin until the day of the report.
pub fn yard_run(frame: &Frame, report: &YardRunView, week: &WeekView) -> String {
    let body = html! {
        h1 { "Before the trip, " (report.day) }
        p.forms { a.key href="/v1/reports/yard-run.csv" { "As CSV" } " " a.key href="/v1/reports/yard-run.json" { "As JSON" } }
        section { (table(report)) }
        (left_out(report))
        section aria-labelledby="settle" {
            h2 #settle { "To settle" }
            @if report.to_settle.is_empty() { p { "Nothing." } }
            @else { ul { @for riddle in &report.to_settle { li { (riddle) } } } }
        }
        (through_the_week(week))
        section.small {
            h2 { "About these figures" }
            ul { @for note in &report.notes { li { (note) } } li { "The books stand at event " (report.seq) "." } }
            h2 { "Cautions" }
            ul { @for caution in CAUTIONS { li { (caution.text) " (" (caution.source) ")" } } li { (SELLING) } }
        }
    };
    frame.around(body)
}

fn table(report: &YardRunView) -> Markup {
    let counted_any = report.bins.iter().any(|bin| bin.pieces.is_some());
    html! {
        table.report {
            thead { tr {
                th { "Bin" } th { "Grade" } th.figure { "kg" } th.figure { "± kg" } th.figure { "lb" } th.figure { "Drops" } @if counted_any { th.figure { "Pieces" } }
                th.figure { "Full" } th.figure { "Days" }
                @for buyer in &report.buyers { th.figure { (buyer.name) " " (buyer.currency) } }
            } }
            tbody {
                @for bin in &report.bins {
                    tr data-bin=(bin.number) {
                        th scope="row" { (bin.number) @if let Some(name) = &bin.name { " " (name) } }
                        td { (bin.grade.as_deref().unwrap_or("no grade yet")) }
                        td.figure.kg { (bin.mass.kg) }
                        td.figure { (bin.uncertainty_kg) }
                        td.figure.lb { (bin.mass.lb) }
                        td.figure { (bin.drops) }
                        @if counted_any { td.figure { @if let Some(pieces) = bin.pieces { (pieces) @if bin.pieces_at_kg.is_some() { "?" } } } }
                        td.figure { @if let Some(percent) = bin.filled_percent { (percent) " %" } @else { "–" } }
                        td.figure { @if let Some(days) = bin.days_since_emptied { (days) } @else { "?" } }
                        @for offer in &bin.offers { (cell(offer.as_ref())) }
                    }
                }
            }
            tfoot { tr {
                th scope="row" { "All bins" } td {}
                td.figure.kg { (report.total.kg) }
                td.figure { (report.total_uncertainty_kg) }
                td.figure.lb { (report.total.lb) }
                td {} td {} td {} @if counted_any { td {} }
                @for total in &report.totals { td.figure.total { (total.value) @if let Some(cash) = &total.in_cash { br; small { "in cash " (cash) } } } }
            } }
        }
    }
}

fn cell(offer: Option<&OfferView>) -> Markup {
    html! {
        @match offer {
            None => td.figure { "no quote" },
            Some(offer) => td.figure {
                @match (&offer.value, &offer.minimum_kg) {
                    (Some(value), _) => (value),
                    (None, Some(minimum)) => { "under " (minimum) " kg" },
                    (None, None) if offer.not_counted => "not counted",
                    (None, None) => "–",
                }
                br;
                small { (offer.price) "/" (offer.per) br; @if offer.stale { strong { "stale: " } } (offer.quote_day) }
            },
        }
    }
}

fn left_out(report: &YardRunView) -> Markup {
    html! {
        p { "All bins: " (report.own_error.text) }
        ul {
            @for bin in report.bins.iter().filter(|bin| bin.pieces_at_kg.is_some()) { li { "Bin " (bin.number) ": " (counted_before(bin)) "." } }
            @for (buyer, total) in report.buyers.iter().zip(&report.totals) {
                @if let Some(cash) = &total.in_cash {
                    li { (buyer.name) ": " (cash) " " (buyer.currency) " where it is paid in cash; the total is rounded, never a line." }
                }
                @if total.left_out_bins > 0 {
                    li { (buyer.name) ": the total is without " (total.left_out_kg) " kg in " (counted(total.left_out_bins, "bin")) " that have no quote, lie under the minimum, or are not counted." }
                }
                @if total.stale_bins > 0 { li { (buyer.name) ": a stale quote for " (counted(total.stale_bins, "bin")) "." } }
            }
            @if report.unassigned.drops > 0 {
                li { "Not in any bin yet: " (report.unassigned.mass.kg) " kg in " (counted(report.unassigned.drops, "drop")) "." }
            }
            @if report.provisional_drops > 0 { li { "Not confirmed yet and in no figure: " (counted(report.provisional_drops, "drop")) "." } }
        }
    }
}

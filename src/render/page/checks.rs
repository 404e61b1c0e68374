//! Check weights: the form, what each scale was found to err by, and when the next check is due.

use super::Frame;
use crate::render::check_words::{CHECK_HOW, percent};
use crate::render::json::{CheckView, DriftView, ScaleChecksView};
use maud::{Markup, html};

/// A bench, and what its scale shows while it is at rest.
#[derive(Debug, Clone)]
pub struct CheckPlace {
    pub bench: u16,
    pub shown: Option<String>,
}

pub fn checks(frame: &Frame, places: &[CheckPlace], scales: &[ScaleChecksView]) -> String {
    let body = html! {
        h1 { "Check weights" }
        p { (CHECK_HOW) }
        @for place in places { (form(frame, place)) }
        @for (index, scale) in scales.iter().enumerate() { (history(scale, index)) }
        @if scales.is_empty() { p { "No scale was seen yet." } }
    };
    frame.around(body)
}

fn form(frame: &Frame, place: &CheckPlace) -> Markup {
    html! {
        form method="post" action={ "/benches/" (place.bench) "/check-weights" } {
            (frame.seal())
            h3 {
                "On bench " (place.bench) ": "
                @match &place.shown {
                    Some(shown) => { "the scale shows " (shown) " now, at rest" },
                    None => "the scale is not at rest",
                }
            }
            label { "The weight is, with its unit " input name="nominal" placeholder="1kg" required autocomplete="off"; }
            label { "What it is, and who says so " input name="source" placeholder="test weight, class M1" required; }
            label { "Right within " input name="within" placeholder="0.05g" autocomplete="off"; }
            label { "The scale shows " input name="shown" placeholder="what it shows when you press" autocomplete="off"; }
            button { "Keep this check" }
        }
    }
}

fn history(scale: &ScaleChecksView, index: usize) -> Markup {
    html! {
        section {
            h2 { "Bench " (scale.bench) @if let Some(name) = &scale.scale { ", " (name) } @if !scale.current { " (not there now)" } }
            p { strong { (scale.due_text) } " " (scale.bound) }
            @if let Some(warming) = &scale.warming { p { (warming) } }
            (super::check_plot::errors_over_time(scale, index))
            @if !scale.checks.is_empty() { (table(&scale.checks)) }
            @if !scale.drifts.is_empty() { ul { @for drift in &scale.drifts { li { (moved(drift)) } } } }
        }
    }
}

fn table(checks: &[CheckView]) -> Markup {
    let grams = |mass: &Option<crate::render::json::MassView>| mass.as_ref().map_or("?".to_owned(), |mass| mass.grams.clone());
    html! {
        table.report {
            thead { tr {
                th { "Day" } th.figure { "Weight, g" } th { "What" } th.figure { "Shown, g" } th.figure { "Error, g" }
                th.figure { "± g" } th.figure { "May be, g" } th { "Verdict" } th.figure { "Bounds to" }
            } }
            tbody {
                @for check in checks {
                    tr {
                        th scope="row" { (check.at.time.get(..10).unwrap_or_default()) @if !check.at.sure { " ?" } }
                        td.figure { (check.nominal.grams) }
                        td { (check.source.as_deref().unwrap_or("")) }
                        td.figure { (check.shown.grams) }
                        td.figure { (check.error.grams) }
                        td.figure { (grams(&check.uncertainty)) }
                        td.figure { (grams(&check.tolerance)) }
                        td { (check.verdict_text) }
                        td.figure { @if let Some(ppm) = check.bound_ppm { (percent(ppm)) " %" } @else { "nothing" } }
                    }
                }
            }
        }
    }
}

/// What a weight that was laid on again shows.
fn moved(drift: &DriftView) -> String {
    let what = if drift.moved { "the scale has moved" } else { "within what the readings may err by" };
    format!("{} g over {} days: {} g, {what}", drift.nominal.grams, drift.days, drift.change.grams)
}

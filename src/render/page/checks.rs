//! Check weights: the form, what each scale was found to err by, and when the next check is due.

use super::Frame;
use crate::economy::coins::{COINS, Maker};
use crate::render::check_words::{self, CHECK_HOW, percent};
use crate::render::figures::grams;
use crate::render::json::{CheckView, DisturbanceView, DriftView, DropView, ScaleChecksView};
use maud::{Markup, html};

/// A bench, and what its scale shows while it is at rest.
#[derive(Debug, Clone)]
pub struct CheckPlace {
    pub bench: u16,
    pub shown: Option<String>,
    /// A load that is to be a check weight, or that lies there as one, in words.
    pub announced: Option<String>,
    pub asked: bool,
    /// The last drops: one of them may have been a check weight.
    pub drops: Vec<DropView>,
}

pub fn checks(frame: &Frame, places: &[CheckPlace], scales: &[ScaleChecksView]) -> String {
    let body = html! {
        h1 { "Check weights" }
        p { (CHECK_HOW) }
        @for place in places { (form(frame, place)) }
        @for (index, scale) in scales.iter().enumerate() { (history(scale, index)) }
        @if scales.is_empty() { p { "No scale was seen yet." } }
        p.small {
            "Masses of coins: " (check_words::coin_source(Maker::UnitedStates)) "; " (check_words::coin_source(Maker::EuroArea))
            ". " (check_words::COINS_BOUND_NOTHING)
        }
    };
    frame.around(body)
}

/// What it is: typed, or coins of which a maker publishes what they weigh.
fn weight() -> Markup {
    html! {
        label { "The weight is, with its unit " input name="nominal" placeholder="1kg" autocomplete="off"; }
        label { "What it is, and who says so " input name="source" placeholder="test weight, class M1"; }
        label { "Right within " input name="within" placeholder="0.05g" autocomplete="off"; }
        label { "Or coins "
            select name="coin" {
                option value="" { "no coins" }
                @for coin in COINS { option value=(coin.code) { (check_words::coin(coin)) ", " (grams(coin.times(1))) " g" } }
            }
        }
        label { "How many of them " input name="count" inputmode="numeric" autocomplete="off"; }
    }
}

fn form(frame: &Frame, place: &CheckPlace) -> Markup {
    let bench = place.bench;
    html! {
        section {
            h2 { "On bench " (bench) }
            p {
                @match &place.shown {
                    Some(shown) => { "The scale shows " (shown) " now, at rest." },
                    None => "The scale is not at rest.",
                }
            }
            @if let Some(announced) = &place.announced { p { strong { (announced) } } }
            form method="post" action={ "/benches/" (bench) "/check" } {
                (frame.seal())
                h3 { "The next load is a check weight" }
                (weight())
                button name="act" value="ask" { "Then lay it on" }
                @if place.asked { button name="act" value="withdraw" formnovalidate { "No check weight after all" } }
            }
            @if !place.drops.is_empty() { (was_a_drop(frame, place)) }
            details {
                summary { "It lies there now, or I weighed it before" }
                form method="post" action={ "/benches/" (bench) "/check-weights" } {
                    (frame.seal())
                    label { "The weight is, with its unit " input name="nominal" placeholder="1kg" required autocomplete="off"; }
                    label { "What it is, and who says so " input name="source" placeholder="test weight, class M1" required; }
                    label { "Right within " input name="within" placeholder="0.05g" autocomplete="off"; }
                    label { "The scale shows " input name="shown" placeholder="what it shows when you press" autocomplete="off"; }
                    button { "Keep this check" }
                }
            }
            form method="post" action={ "/benches/" (bench) "/disturbances" } {
                (frame.seal())
                h3 { "The scale was" }
                @for (how, words) in [("moved", "moved or levelled"), ("mended", "mended or adjusted"), ("exchanged", "exchanged")] {
                    button name="how" value=(how) { (words) }
                }
                label { "In a few words " input name="reason" placeholder="swept under the bench" autocomplete="off"; }
            }
        }
    }
}

/// A check weight that was laid on without a word made a drop.
fn was_a_drop(frame: &Frame, place: &CheckPlace) -> Markup {
    let confirmed = || place.drops.iter().filter(|drop| drop.state == "confirmed");
    html! {
        @if confirmed().next().is_some() {
            details {
                summary { "A drop was a check weight" }
                form method="post" action="/check-weights/drop" {
                    (frame.seal())
                    label { "The drop "
                        select name="drop" required {
                            @for drop in confirmed() { option value=(drop.id) { (drop.id) ": " (drop.mass.grams) " g" } }
                        }
                    }
                    (weight())
                    button { "It was a check weight" }
                }
            }
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
            @if !scale.disturbances.is_empty() { (disturbances(&scale.disturbances)) }
            @if !scale.drifts.is_empty() { ul { @for drift in &scale.drifts { li { (moved(drift)) } } } }
        }
    }
}

fn disturbances(told: &[DisturbanceView]) -> Markup {
    html! {
        p { "What was found before such a day bounds what was weighed until then, and nothing since:" }
        ul { @for one in told { li { (one.at.time.get(..10).unwrap_or_default()) ": " (one.how) " (" (one.reason) ")" } } }
    }
}

fn table(checks: &[CheckView]) -> Markup {
    let known = |mass: &Option<crate::render::json::MassView>| mass.as_ref().map_or("?".to_owned(), |mass| mass.grams.clone());
    html! {
        table.report {
            thead { tr {
                th { "Day" } th.figure { "Weight, g" } th { "What" } th.figure { "Shown, g" } th.figure { "Error, g" }
                th.figure { "± g" } th.figure { "May be, g" } th { "Verdict" } th.figure { "Bounds to" }
            } }
            tbody {
                @for check in checks {
                    tr {
                        th.day scope="row" { (check.at.time.get(..10).unwrap_or_default()) @if !check.at.sure { " ?" } }
                        td.figure { (check.nominal.grams) }
                        td { (check.source.as_deref().unwrap_or("")) }
                        td.figure { (check.shown.grams) }
                        td.figure { (check.error.grams) }
                        td.figure { (check.uncertainty_shown.as_deref().unwrap_or("?")) }
                        td.figure { (known(&check.tolerance)) }
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

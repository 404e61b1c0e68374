//! The trial against the clock: its countdown and forms on the bench page, and what came of each in the report.

use super::{Frame, STYLE_PATH};
use crate::measure::Span;
use crate::render::figures::clock;
use crate::render::json::{BenchView, RunningTrialView, TrialView};
use crate::render::text::counted;
use maud::{DOCTYPE, Markup, html};

/// How often the countdown loads itself anew where there is no script, in seconds.
const AGAIN: &str = "5";

/// The words of the countdown.
fn left(trial: &RunningTrialView) -> String {
    let of = clock(Span::seconds(trial.set_seconds));
    match trial.left_seconds {
        0 => format!("Time is up: {of} are over"),
        left => format!("{} left of {of}", clock(Span::seconds(left))),
    }
}

/// The countdown as a page of its own, which loads itself anew.
pub fn countdown(trial: Option<&RunningTrialView>) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="color-scheme" content="light dark";
                @if trial.is_some_and(|trial| trial.left_seconds > 0) { meta http-equiv="refresh" content=(AGAIN); }
                title { "Countdown · Bismar" }
                link rel="stylesheet" href=(STYLE_PATH);
            }
            body { p.countdown { (trial.map_or_else(|| "No trial runs.".to_owned(), left)) } }
        }
    };
    page.into_string()
}

/// On the bench page, while there is a stretch.
pub fn on_bench(frame: &Frame, bench: &BenchView) -> Markup {
    html! {
        @if let Some(trial) = &bench.trial {
            section.trial aria-labelledby="trial" {
                h2 #trial { "Against the clock: " (trial.feed) }
                p.countdown.live #countdown data-left=(trial.left_seconds) data-set=(trial.set_seconds) { (left(trial)) }
                noscript { iframe.countdown src={ "/benches/" (bench.id) "/countdown" } title="Countdown" {} }
                form method="post" action={ "/benches/" (bench.id) "/trial" } {
                    (frame.seal())
                    input type="hidden" name="trial" value=(trial.id);
                    label { "Pieces that I took apart " input name="pieces" inputmode="numeric" size="6" autocomplete="off"; }
                    label { "What they weighed before " input name="weight" placeholder="12.5kg" autocomplete="off"; }
                    button name="act" value="end" { "End the trial" }
                }
                form.mend method="post" action={ "/records/" (trial.id) } {
                    (frame.seal())
                    input type="hidden" name="back" value="bench";
                    input type="hidden" name="reason" value="no trial after all, said on the page";
                    button { "It was no trial" }
                }
            }
        } @else if bench.session.is_some() {
            form method="post" action={ "/benches/" (bench.id) "/trial" } {
                (frame.seal())
                label { "Against the clock, minutes " input name="minutes" inputmode="numeric" size="6" value="10" required autocomplete="off"; }
                label { "What " input name="feed" list="feeds" placeholder="what is at hand" autocomplete="off"; }
                button name="act" value="begin" { "Start the clock" }
            }
        }
    }
}

/// In the report.
pub fn in_report(trials: &[TrialView], currency: &str) -> Markup {
    html! {
        @if !trials.is_empty() {
            section aria-labelledby="trials" {
                h2 #trials { "Trials against the clock, one sample each" }
                table.report {
                    thead { tr {
                        th { "Day" } th { "What" } th.figure { "Time" } th.figure { "Pieces" } th.figure { "Brings an hour" }
                        th.figure { "Adds an hour" } th.figure { "100 pieces add" } th { "Mind" }
                    } }
                    tbody { @for trial in trials {
                        tr {
                            th scope="row" { (trial.at.time.get(..10).unwrap_or_default()) @if !trial.at.sure { " ?" } }
                            td { (trial.feed) br; small { (counted(trial.drops, "drop")) } }
                            td.figure { (clock(Span::seconds(trial.worked_seconds))) }
                            td.figure { @if let Some(pieces) = trial.pieces { (pieces) } @else { "–" } }
                            td.figure { @if let Some(brings) = &trial.brings_per_hour { (brings) " " (currency) } @else { "–" } }
                            td.figure { @if let Some(adds) = &trial.adds_per_hour { (adds) " " (currency) } @else { "–" } }
                            td.figure {
                                @match (&trial.hundred_pieces_add, trial.hundred_pieces_seconds) {
                                    (Some(add), Some(seconds)) => { (add) " " (currency) br; small { "in " (clock(Span::seconds(seconds))) } },
                                    _ => "–",
                                }
                            }
                            td { (trial.says.join("; ")) }
                        }
                    } }
                }
            }
        }
    }
}

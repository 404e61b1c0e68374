//! The bench page: read from three metres by somebody who is not touching it.

use super::Frame;
use super::bins::bin_options;
use super::questions::questions;
use super::trial::on_bench;
use crate::render::json::{BenchView, BinView, DropView, LotView, RiddleView};
use crate::render::text::counted;
use maud::{Markup, html};

/// What the bench page shows beside the bench itself.
pub struct Beside<'a> {
    pub bins: &'a [BinView],
    pub feeds: &'a [String],
    pub riddles: &'a [RiddleView],
    /// Every lot, newest first.
    pub lots: &'a [LotView],
}

pub fn bench(frame: &Frame, bench: &BenchView, beside: &Beside) -> String {
    let Beside { bins, feeds, riddles, lots } = *beside;
    let body = html! {
        section.weight #live data-bench=(bench.id) data-scale=(bench.live.scale) {
            p.shown {
                output #shown aria-live="off" { (bench.live.shown.as_deref().unwrap_or("–")) }
                " " span #unit { (bench.live.unit.as_deref().unwrap_or("")) }
            }
            p.state #state { (state_words(bench)) }
            p.state #advice { (bench.live.advice.as_deref().unwrap_or("")) }
            noscript { p { "The live weight needs script; everything else works without." } }
        }
        section.target {
            h1 #bin {
                @match &bench.bin {
                    Some(bin) => { span.number { (bin.number) } span { (bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or("")) } }
                    None => span { "no bin yet" }
                }
            }
            p #content {
                @if let Some(bin) = &bench.bin { (bin.mass.kg) " kg · " (bin.mass.lb) " lb in it" }
                @else { "What is dropped now is kept without a bin." }
            }
        }
        p.asked #intake { (intake_words(bench)) }
        p.asked #check { (bench.check.as_deref().unwrap_or("")) }
        (suggestion(frame, bench))
        p.news #news role="status" aria-live="polite" {}
        section aria-labelledby="choose" {
            h2 #choose { "Choose the bin" }
            form.keys method="post" action={ "/benches/" (bench.id) "/choose" } {
                (frame.seal())
                @for bin in bins.iter().filter(|bin| !bin.retired) {
                    @let chosen = bench.bin.as_ref().is_some_and(|at| at.number == bin.number);
                    button name="bin" value=(bin.number) aria-pressed=(chosen) {
                        span.number { (bin.number) }
                        span.label { (bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or("no grade yet")) }
                    }
                }
                button name="bin" value="" aria-pressed=(bench.bin.is_none()) { span.number { "–" } span.label { "no bin" } }
            }
        }
        @if let Some(warming) = &bench.warming { p.forms { (warming) } }
        @if let Some(bin) = bench.bin.as_ref().filter(|bin| bin.mass.grams != "0") {
            form.keys.forms method="post" action={ "/bins/" (bin.number) "/full" } {
                (frame.seal())
                button.full disabled[bins.iter().any(|known| known.number == bin.number && known.full)] {
                    @if bins.iter().any(|known| known.number == bin.number && known.full) { "Bin " (bin.number) " was tapped full" } @else { "Bin " (bin.number) " is full" }
                }
            }
        }
        @if let Some(reminder) = &bench.check_reminder { p.forms { (reminder) " " a.key href="/check-weights" { "Check weights" } } }
        @if let Some(reminder) = &bench.round_reminder { p.forms { (reminder) ". " a.key href="/stock-round" { "Stock round" } } }
        (questions(frame, bench.id, riddles, bins))
        (session(frame, bench, feeds))
        (on_bench(frame, bench))
        (worked_off(frame, lots))
        (manner(frame, bench))
        (last_drops(frame, &bench.last_drops, bins))
    };
    frame.around(body)
}

/// What the next load is taken for, where it is no drop.
fn intake_words(bench: &BenchView) -> String {
    bench.intake.as_ref().map_or(String::new(), |intake| {
        let feed = intake.feed.as_deref().map(|feed| format!(" ({feed})")).unwrap_or_default();
        format!("The next load is weighed before it is taken apart{feed}")
    })
}

/// Another manner, with the press that takes it; the live script shows it when it comes.
fn suggestion(frame: &Frame, bench: &BenchView) -> Markup {
    let now = bench.live.suggestion.as_ref();
    html! {
        section.questions #suggestion hidden[now.is_none()] {
            form method="post" action={ "/benches/" (bench.id) "/manner" } {
                (frame.seal())
                p { (now.map_or("", |suggestion| suggestion.text.as_str())) }
                button.yes name="manner" value=(now.map_or("", |suggestion| suggestion.manner.as_str())) { "Yes, from now on" }
                button.no name="manner" value=(bench.manner) { "No, as it is" }
            }
        }
    }
}

/// How many lots that were closed last can be opened again from here.
const CLOSED_SHOWN: usize = 3;

/// The lots that are being worked off, each with the press that ends it.
fn worked_off(frame: &Frame, lots: &[LotView]) -> Markup {
    let confirmed =
        |open: bool| lots.iter().filter(move |lot| lot.state == "confirmed" && lot.feed.is_some() && lot.open == open);
    let line = |lot: &LotView, act: &str, words: &str| {
        let feed = lot.feed.as_deref().unwrap_or_default();
        html! {
            li {
                form method="post" action={ "/lots/" (lot.id) } {
                    (frame.seal())
                    (feed) @if let Some(depth) = &lot.depth { " to " (depth) } ", " (how_much(lot)) " (lot " (lot.id) ") "
                    button name="act" value=(act) { (words) span.hidden { ": lot " (lot.id) } }
                }
            }
        }
    };
    html! {
        @if confirmed(true).next().is_some() || confirmed(false).next().is_some() {
            section aria-labelledby="lots" {
                h2 #lots { "What I weighed before taking it apart" }
                ul {
                    @for lot in confirmed(true) { (line(lot, "close", "All apart")) }
                    @for lot in confirmed(false).take(CLOSED_SHOWN) { (line(lot, "reopen", "Not all apart yet")) }
                }
                p { a.key href="/reports/hour" { "What an hour is worth" } " " a.key href="/feeds" { "Tell more of them" } }
            }
        }
    }
}

/// Weighed, counted, or both.
fn how_much(lot: &LotView) -> String {
    let pieces = lot.pieces.map(|pieces| counted(pieces as usize, "piece"));
    let mass = lot.mass.as_ref().map(|mass| format!("{} kg", mass.kg));
    mass.into_iter().chain(pieces).collect::<Vec<_>>().join(", ")
}

/// What the weight stands for, in a person's words.
fn state_words(bench: &BenchView) -> &'static str {
    match (bench.live.scale.as_str(), bench.live.settled) {
        ("absent", _) => "scale absent",
        ("silent", _) => "scale silent",
        (_, true) => "at rest",
        (_, false) => "moving",
    }
}

fn manner(frame: &Frame, bench: &BenchView) -> Markup {
    html! {
        section aria-labelledby="how" {
            h2 #how { "How I weigh" }
            form.keys method="post" action={ "/benches/" (bench.id) "/manner" } {
                (frame.seal())
                @for (name, what) in MANNERS {
                    button name="manner" value=(name) aria-pressed=(bench.manner == name) { (what) }
                }
            }
        }
    }
}

/// The manners in a person's words.
const MANNERS: [(&str, &str); 4] = [
    ("heap", "Into the bin on the scale"),
    ("tray", "Into a tray, then tip it"),
    ("pan", "One load at a time"),
    ("sort", "Sort from a pile"),
];

fn session(frame: &Frame, bench: &BenchView, feeds: &[String]) -> Markup {
    let choice = html! {
        label { "What I'm taking apart "
            input name="feed" list="feeds" autocomplete="off" placeholder="leave it open";
        }
        datalist #feeds { @for feed in feeds { option value=(feed) {} } }
    };
    html! {
        section aria-labelledby="stretch" {
            h2 #stretch { "This stretch" }
            @match &bench.session {
                None => {
                    form method="post" action={ "/benches/" (bench.id) "/session" } {
                        (frame.seal()) (choice)
                        button name="act" value="start" { "Start" }
                    }
                }
                Some(session) => {
                    p {
                        span #clock { (crate::render::figures::clock(crate::measure::Span::seconds(session.hands_on_seconds))) }
                        @if session.paused { " · paused" }
                        @if session.clock_unsure { " · the clock is not certain" }
                        " · " (counted(session.drops as usize, "drop")) " · " (session.mass.kg) " kg"
                        @if let Some(feed) = session.legs.last().and_then(|leg| leg.feed.as_ref()) { " · " (feed) }
                    }
                    form method="post" action={ "/benches/" (bench.id) "/session" } {
                        (frame.seal()) (choice)
                        button name="act" value="leg" { "Next thing" }
                        @if session.paused { button name="act" value="resume" { "Go on" } }
                        @else { button name="act" value="pause" { "Pause" } }
                        button name="act" value="end" { "End" }
                    }
                }
            }
            form method="post" action={ "/benches/" (bench.id) "/intake" } {
                (frame.seal())
                @if bench.intake.is_some() { button name="act" value="withdraw" { "Weigh no intake" } }
                @else { button name="act" value="ask" { "Weigh it before I take it apart" } }
            }
            @if bench.check.is_some() {
                form method="post" action={ "/benches/" (bench.id) "/check" } {
                    (frame.seal())
                    button name="act" value="withdraw" { "No check weight after all" }
                }
            }
        }
    }
}

fn last_drops(frame: &Frame, drops: &[DropView], bins: &[BinView]) -> Markup {
    html! {
        section aria-labelledby="last" {
            h2 #last { "Last drops" }
            // The live script fills the first row in, so the table is there before there is a drop.
            table.drops {
                thead { tr { th { "Drop" } th.figure { "kg" } th.figure { "lb" } th { "Bin" } th { "State" } th { span.hidden { "Put right" } } } }
                tbody #drops {
                    @for drop in drops {
                        tr data-state=(drop.state) {
                            td { (drop.id) }
                            td.figure { (drop.mass.kg) }
                            td.figure { (drop.mass.lb) }
                            td { (drop.bin.map_or("no bin yet".to_owned(), |bin| bin.to_string())) }
                            td { (drop.state) @if let Some(doubt) = &drop.doubt { ": " (doubt) } }
                            td { @if drop.state == "confirmed" { (mend(frame, drop, bins)) } }
                        }
                    }
                }
            }
            @if drops.is_empty() { p #none { "None yet: put something on the scale." } }
            p { a.key href="/v1/drops.csv?limit=1000" { "The last thousand drops as CSV" } }
        }
    }
}

fn mend(frame: &Frame, drop: &DropView, bins: &[BinView]) -> Markup {
    html! {
        details {
            summary { "Put right" span.hidden { " drop " (drop.id) } }
            form.mend method="post" action={ "/drops/" (drop.id) } {
                (frame.seal())
                label { span.hidden { "Move drop " (drop.id) " to bin" }
                    select name="to" {
                        option value="" { "to bin…" }
                        (bin_options(bins, drop.bin))
                    }
                }
                button name="act" value="move" { "Move" }
                button name="act" value="void" { "Was no material" }
            }
        }
    }
}

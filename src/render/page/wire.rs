//! Wire: samples, and whether stripping pays.

use super::Frame;
use crate::measure::Span;
use crate::render::figures::clock;
use crate::render::json::{WireKindView, WireReportView, WireSampleView};
use crate::render::wire_words::verdict;
use maud::{Markup, html};

/// The title.
pub const WIRE: &str = "Wire";

/// Rows of samples on the page; the whole of it is the JSON.
const SHOWN: usize = 25;

/// What the forms offer.
pub struct WireBeside<'a> {
    pub feeds: &'a [String],
    pub grades: &'a [String],
}

/// `link` is the rest of the address with the question in it; without a token the page holds no form that writes.
pub fn wire(frame: &Frame, report: &WireReportView, beside: &WireBeside, link: &str) -> String {
    let body = html! {
        h1 { (WIRE) ", " (report.day) }
        p.caution { (report.caution) }
        p.forms {
            a.key href={ "/v1/reports/wire.csv" (link) } { "As CSV" } " "
            a.key href={ "/v1/reports/wire.json" (link) } { "As JSON" }
        }
        form method="get" action="/reports/wire" {
            label { "An hour must bring, " (report.currency) " " input name="floor" inputmode="decimal" value=(report.floor_per_hour.as_deref().unwrap_or("")) size="6"; }
            label { "Being rid of a kilogram of insulation costs, " (report.currency) " " input name="disposal" inputmode="decimal" value=(report.disposal_per_kg.as_deref().unwrap_or("")) size="6"; }
            label.tick { input type="checkbox" name="left" value="true" checked[link.contains("left=true")]; " Wire that nobody buys I would have left" }
            button { "Reckon" }
        }
        @if report.kinds.is_empty() {
            p { "Too little data: no wire was sampled. Weigh a length, strip it, weigh the metal, and tell it below." }
        }
        @for kind in &report.kinds { (one(report, kind)) }
        @if !frame.token.is_empty() { (sample(frame, beside)) }
        (samples(frame, &report.samples))
        section.small {
            h2 { "About these figures" }
            ul { @for note in &report.notes { li { (note) } } li { "The books stand at event " (report.seq) "." } }
        }
    };
    frame.around(body)
}

fn one(report: &WireReportView, kind: &WireKindView) -> Markup {
    let or_dash = |figure: &Option<String>| figure.clone().unwrap_or_else(|| "–".into());
    let within = |figure: &Option<String>, by: &Option<String>| match (figure, by) {
        (Some(figure), Some(by)) => format!("{figure} ± {by}"),
        _ => "–".into(),
    };
    html! {
        section data-feed=(kind.feed) data-verdict=(kind.verdict) {
            h2 { (kind.feed) " to " (kind.metal) ": " (verdict(&kind.verdict)) }
            p { (kind.reason) "." @for turn in &kind.turns { " " (capital(turn)) "." } }
            table.report {
                tbody {
                    tr {
                        th scope="row" { "Metal, of the wire" }
                        td.figure {
                            @match &kind.recovery_percent {
                                Some(figure) => {
                                    (figure.value) " ± " (or_dash(&kind.recovery_uncertainty_percent)) " %"
                                    @if let (Some(low), Some(high)) = (&figure.low, &figure.high) { br; small { "(95 %: " (low) " to " (high) ")" } }
                                },
                                None => "–",
                            }
                        }
                    }
                    tr { th scope="row" { "In " (kind.samples) " of " (kind.insulated.kg) " kg · " (kind.insulated.lb) " lb" } td.figure { (kind.bare.kg) " kg · " (kind.bare.lb) " lb" } }
                    tr { th scope="row" { "Wire as it is, a kg" @if let Some(buyer) = &kind.buyer { br; small { (buyer) @if kind.stale { ", " strong { "stale" } } } } } td.figure { (or_dash(&kind.insulated_price_per_kg)) } }
                    tr { th scope="row" { "Metal, a kg" } td.figure { (or_dash(&kind.bare_price_per_kg)) } }
                    tr { th scope="row" { "Stripping gains, a kg of wire" } td.figure { (within(&kind.gain_per_kg, &kind.gain_per_kg_uncertainty)) } }
                    tr { th scope="row" { "Wire in an hour, kg" } td.figure { (or_dash(&kind.kg_per_hour)) } }
                    tr { th scope="row" { "Stripping gains, an hour" } td.figure { (within(&kind.gain_per_hour, &kind.gain_per_hour_uncertainty)) } }
                    tr { th scope="row" { "Pays from, % of metal" } td.figure { (or_dash(&kind.break_even_percent)) } }
                }
            }
            p.small { (report.currency) }
            ul { @for line in &kind.says { li { (line) "." } } }
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn sample(frame: &Frame, beside: &WireBeside) -> Markup {
    html! {
        section.forms aria-labelledby="sample" {
            h2 #sample { "A sample" }
            p { "A metre or two is enough on a fine scale: of what is weighed, a thousand divisions say more than ten." }
            datalist #wires { @for feed in beside.feeds { option value=(feed) {} } }
            form method="post" action="/wire-samples" {
                (frame.seal())
                label { "Kind of wire " input name="feed" list="wires" required autocomplete="off"; }
                label { "Its metal is sold as "
                    select name="metal" required {
                        option value="" { "grade…" }
                        @for grade in beside.grades { option value=(grade) { (grade) } }
                    }
                }
                label { "Wire before, with its unit " input name="before" placeholder="412g" required autocomplete="off"; }
                label { "Metal after, with its unit " input name="after" placeholder="255g" required autocomplete="off"; }
                label { "Minutes, if you timed it " input name="minutes" inputmode="numeric" size="6" autocomplete="off"; }
                button { "Keep the sample" }
            }
        }
    }
}

fn samples(frame: &Frame, samples: &[WireSampleView]) -> Markup {
    html! {
        @if !samples.is_empty() {
            section aria-labelledby="samples" {
                h2 #samples { "Samples" }
                table.report {
                    thead { tr { th { "Day" } th { "Wire" } th { "Metal" } th.figure { "Before, g" } th.figure { "After, g" } th.figure { "Time" } th {} } }
                    tbody { @for sample in samples.iter().take(SHOWN) {
                        tr data-state=[sample.voided.then_some("voided")] {
                            th scope="row" { (sample.day) }
                            td { (sample.feed) }
                            td { (sample.metal) }
                            td.figure { (sample.insulated.grams) }
                            td.figure { (sample.bare.grams) }
                            td.figure { @match sample.seconds { Some(seconds) => (clock(Span::seconds(seconds))), None => "–" } }
                            td {
                                @if sample.voided { "taken back" }
                                @else if !frame.token.is_empty() {
                                    details {
                                        summary { "Take back" span.hidden { " sample " (sample.id) } }
                                        form.mend method="post" action={ "/records/" (sample.id) } {
                                            (frame.seal())
                                            input type="hidden" name="back" value="wire";
                                            label { "Why " input name="reason" required autocomplete="off"; }
                                            button { "Take it back" }
                                        }
                                    }
                                }
                            }
                        }
                    } }
                }
            }
        }
    }
}

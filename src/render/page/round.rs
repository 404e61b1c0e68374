//! The round through the stock: one tap a bin.

use super::Frame;
use crate::render::json::{RoundLineView, RoundView};
use crate::render::place_words::{LOOKS, seen_of, seen_words};
use maud::{Markup, html};

/// The title.
pub const ROUND: &str = "Stock round";

pub fn round(frame: &Frame, round: &RoundView) -> String {
    let left = round.bins.iter().filter(|bin| bin.due).count();
    let body = html! {
        h1 { (ROUND) ", " (round.day) }
        p { "Two minutes, bin by bin: tap what you see, of what the books hold. A floor bin that somebody emptied tells nobody else." }
        @if let Some(reminder) = &round.reminder { p.said role="status" { (reminder) "." } }
        @else { p { "No bin waits for a look." } }
        @if round.bins.is_empty() { p { "There is no bin yet." } }
        @for bin in &round.bins { (one(frame, bin)) }
        section.small {
            h2 { "About this round" }
            ul {
                li { "A tap changes nothing in the books: where a bin does not look as booked, it waits under the questions until you let the books follow, or look again." }
                li { "A part that is told by eye is taken for an eighth of what was booked this way or that: a rule of thumb of ours. What is gone is outside yields and pay, and stands in the books by its own name." }
                @if left == 0 { li { "A bin that holds something is asked for again after a week." } }
                li { "A full bin is heavy: look, do not lift." }
            }
        }
    };
    frame.around(body)
}

fn one(frame: &Frame, bin: &RoundLineView) -> Markup {
    let label = bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or("no grade yet");
    html! {
        section.look id={ "bin-" (bin.number) } data-bin=(bin.number) data-due=[bin.due.then_some("yes")] {
            h2 { (bin.number) " " (label) ": " (bin.booked.kg) " kg · " (bin.booked.lb) " lb booked" }
            p {
                (looked(bin))
                @if bin.full { " · tapped full" }
            }
            form.keys method="post" action={ "/bins/" (bin.number) "/look" } {
                (frame.seal())
                @for (_, code, words) in LOOKS {
                    @let now = bin.seen.as_deref() == Some(code) && (bin.open || code == "right") && !bin.due;
                    button name="seen" value=(code) aria-pressed=(now) { (words) span.hidden { ", bin " (bin.number) } }
                }
            }
            @if bin.open {
                form method="post" action={ "/bins/" (bin.number) "/follow" } {
                    (frame.seal())
                    input type="hidden" name="back" value="round";
                    button { "Let the books follow" span.hidden { " in bin " (bin.number) } }
                }
            }
        }
    }
}

/// When somebody looked last, and what was seen.
fn looked(bin: &RoundLineView) -> String {
    let ago = match bin.days {
        None => "at a time that is not certain".to_owned(),
        Some(0) => "today".to_owned(),
        Some(1) => "yesterday".to_owned(),
        Some(days) => format!("{days} days ago"),
    };
    let due = if bin.due { "Due: " } else { "" };
    match bin.seen.as_deref().and_then(seen_of) {
        None => format!("{due}nobody has looked yet; it was begun {ago}"),
        Some(seen) => {
            let then = bin.booked_then.as_ref().map_or(String::new(), |mass| format!(" of {} kg", mass.kg));
            format!("{due}{}{then}, seen {}", seen_words(seen), bin.looked.as_ref().map_or(ago.as_str(), |_| &ago))
        }
    }
}

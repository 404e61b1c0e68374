//! What waits for an answer, with the answer one press away.

use super::Frame;
use crate::render::json::{BinView, RiddleView};
use maud::{Markup, html};

/// The riddles of a bench; nothing where there is none.
pub fn questions(frame: &Frame, bench: u16, riddles: &[RiddleView], bins: &[BinView]) -> Markup {
    html! {
        @if !riddles.is_empty() {
            section.questions aria-labelledby="questions" {
                h2 #questions { "Questions" }
                ul {
                    @for riddle in riddles {
                        li { p { (riddle.text) } (answer(frame, bench, riddle, bins)) }
                    }
                }
            }
        }
    }
}

fn answer(frame: &Frame, bench: u16, riddle: &RiddleView, bins: &[BinView]) -> Markup {
    if let ("came-back-lighter", Some(bin)) = (riddle.code.as_str(), riddle.bin) {
        return html! {
            form method="post" action={ "/bins/" (bin) "/missing" } {
                (frame.seal())
                button { "It is gone: let the books follow" }
            }
        };
    }
    if let ("stock-differs", Some(bin)) = (riddle.code.as_str(), riddle.bin) {
        return html! {
            form method="post" action={ "/bins/" (bin) "/follow" } {
                (frame.seal())
                button { "Let the books follow what I saw" }
                " " a.key href="/stock-round" { "Look again" }
            }
        };
    }
    if riddle.code == "ticket" {
        return html! { @if let Some(ticket) = riddle.drop { p { a.key href={ "/tickets/" (ticket) } { "Look at the ticket" } } } };
    }
    let Some(drop) = riddle.drop else { return html! {} };
    let choice = html! {
        label { span.hidden { "Bin for " (drop) }
            select name="to" {
                option value="" { "bin…" }
                @for bin in bins.iter().filter(|bin| !bin.retired) {
                    option value=(bin.number) selected[riddle.bin == Some(bin.number)] {
                        (bin.number) " " (bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or(""))
                    }
                }
            }
        }
    };
    match riddle.code.as_str() {
        "sent-twice" => html! {
            form method="post" action={ "/drops/" (drop) } {
                (frame.seal()) (choice)
                button name="act" value="move" { "A second piece" }
                button name="act" value="void" { "The same again" }
            }
        },
        "lot-without-feed" => html! {
            form method="post" action={ "/lots/" (drop) } {
                (frame.seal())
                label { "What it is " input name="feed" list="feeds" autocomplete="off"; }
                button name="act" value="tell" { "That is it" }
                button name="act" value="void" { "It was no intake" }
            }
        },
        "working-or-away" => html! {
            form method="post" action={ "/stillnesses/" (drop) } {
                (frame.seal())
                button name="act" value="working" { "Working" }
                button name="act" value="away" { "Away" }
            }
        },
        "in-hand" => html! {
            form method="post" action={ "/benches/" (bench) "/hand" } {
                (frame.seal())
                input type="hidden" name="removal" value=(drop);
                button { "It went elsewhere" }
            }
        },
        "set-down" => html! {
            form method="post" action={ "/drops/" (drop) } {
                (frame.seal()) (choice)
                button name="act" value="was-bin" { "It was this bin" }
                button name="act" value="move" { "It is material for it" }
                button name="act" value="void" { "Neither" }
            }
        },
        _ => html! {
            form method="post" action={ "/drops/" (drop) } {
                (frame.seal()) (choice)
                button name="act" value="move" { "It belongs there" }
                button name="act" value="void" { "Was no material" }
            }
        },
    }
}

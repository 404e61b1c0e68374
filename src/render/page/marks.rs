//! The owner's marks of feeds, told and changed.

use super::Frame;
use crate::render::json::FeedMarksView;
use crate::render::place_words::{MARKS, marks_line};
use maud::{Markup, html};

pub fn marks(frame: &Frame, feeds: &[FeedMarksView]) -> Markup {
    html! {
        section aria-labelledby="marks" {
            h2 #marks { "Money is not all" }
            p { "How hard a thing is on your hands, how much mess it makes, how much room it takes while it is apart: your marks stand "
                "beside its pay and on the kerb list, and a reason against it takes it off the list." }
            @if feeds.is_empty() { p { "There is no feed yet." } }
            @for feed in feeds { (one(frame, feed)) }
        }
    }
}

fn one(frame: &Frame, feed: &FeedMarksView) -> Markup {
    let choice = |name: &str, words: &str, now: &str| {
        html! {
            label { (words) " "
                select name=(name) { @for (_, code, words) in MARKS { option value=(code) selected[code == now] { (words) } } }
            }
        }
    };
    let marks = &feed.marks;
    html! {
        details data-feed=(feed.feed) {
            summary { (feed.feed) ": " (marks_line(marks).unwrap_or_else(|| "no marks".into())) }
            form method="post" action="/feeds/marks" {
                (frame.seal())
                input type="hidden" name="feed" value=(feed.feed);
                input type="hidden" name="seen" value=(feed.version);
                (choice("strain", "Strain on back and hands", &marks.strain))
                (choice("mess", "Mess: dust, oil, shards", &marks.mess))
                (choice("space", "Room that it takes", &marks.space))
                label { "Not this, because "
                    input name="veto" value=(marks.veto.as_deref().unwrap_or("")) placeholder="empty: I would take it" autocomplete="off";
                }
                button { "Keep the marks" }
            }
        }
    }
}

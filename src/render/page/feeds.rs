//! Feeds and lots: what came in, what was opened by hand, and what it cost in money and minutes.

use super::Frame;
use super::bins::bin_options;
use crate::render::feed_words::{PARTS, SORTS};
use crate::render::json::{ArrivalView, BinView, FeedMarksView, LotView, SpendingView, TimeView};
use maud::{Markup, html};

/// The title.
pub const FEEDS: &str = "Feeds and lots";

/// Rows of a list on the page; the whole of it is the CSV.
const SHOWN: usize = 25;

/// What the page shows.
pub struct FeedsBeside<'a> {
    pub feeds: &'a [String],
    pub buyers: &'a [String],
    pub lots: &'a [LotView],
    pub bins: &'a [BinView],
    pub arrivals: &'a [ArrivalView],
    pub spendings: &'a [SpendingView],
    pub times: &'a [TimeView],
    pub marks: &'a [FeedMarksView],
    pub currency: &'a str,
}

pub fn feeds(frame: &Frame, beside: &FeedsBeside) -> String {
    let body = html! {
        h1 { (FEEDS) }
        datalist #feeds { @for feed in beside.feeds { option value=(feed) {} } }
        datalist #buyers { @for buyer in beside.buyers { option value=(buyer) {} } }
        (lots(frame, beside))
        (super::marks::marks(frame, beside.marks))
        (arrivals(frame, beside))
        (spendings(frame, beside))
        (times(frame, beside))
        section.forms {
            h2 { "A new name" }
            form method="post" action="/feeds" {
                (frame.seal())
                label { "What I take apart " input name="name" required autocomplete="off"; }
                button { "Add" }
            }
        }
    };
    frame.around(body)
}

fn feed_field(words: &str, required: bool) -> Markup {
    html! { label { (words) " " input name="feed" list="feeds" autocomplete="off" required[required]; } }
}

fn day_field() -> Markup {
    html! { label { "Day " input name="day" placeholder="today, or 2026-03-01" autocomplete="off"; } }
}

fn lots(frame: &Frame, beside: &FeedsBeside) -> Markup {
    html! {
        section aria-labelledby="lots" {
            h2 #lots { "What I weighed or counted before taking it apart" }
            @if beside.lots.is_empty() { p { "None yet." } }
            @else {
                table.report {
                    thead { tr {
                        th { "Lot" } th { "What" } th { "To" } th.figure { "kg" } th.figure { "Pieces" } th { "From" } th { "State" }
                        th { span.hidden { "Tell of it" } }
                    } }
                    tbody { @for lot in beside.lots.iter().filter(|lot| lot.state != "cancelled").take(SHOWN) { (lot_row(frame, beside, lot)) } }
                }
            }
            details.forms {
                summary { "Open a lot by hand: counted, weighed elsewhere, or out of a bin" }
                form method="post" action="/lots" {
                    (frame.seal())
                    (feed_field("What it is", true))
                    label { "Pieces " input name="pieces" inputmode="numeric" size="6" autocomplete="off"; }
                    label { "Weight, with its unit " input name="weight" placeholder="12.5kg" autocomplete="off"; }
                    label { "Weighed by "
                        select name="source" {
                            option value="hanging-scale" { "a hanging scale" }
                            option value="yard-scale" { "the yard's scale" }
                            option value="label" { "what is printed on it" }
                            option value="bench-scale" { "this bench's scale" }
                        }
                    }
                    label { "Out of bin "
                        select name="bin" {
                            option value="" { "none: it came from outside" }
                            (bin_options(beside.bins, None))
                        }
                    }
                    label { "Taken apart to " input name="depth" placeholder="a word of your own" autocomplete="off"; }
                    button { "Open it" }
                }
            }
        }
    }
}

fn lot_row(frame: &Frame, beside: &FeedsBeside, lot: &LotView) -> Markup {
    let state = match (lot.state.as_str(), lot.open) {
        ("confirmed", true) => "open",
        ("confirmed", false) => "all apart",
        (state, _) => state,
    };
    let from = match (lot.drawn_from_bin, lot.arrival) {
        (Some(bin), _) => format!("bin {bin}"),
        (None, Some(arrival)) => {
            let came = beside.arrivals.iter().find(|known| known.id == arrival);
            came.map_or_else(|| format!("arrival {arrival}"), |came| came.from.clone())
        }
        (None, None) => String::new(),
    };
    html! {
        tr {
            th scope="row" { (lot.id) }
            td { (lot.feed.as_deref().unwrap_or("not said yet")) }
            td { (lot.depth.as_deref().unwrap_or("")) }
            td.figure { @match &lot.mass { Some(mass) => (mass.kg), None => "only counted" } }
            td.figure { @if let Some(pieces) = lot.pieces { (pieces) } }
            td { (from) }
            td { (state) }
            td { @if lot.state == "confirmed" { (lot_forms(frame, beside, lot)) } }
        }
    }
}

fn lot_forms(frame: &Frame, beside: &FeedsBeside, lot: &LotView) -> Markup {
    html! {
        details {
            summary { "Tell" span.hidden { " of lot " (lot.id) } }
            form method="post" action={ "/lots/" (lot.id) "/tell" } {
                (frame.seal())
                input type="hidden" name="seen" value=(lot.version);
                label { "Taken apart to " input name="depth" value=(lot.depth.as_deref().unwrap_or("")) autocomplete="off"; }
                label { "Pieces " input name="pieces" inputmode="numeric" size="6" value=[lot.pieces] autocomplete="off"; }
                label { "Came with "
                    select name="arrival" {
                        option value="" { "no arrival" }
                        @for came in beside.arrivals.iter().filter(|came| !came.voided || Some(came.id) == lot.arrival) {
                            option value=(came.id) selected[Some(came.id) == lot.arrival] { (came.day) " " (came.from) ": " (came.what) }
                        }
                    }
                }
                button { "Keep" }
            }
            form method="post" action={ "/lots/" (lot.id) "/wait" } {
                (frame.seal())
                label { "Hands off for minutes " input name="minutes" inputmode="numeric" size="6" required autocomplete="off"; }
                label { "What for " input name="what" placeholder="soaking, heating" required; }
                label.tick { input type="checkbox" name="clock_ran" value="yes"; " The clock of my stretch ran meanwhile" }
                button { "Was waiting" }
            }
            form method="post" action={ "/lots/" (lot.id) "/cost" } {
                (frame.seal())
                label { "It cost, " (beside.currency) " " input name="amount" inputmode="decimal" size="8" required autocomplete="off"; }
                label { "For "
                    select name="sort" {
                        @for (_, code, words) in &SORTS[..2] { option value=(code) { (words) } }
                    }
                }
                label { "What " input name="what" required; }
                button { "Add the cost" }
            }
        }
    }
}

/// The press that takes a record back.
fn take_back(frame: &Frame, id: u64, voided: bool) -> Markup {
    html! {
        @if voided { "taken back" } @else {
            details {
                summary { "Take back" span.hidden { " record " (id) } }
                form.mend method="post" action={ "/records/" (id) } {
                    (frame.seal())
                    label { "Why " input name="reason" required autocomplete="off"; }
                    button { "Take it back" }
                }
            }
        }
    }
}

fn state(voided: bool) -> Option<&'static str> {
    voided.then_some("voided")
}

fn arrivals(frame: &Frame, beside: &FeedsBeside) -> Markup {
    html! {
        section aria-labelledby="arrivals" {
            h2 #arrivals { "What came in" }
            details.forms {
                summary { "Book an arrival" }
                form method="post" action="/arrivals" {
                    (frame.seal())
                    label { "Where from " input name="from" required autocomplete="off"; }
                    label { "What " input name="what" required autocomplete="off"; }
                    (feed_field("To be taken apart as", false))
                    label { "Weight, with its unit " input name="weight" placeholder="40kg" autocomplete="off"; }
                    label { "Pieces " input name="pieces" inputmode="numeric" size="6" autocomplete="off"; }
                    label { "Paid, " (beside.currency) " " input name="paid" inputmode="decimal" size="8" placeholder="0 if it was free" autocomplete="off"; }
                    label { "Minutes, there and back " input name="minutes" inputmode="numeric" size="6" autocomplete="off"; }
                    label { "Kilometres " input name="distance" inputmode="decimal" size="6" autocomplete="off"; }
                    (day_field())
                    button { "It came" }
                }
            }
            @if !beside.arrivals.is_empty() {
                table.report {
                    thead { tr {
                        th { "Day" } th { "From" } th { "What" } th.figure { "kg" } th.figure { "Pieces" } th.figure { "Paid" }
                        th.figure { "Minutes" } th.figure { "km" } th { "Lots" } th {}
                    } }
                    tbody { @for came in beside.arrivals.iter().take(SHOWN) {
                        tr data-state=[state(came.voided)] {
                            th scope="row" { (came.day) }
                            td { (came.from) }
                            td { (came.what) @if let Some(feed) = &came.feed { br; small { (feed) } } }
                            td.figure { @if let Some(mass) = &came.mass { (mass.kg) } }
                            td.figure { @if let Some(pieces) = came.pieces { (pieces) } }
                            td.figure { @if let Some(paid) = &came.paid { (paid.amount) " " (paid.currency) } @else { "not said" } }
                            td.figure { @if let Some(minutes) = came.minutes { (minutes) } }
                            td.figure { (came.distance_km.as_deref().unwrap_or("")) }
                            td { @for lot in &came.lots { (lot) " " } }
                            td { (take_back(frame, came.id, came.voided)) }
                        }
                    } }
                }
                p { a.key href="/v1/arrivals.csv" { "Arrivals as CSV" } }
            }
        }
    }
}

fn spendings(frame: &Frame, beside: &FeedsBeside) -> Markup {
    html! {
        section aria-labelledby="spent" {
            h2 #spent { "Money spent" }
            details.forms {
                summary { "Book money spent" }
                form method="post" action="/spendings" {
                    (frame.seal())
                    label { "Amount, " (beside.currency) " " input name="amount" inputmode="decimal" size="8" required autocomplete="off"; }
                    label { "For " select name="sort" { @for (_, code, words) in SORTS { option value=(code) { (words) } } } }
                    label { "What " input name="what" required autocomplete="off"; }
                    label { "Paid to the buyer " input name="buyer" list="buyers" autocomplete="off"; }
                    (feed_field("For taking apart", false))
                    (day_field())
                    button { "It was spent" }
                }
            }
            @if !beside.spendings.is_empty() {
                table.report {
                    thead { tr { th { "Day" } th { "For" } th { "What" } th.figure { "Amount" } th { "Lot" } th {} } }
                    tbody { @for spent in beside.spendings.iter().take(SHOWN) {
                        tr data-state=[state(spent.voided)] {
                            th scope="row" { (spent.day) }
                            td { (spent.sort) }
                            td { (spent.what) @if let Some(buyer) = &spent.buyer { br; small { (buyer) } } @if let Some(feed) = &spent.feed { br; small { (feed) } } }
                            td.figure { (spent.amount.amount) " " (spent.amount.currency) }
                            td { @if let Some(lot) = spent.lot { (lot) } }
                            td { (take_back(frame, spent.id, spent.voided)) }
                        }
                    } }
                }
                p { a.key href="/v1/spendings.csv" { "Spendings as CSV" } }
            }
        }
    }
}

fn times(frame: &Frame, beside: &FeedsBeside) -> Markup {
    html! {
        section aria-labelledby="minutes" {
            h2 #minutes { "Minutes beside the clock" }
            details.forms {
                summary { "Book minutes" }
                form method="post" action="/minutes" {
                    (frame.seal())
                    label { "Minutes " input name="minutes" inputmode="numeric" size="6" required autocomplete="off"; }
                    label { "For " select name="sort" { @for (_, code, words) in PARTS { option value=(code) { (words) } } } }
                    label { "What " input name="what" required autocomplete="off"; }
                    (day_field())
                    button { "They were spent" }
                }
            }
            @if !beside.times.is_empty() {
                table.report {
                    thead { tr { th { "Day" } th { "For" } th { "What" } th.figure { "Minutes" } th { "Lot" } th {} } }
                    tbody { @for time in beside.times.iter().take(SHOWN) {
                        tr data-state=[state(time.voided)] {
                            th scope="row" { (time.day) }
                            td { (time.sort) @if time.clock_ran { ", off the clock" } }
                            td { (time.what) }
                            td.figure { (time.minutes) }
                            td { @if let Some(lot) = time.lot { (lot) } }
                            td { (take_back(frame, time.id, time.voided)) }
                        }
                    } }
                }
                p { a.key href="/v1/minutes.csv" { "Minutes as CSV" } }
            }
        }
    }
}

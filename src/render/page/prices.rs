//! The prices of each buyer in a grid that is filled in and can be edited, and a table that is pasted.

use super::Frame;
use crate::facts::Payout;
use crate::render::json::{BuyerNoteView, BuyerPricesView, ImportView, PriceLineView, WaitingGradeView};
use crate::render::price_words;
use crate::render::text::counted;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The title.
pub const PRICES: &str = "Prices";

/// What a line of the grid asks, in its order.
pub const GRID_COLUMNS: [&str; 5] = ["price", "breaks", "minimum", "deduction", "stale"];

/// The name of a field of the grid.
pub fn grid_field(what: &str, grade: u64, currency: &str) -> String {
    format!("{what}-{grade}-{currency}")
}

/// Everything that this page shows.
pub struct GridBeside<'a> {
    pub buyers: &'a [BuyerPricesView],
    /// Grades that wait for a price, as they stand today.
    pub held: &'a [WaitingGradeView],
    pub notes: &'a [BuyerNoteView],
    pub today: String,
    /// What was typed and refused.
    pub typed: Option<&'a Typed<'a>>,
    /// A table that was pasted, and how it was read.
    pub read: Option<(&'a str, &'a ImportView)>,
}

/// A grid as it was typed, with its faults by field.
pub struct Typed<'a> {
    pub buyer: &'a str,
    pub fields: &'a BTreeMap<String, String>,
    pub faults: &'a BTreeMap<String, String>,
}

pub fn prices(frame: &Frame, beside: &GridBeside) -> String {
    let body = html! {
        h1 { (PRICES) }
        p.small { "A price is an amount per g, kg, tonne, lb, oz, ozt, 100 lb, short ton, long ton or piece, as in 4.10/lb or 0.35 per piece; with a minus it is what it costs to leave the thing. Steps from a quantity on: 100kg=4.20; 500kg=4.50." }
        p.forms { a.key href="/reports/prices" { "Price history" } " " a.key href="/grades" { "Grades and buyers' words" } }
        @for held in beside.held.iter().filter(|held| held.state == "reached") {
            p role="status" { strong { (held.grade) ": " (held.says) } " " a.key href="/reports/plan" { (super::PLAN) } }
        }
        @if beside.buyers.is_empty() { p { "There is no buyer yet; one is made under " a href="/bins" { "Bins and prices" } "." } }
        @for (index, buyer) in beside.buyers.iter().enumerate() { (grid(frame, beside, index, buyer)) }
        (import(frame, beside))
    };
    frame.around(body)
}

fn grid(frame: &Frame, beside: &GridBeside, index: usize, buyer: &BuyerPricesView) -> Markup {
    let typed = beside.typed.filter(|typed| typed.buyer == buyer.buyer);
    let fault = |key: &str| typed.and_then(|typed| typed.faults.get(key));
    let any = buyer.lines.iter().any(|line| line.quote.is_some());
    let day = typed.and_then(|typed| typed.fields.get("day")).unwrap_or(&beside.today);
    html! {
        section aria-labelledby={ "buyer" (index) } data-buyer=(buyer.buyer) {
            h2 id={ "buyer" (index) } { (buyer.buyer) }
            @if buyer.lines.is_empty() { p { "There is no grade yet; one is made under " a href="/bins" { "Bins and prices" } "." } }
            @else {
                @if any {
                    form.same method="post" action="/quotes/same-today" {
                        (frame.seal())
                        input type="hidden" name="buyer" value=(buyer.buyer);
                        button { "All still the same today" }
                    }
                }
                form.prices method="post" action="/quotes/grid" {
                    (frame.seal())
                    input type="hidden" name="buyer" value=(buyer.buyer);
                    table.report {
                        thead { tr {
                            th { "Grade" } th { "Price" } th { "Given" } th { "From a quantity on" } th { "Takes no less than" }
                            th { "Off the weight, %" } th { "Good for, days" }
                        } }
                        tbody { @for line in &buyer.lines { (row(line, typed)) } }
                    }
                    label { "Given on " input name="day" type="date" value=(day); @if let Some(words) = fault("day") { (wrong(words)) } }
                    button { "Keep what was changed" }
                }
            }
            (payout(frame, beside.notes, buyer))
        }
    }
}

fn wrong(words: &str) -> Markup {
    html! { strong.wrong role="alert" { (words) } }
}

fn row(line: &PriceLineView, typed: Option<&Typed>) -> Markup {
    let key = |what: &str| grid_field(what, line.grade_id, &line.currency);
    let held = line.quote.as_ref();
    let was = |what: &str| match (what, held) {
        ("price", _) => line.typed(),
        (_, None) => String::new(),
        ("breaks", Some(held)) => held.breaks.clone(),
        ("minimum", Some(held)) => held.minimum_text.clone(),
        ("deduction", Some(held)) => held.deduction_percent.clone().unwrap_or_default(),
        (_, Some(held)) => held.stale_after_days.map(|days| days.to_string()).unwrap_or_default(),
    };
    let value = |what: &str| typed.and_then(|typed| typed.fields.get(&key(what)).cloned()).unwrap_or_else(|| was(what));
    let fault = |what: &str| typed.and_then(|typed| typed.faults.get(&key(what)));
    let seen = typed.and_then(|typed| typed.fields.get(&key("seen")).cloned());
    let seen = seen.unwrap_or_else(|| held.map(|held| held.id.to_string()).unwrap_or_default());
    let cell = |what: &'static str, label: &str, hint: &str| {
        html! {
            td {
                input name=(key(what)) value=(value(what)) placeholder=(hint) aria-label={ (line.grade) ": " (label) }
                    aria-invalid=[fault(what).map(|_| "true")] autocomplete="off";
                @if let Some(words) = fault(what) { (wrong(words)) }
            }
        }
    };
    html! {
        tr {
            th scope="row" {
                (line.grade) " " small { (line.currency) }
                @if !line.words.is_empty() { br; small { "“" (line.words.join("”, “")) "”" } }
                input type="hidden" name=(key("seen")) value=(seen);
            }
            (cell("price", "price", "4.10/lb"))
            td.day {
                @match held {
                    None => small { "no quote" },
                    Some(held) => small { @if held.stale { strong { "stale" } br; } (held.day) @if held.charge { br; "costs money to leave" } },
                }
            }
            (cell("breaks", "from a quantity on", ""))
            (cell("minimum", "takes no less than", ""))
            (cell("deduction", "per cent off the weight", ""))
            (cell("stale", "good for days", ""))
        }
    }
}

fn payout(frame: &Frame, notes: &[BuyerNoteView], buyer: &BuyerPricesView) -> Markup {
    let Some(note) = notes.iter().find(|note| note.id == buyer.id) else { return html! {} };
    html! {
        form method="post" action="/buyers/payout" {
            (frame.seal())
            input type="hidden" name="buyer" value=(buyer.buyer);
            input type="hidden" name="seen" value=(note.version);
            label { "A total paid in cash is rounded " select name="payout" {
                @for payout in Payout::ALL {
                    option value=(payout.name()) selected[payout.name() == note.payout] { (price_words::payout(payout)) }
                }
            } }
            button { "Keep it so" }
        }
    }
}

fn import(frame: &Frame, beside: &GridBeside) -> Markup {
    let text = beside.read.map_or("", |(text, _)| text);
    html! {
        section aria-labelledby="import" {
            h2 #import { "A whole table" }
            p.small { "Paste it with commas between the cells. Its first line names the columns: buyer, grade and price, and where wanted currency, day, stale_after_days, breaks, minimum and deduction_percent. A grade may go by the buyer's own word. It is kept as a whole or not at all, and what stands in the books already is not kept again." }
            @if let Some((_, view)) = beside.read { (read(view)) }
            form method="post" action="/quotes/import" {
                (frame.seal())
                label.wide { "The table " textarea name="table" rows="8" spellcheck="false" autocomplete="off" { (text) } }
                button name="act" value="look" { "Only look at it" }
                button name="act" value="keep" { "Keep all of it" }
            }
        }
    }
}

fn read(view: &ImportView) -> Markup {
    html! {
        div role="status" {
            @if view.faults.is_empty() {
                p { "Nothing is wrong with it: " (counted(view.kept, "new quote")) ", and " (view.already) " that stand in the books already." }
            } @else {
                p { strong { (counted(view.faults.len(), "fault")) "; nothing was kept." } }
                table.report.faults {
                    thead { tr { th.figure { "Line" } th { "Column" } th { "What is wrong" } } }
                    tbody { @for fault in &view.faults {
                        tr { td.figure { (fault.line) } td { (fault.column.as_deref().unwrap_or("the line")) } td { (fault.what) } }
                    } }
                }
            }
            @if !view.quotes.is_empty() {
                table.report {
                    thead { tr { th.figure { "Line" } th { "Buyer" } th { "Grade" } th.figure { "Price" } th { "Day" } th {} } }
                    tbody { @for quote in &view.quotes {
                        tr {
                            td.figure { (quote.line) }
                            td { (quote.buyer) }
                            td { (quote.grade) @if let Some(word) = &quote.word { " (“" (word) "”)" } }
                            td.figure { (quote.price) " " (quote.currency) }
                            td { (quote.day) }
                            td { @if quote.already { "in the books already" } }
                        }
                    } }
                }
            }
        }
    }
}

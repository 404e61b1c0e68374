//! Tickets: the form for the slip, the list, and one ticket with what our scale says of it.

use super::{Frame, runs};
use crate::render::json::{BinView, LoadView, RunView, TicketView};
use crate::render::ticket_words::METHODS;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The title.
pub const TICKETS: &str = "Tickets";

/// Lines of the form, and so many more each time that they are asked for.
pub const TICKET_LINES: usize = 8;

/// The most of them; a longer slip comes as a table.
pub const LINES_MOST: usize = 200;

/// The fields of a line: key, words, what it looks like.
pub const LINE_COLUMNS: [(&str, &str, &str); 11] = [
    ("text", "As it is printed", "#2 copper"),
    ("grade", "My grade for it", ""),
    ("gross", "Gross", "12.5"),
    ("tare", "Tare", "2.5"),
    ("net", "Net", "10.0"),
    ("off", "Off, weight", ""),
    ("percent", "Off, per cent", ""),
    ("refused", "Refused", ""),
    ("price", "Price", "7.40"),
    ("amount", "Amount", "74.00"),
    ("bins", "My bins", "3; 4=1.2"),
];

const SHOWN: usize = 40;

/// What the page shows.
pub struct TicketsBeside<'a> {
    pub buyers: &'a [String],
    pub grades: &'a [String],
    pub bins: &'a [BinView],
    pub tickets: &'a [TicketView],
    pub runs: &'a [RunView],
    pub currency: &'a str,
    /// What was typed and refused, or is to have more lines.
    pub typed: &'a BTreeMap<String, String>,
    /// Of the form.
    pub lines: usize,
}

pub fn tickets(frame: &Frame, beside: &TicketsBeside) -> String {
    let body = html! {
        h1 { (TICKETS) }
        datalist #buyers { @for buyer in beside.buyers { option value=(buyer) {} } }
        datalist #grades { @for grade in beside.grades { option value=(grade) {} } }
        (list(beside))
        (entry(frame, beside))
        (runs::runs(frame, beside.runs, beside.currency))
    };
    frame.around(body)
}

fn list(beside: &TicketsBeside) -> Markup {
    html! {
        section aria-labelledby="list" {
            h2 #list { "What buyers gave me" }
            @if beside.tickets.is_empty() { p { "None yet." } }
            @else {
                table.report {
                    thead { tr {
                        th { "Ticket" } th { "Day" } th { "Buyer" } th.figure { "Total" } th.figure { "Unpaid" } th { "Our scale says" } th { "Odd" }
                    } }
                    tbody { @for ticket in beside.tickets.iter().take(SHOWN) {
                        tr data-state=[ticket.voided.then_some("voided")] {
                            th scope="row" { a.key href={ "/tickets/" (ticket.id) } { (ticket.number.as_deref().map_or_else(|| format!("no number, {}", ticket.id), str::to_owned)) } }
                            td { (ticket.day) }
                            td { (ticket.buyer) }
                            td.figure { (ticket.total.as_deref().unwrap_or("–")) " " (ticket.currency) }
                            td.figure { (ticket.unpaid.as_deref().unwrap_or("–")) }
                            td { (verdicts(&ticket.loads)) }
                            td { @if ticket.settled { "looked at" } @else if !ticket.flags.is_empty() { (ticket.flags.len()) } }
                        }
                    } }
                }
                p.forms { a.key href="/v1/tickets.csv" { "As CSV" } " " a.key href="/v1/tickets" { "As JSON" } }
            }
        }
    }
}

/// The gravest verdict first, and the rest in numbers.
fn verdicts(loads: &[LoadView]) -> String {
    let words = [
        ("short", "short"),
        ("looks-short", "looks short"),
        ("over", "over"),
        ("cannot-tell", "cannot tell"),
        ("agrees", "agrees"),
    ];
    let said = words.into_iter().filter_map(|(code, words)| {
        let count = loads.iter().filter(|load| load.verdict == code).count();
        match count {
            0 => None,
            1 => Some(words.to_owned()),
            count => Some(format!("{words} ({count})")),
        }
    });
    said.collect::<Vec<_>>().join(", ")
}

fn field(beside: &TicketsBeside, key: &str, words: &str, hint: &str, list: Option<&str>) -> Markup {
    html! {
        label { (words) " " input name=(key) value=[beside.typed.get(key)] placeholder=(hint) list=[list] autocomplete="off"; }
    }
}

fn entry(frame: &Frame, beside: &TicketsBeside) -> Markup {
    let unit = beside.typed.get("unit").map(String::as_str);
    html! {
        section aria-labelledby="slip" {
            h2 #slip { "A ticket, as it is printed" }
            form.slip method="post" action="/tickets" {
                (frame.seal())
                input type="hidden" name="lines" value=(beside.lines);
                (field(beside, "buyer", "Buyer", "", Some("buyers")))
                (field(beside, "number", "Number on it", "", None))
                (field(beside, "day", "Day", "today, or 2026-03-01", None))
                label { "Its weights are in "
                    select name="unit" {
                        option value="" { "say which" }
                        @for (code, words) in [("kg", "kilograms"), ("lb", "pounds"), ("g", "grams"), ("oz", "ounces")] {
                            option value=(code) selected[unit == Some(code)] { (words) }
                        }
                    }
                }
                (field(beside, "division", "Step of their display", "0.02", None))
                (field(beside, "passes", "Vehicle scale, pass by pass", "2340 2040 2000", None))
                (field(beside, "run", "From run", "", None))
                @for number in 1..=beside.lines {
                    @let begun = LINE_COLUMNS.iter().any(|(key, ..)| beside.typed.contains_key(&format!("{key}{number}")) && !beside.typed[&format!("{key}{number}")].is_empty());
                    details open[number <= 2 || begun] {
                        summary { "Line " (number) }
                        div.cells { @for (key, words, hint) in LINE_COLUMNS {
                            (field(beside, &format!("{key}{number}"), words, hint, (key == "grade").then_some("grades")))
                        } }
                    }
                }
                (field(beside, "total", "Total", "", None))
                (field(beside, "due", "Money due on", "2026-03-15", None))
                button { "Take it" }
                @if beside.lines < LINES_MOST { button name="more" value="yes" formnovalidate { "More lines" } }
            }
            p.small {
                "It is kept as it is printed; what does not add up is shown and asked, never mended. A price without a unit is per the \
                 unit of the weights. My bins: 3 means that all of bin 3 went with this line, 3=1.2 so much of it by their scale, \
                 3=1.2 all that this was the last of it. A long ticket, or a year of them, comes as a table to /v1/tickets/import."
            }
            @if !beside.bins.is_empty() {
                p.small { "Bins: " @for bin in beside.bins.iter().filter(|bin| !bin.retired) { (bin.number) " " (bin.grade.as_deref().unwrap_or("no grade yet")) ", " (bin.mass.kg) " kg; " } }
            }
        }
    }
}

/// One ticket.
pub fn ticket(frame: &Frame, ticket: &TicketView) -> String {
    let dash = |cell: &Option<String>| cell.clone().unwrap_or_else(|| "–".to_owned());
    let body = html! {
        h1 { "Ticket " (ticket.number.as_deref().unwrap_or("without a number")) ", " (ticket.buyer) ", " (ticket.day) }
        @if ticket.voided { p.said { "It is void: what it moved is back in its bins." } }
        @if !ticket.flags.is_empty() {
            section aria-labelledby="odd" {
                h2 #odd { @if ticket.settled { "Odd, and looked at" } @else { "Odd" } }
                ul { @for flag in &ticket.flags { li { (flag.text) } } }
                @if !ticket.settled && !ticket.voided {
                    form.mend method="post" action={ "/tickets/" (ticket.id) "/settle" } { (frame.seal()) button { "It stays as it is printed" } }
                }
            }
        }
        (lines(ticket))
        section aria-labelledby="loads" {
            h2 #loads { "What our scale says" }
            table.report {
                thead { tr { th { "Lines" } th.figure { "Ours kg" } th.figure { "Theirs kg" } th.figure { "Difference kg" } th.figure { "± kg" } th.figure { "Worth" } th { "Says" } } }
                tbody { @for load in &ticket.loads {
                    tr {
                        th scope="row" { (load.lines.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")) }
                        @match &load.compared {
                            Some(both) => { td.figure { (both.ours.kg) } td.figure { (both.theirs.kg) } td.figure { (both.difference.kg) } td.figure { (both.uncertainty_kg) } }
                            None => { td.figure { "–" } td.figure { "–" } td.figure { "–" } td.figure { "–" } }
                        }
                        td.figure { @if let Some(worth) = &load.worth { (worth.amount) } @else { "–" } }
                        td { (load.says) }
                    }
                } }
            }
            p.small {
                "± is twice the standard uncertainty of the difference: the readings of both scales, and what our own may be off by its check \
                 weights. The buyer's inspected scale settles the price; this is for asking, not for proof."
            }
        }
        section aria-labelledby="money" {
            h2 #money { "The money" }
            p { "Total " (dash(&ticket.total)) " " (ticket.currency) @if !ticket.total_printed { " (reckoned from the lines)" } ", paid " (ticket.paid) ", held " (ticket.held) ", unpaid " (dash(&ticket.unpaid)) @if let Some(due) = &ticket.due { ", due on " (due) } "." }
            @if !ticket.payments.is_empty() {
                table.report {
                    thead { tr { th { "Day" } th { "How" } th.figure { "Amount" } th.figure { "Fee" } th { "" } } }
                    tbody { @for payment in &ticket.payments {
                        tr { th scope="row" { (payment.day) } td { (payment.method) } td.figure { (payment.amount.amount) " " (payment.amount.currency) } td.figure { (dash(&payment.fee)) } td { @if payment.held { "held until then" } } }
                    } }
                }
            }
            @if !ticket.voided { (money(frame, ticket)) }
        }
        @if !ticket.voided { (mend(frame, ticket)) }
    };
    frame.around(body)
}

fn lines(ticket: &TicketView) -> Markup {
    let kg = |mass: &Option<crate::render::json::MassView>| mass.as_ref().map_or_else(|| "–".to_owned(), |mass| mass.kg.clone());
    html! {
        section aria-labelledby="lines" {
            h2 #lines { "As it is printed" }
            table.report {
                thead { tr {
                    th { "Line" } th { "Text" } th { "Grade" } th.figure { "Gross kg" } th.figure { "Tare kg" } th.figure { "Net kg" } th.figure { "Off kg" }
                    th.figure { "Price" } th.figure { "Amount" } th { "Bins" } th { "Mind" }
                } }
                tbody { @for (line, number) in ticket.lines.iter().zip(1..) {
                    tr {
                        th scope="row" { (number) }
                        td { (line.text) }
                        td { (line.grade.as_deref().unwrap_or("not known")) }
                        td.figure { (kg(&line.gross)) } td.figure { (kg(&line.tare)) } td.figure { (line.net.kg) }
                        td.figure { @if line.off.grams == "0" { "–" } @else { (line.off.kg) } }
                        td.figure { (line.price.as_deref().unwrap_or("–")) }
                        td.figure { (line.amount.as_deref().unwrap_or("–")) }
                        td { @for tied in &line.bins { (tied.bin) ": " (tied.mass.kg) " kg" @if tied.whole { ", all" } br; } }
                        td {
                            @if let Some(from) = &line.downgraded_from { "paid below " (from) @if let Some(cost) = &line.downgrade_cost { ", which cost " (cost.amount) " " (cost.currency) } br; }
                            @if let Some(off) = &line.off_worth { "what is off is worth " (off.amount) " " (off.currency) br; }
                            @if let Some(quoted) = &line.quoted { "quoted " (quoted) @if let Some(less) = &line.against_quote { ", " (less) " against it" } br; }
                            @if let Some(refused) = &line.refused { (refused.kg) " kg refused" }
                        }
                    }
                } }
                tfoot { tr {
                    th scope="row" { "Total" } td {} td {} td {} td {} td {} td {} td {} td.figure { (ticket.total.as_deref().unwrap_or("–")) } td {} td {}
                } }
            }
        }
    }
}

fn money(frame: &Frame, ticket: &TicketView) -> Markup {
    html! {
        form method="post" action={ "/tickets/" (ticket.id) "/pay" } {
            (frame.seal())
            input type="hidden" name="currency" value=(ticket.currency);
            label { "Amount, " (ticket.currency) " " input name="amount" value=[ticket.unpaid.as_ref()] required autocomplete="off"; }
            label { "How " select name="method" { @for (_, code, words) in METHODS { option value=(code) { (words) } } } }
            label { "Day " input name="day" placeholder="today, or 2026-03-01" autocomplete="off"; }
            label { "Fee " input name="fee" autocomplete="off"; }
            label.tick { input type="checkbox" name="held" value="yes"; "The buyer holds it until that day" }
            button { "Book it" }
        }
    }
}

fn mend(frame: &Frame, ticket: &TicketView) -> Markup {
    html! {
        section.forms {
            @for (line, number) in ticket.lines.iter().zip(1..) {
                @if line.bins.is_empty() {
                    form method="post" action={ "/tickets/" (ticket.id) "/tie" } {
                        (frame.seal())
                        input type="hidden" name="line" value=(number);
                        label { "Line " (number) " was bin " input name="bins" placeholder="3; 4=1.2" required autocomplete="off"; }
                        label { "Parts are in " select name="unit" { option value="kg" { "kilograms" } option value="lb" { "pounds" } } }
                        button { "Tie it" }
                    }
                }
            }
            details {
                summary { "This ticket was taken wrongly" }
                form method="post" action={ "/tickets/" (ticket.id) "/void" } {
                    (frame.seal())
                    label { "Why " input name="reason" required autocomplete="off"; }
                    button { "Void it: what it moved goes back" }
                }
            }
        }
    }
}

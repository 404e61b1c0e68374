//! Bins, grades, buyers and quotes on one page.

use super::Frame;
use crate::render::json::{BinView, NameView, QuoteView};
use maud::{Markup, html};

/// Everything that this page shows.
pub fn bins(frame: &Frame, bins: &[BinView], grades: &[NameView], buyers: &[NameView], quotes: &[QuoteView]) -> String {
    let body = html! {
        h1 { "Bins and prices" }
        (bin_table(bins))
        (add_bin(frame, grades))
        (add_name(frame, "grade", "A grade is what a buyer pays for.", grades))
        (add_name(frame, "buyer", "A buyer is who pays.", buyers))
        (quote_table(quotes))
        (add_quote(frame, grades, buyers))
        (count_pieces(frame, bins))
        (take_back(frame, bins))
    };
    frame.around(body)
}

fn bin_table(bins: &[BinView]) -> Markup {
    html! {
        section aria-labelledby="bins" {
            h2 #bins { "Bins" }
            table {
                thead { tr { th { "Bin" } th { "Name" } th { "Grade" } th.figure { "kg" } th.figure { "± kg" } th.figure { "lb" } th.figure { "Drops" } th.figure { "Empty, kg" } } }
                tbody {
                    @for bin in bins.iter().filter(|bin| !bin.retired) {
                        tr {
                            td { (bin.number) }
                            td { (bin.name.as_deref().unwrap_or("")) }
                            td { (bin.grade.as_deref().unwrap_or("no grade yet")) }
                            td.figure { (bin.mass.kg) }
                            td.figure { (bin.uncertainty_kg) }
                            td.figure { (bin.mass.lb) }
                            td.figure { (bin.drops) }
                            td.figure {
                                @if let Some(tare) = &bin.tare { (tare.kg) @if bin.tare_learned { " (seen)" } } @else { "?" }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn add_bin(frame: &Frame, grades: &[NameView]) -> Markup {
    html! {
        form method="post" action="/bins" {
            (frame.seal())
            h3 { "Another bin" }
            label { "Number " input name="number" inputmode="numeric" placeholder="the next"; }
            label { "Name " input name="name"; }
            label { "Grade " select name="grade" {
                option value="" { "later" }
                @for grade in grades.iter().filter(|grade| !grade.retired) { option { (grade.name) } }
            } }
            label { "Empty weight, kg " input name="tare_kg" inputmode="decimal"; }
            button { "Make the bin" }
        }
    }
}

fn add_name(frame: &Frame, kind: &str, what: &str, names: &[NameView]) -> Markup {
    html! {
        section {
            h2 { @if kind == "grade" { "Grades" } @else { "Buyers" } }
            p { (what) " " (names.iter().filter(|name| !name.retired).map(|name| name.name.as_str()).collect::<Vec<_>>().join(" · ")) }
            form method="post" action={ "/" (kind) "s" } {
                (frame.seal())
                label { "Name " input name="name" required; }
                button { "Add the " (kind) }
            }
        }
    }
}

fn quote_table(quotes: &[QuoteView]) -> Markup {
    html! {
        section aria-labelledby="quotes" {
            h2 #quotes { "Quotes" }
            table {
                thead { tr { th { "Day" } th { "Buyer" } th { "Grade" } th.figure { "Price" } } }
                tbody {
                    @for quote in quotes {
                        tr {
                            td { (quote.day) @if quote.withdrawn { " (withdrawn)" } }
                            td { (quote.buyer) }
                            td { (quote.grade) }
                            td.figure { (quote.price) " " (quote.currency) "/" (quote.per) }
                        }
                    }
                }
            }
        }
    }
}

fn add_quote(frame: &Frame, grades: &[NameView], buyers: &[NameView]) -> Markup {
    html! {
        form method="post" action="/quotes" {
            (frame.seal())
            h3 { "A new quote" }
            label { "Buyer " select name="buyer" { @for buyer in buyers.iter().filter(|name| !name.retired) { option { (buyer.name) } } } }
            label { "Grade " select name="grade" { @for grade in grades.iter().filter(|name| !name.retired) { option { (grade.name) } } } }
            label { "Price " input name="price" placeholder="4.00/lb" required; }
            label { "From day " input name="day" type="date"; }
            button { "Keep the quote" }
        }
    }
}

fn count_pieces(frame: &Frame, bins: &[BinView]) -> Markup {
    html! {
        form method="post" action="/bins/pieces" {
            (frame.seal())
            h3 { "Count pieces" }
            p.small { "For what is paid by the piece: all that lie in the bin now." }
            label { "Bin " select name="bin" { (bin_options(bins, None)) } }
            label { "Pieces " input name="pieces" inputmode="numeric" required; }
            button { "Keep the count" }
        }
    }
}

fn take_back(frame: &Frame, bins: &[BinView]) -> Markup {
    html! {
        form method="post" action="/bins/take-back" {
            (frame.seal())
            h3 { "It was not emptied" }
            p.small { "Takes the last emptying or tip of a bin back: what was in it lies there again, with what came in since." }
            label { "Bin " select name="bin" { (bin_options(bins, None)) } }
            label { "Why " input name="reason" required; }
            button { "Take it back" }
        }
    }
}

/// To choose a bin that is there, but for one of that number.
pub fn bin_options(bins: &[BinView], except: Option<u32>) -> Markup {
    html! {
        @for bin in bins.iter().filter(|bin| !bin.retired && Some(bin.number) != except) {
            option value=(bin.number) { (bin.number) " " (bin.name.as_deref().or(bin.grade.as_deref()).unwrap_or("")) }
        }
    }
}

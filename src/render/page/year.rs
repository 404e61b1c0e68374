//! Buyers over time, and the year.

use super::Frame;
use crate::render::json::{BuyersView, YearView};
use crate::render::tables_year::{Titled, buyers as buyer_tables, buyers_say, year as year_tables};
use maud::{Markup, html};

/// The titles.
pub const BUYERS: &str = "Buyers over time";
pub const YEAR: &str = "The year";

pub fn buyers(frame: &Frame, view: &BuyersView) -> String {
    let links = [("/v1/reports/buyers.csv".to_owned(), "As CSV"), ("/v1/reports/buyers.json".to_owned(), "As JSON")];
    page(frame, BUYERS, view.seq, &links, &buyers_say(view), &buyer_tables(view))
}

pub fn year(frame: &Frame, view: &YearView) -> String {
    let at = |path: &str, year: i16| format!("{path}?year={year}");
    let links = [
        (at("/v1/reports/year.csv", view.year), "As CSV"),
        (at("/v1/reports/year.json", view.year), "As JSON"),
        (at("/reports/year", view.year - 1), "The year before"),
    ];
    let say = [format!(
        "Stock is that of {}. What a buyer pays for is by their scale. Whether income counts by the ticket's day or by the day it was \
         paid, and what a seller must keep and show, is for your tax office and local codes to say.",
        view.stock_day
    )];
    page(frame, &format!("{YEAR} {}", view.year), view.seq, &links, &say, &year_tables(view))
}

fn page(frame: &Frame, title: &str, seq: u64, links: &[(String, &str)], say: &[String], tables: &[Titled]) -> String {
    let body = html! {
        h1 { (title) }
        p.forms { @for (path, words) in links { a.key href=(path) { (words) } " " } }
        @for line in say { p { (line) } }
        @for table in tables { (section(table)) }
        p.small { "The books stand at event " (seq) "." }
    };
    frame.around(body)
}

fn section(table: &Titled) -> Markup {
    let words = table.head.len() - table.figures;
    html! {
        section {
            h2 { (table.title) }
            @if table.rows.is_empty() { p { "None." } }
            @else {
                table.report {
                    thead { tr { @for (at, cell) in table.head.iter().enumerate() { th.figure[at >= words] { (cell) } } } }
                    tbody { @for row in &table.rows {
                        tr { @for (at, cell) in row.iter().enumerate() { td.figure[at >= words] { @if cell.is_empty() { "–" } @else { (cell) } } } }
                    } }
                }
            }
        }
    }
}

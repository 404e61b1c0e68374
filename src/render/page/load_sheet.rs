//! The load sheet: a page to pick bins on, and the sheet alone, which fits one sheet of paper and a phone.

use super::Frame;
use crate::render::json::{BinView, LoadSheetView, SheetLineView, SheetStopView};
use crate::render::load_forms::{asked, called};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The title.
pub const LOAD_SHEET: &str = "Load sheet";

/// The whole style of the sheet: nothing is fetched.
const STYLE: &str = include_str!("load_sheet.css");

/// Rows from which on the type on paper is smaller: measured on A4 and letter with every caution on board. Beyond sixty-four
/// it may take a second sheet.
const SIZES: [(usize, &str); 4] = [(46, "fullest"), (29, "most"), (16, "more"), (10, "many")];

/// What is picked, as it was typed: a buyer and bins for each stop.
pub struct SheetPicks<'a> {
    pub stops: &'a [(String, String)],
    pub buyers: &'a [String],
    pub bins: &'a [BinView],
    pub day: &'a str,
    /// The rest of the sheet's own address, once there is one.
    pub link: &'a str,
}

/// The page on which bins are picked, with the sheet below them.
pub fn load_picks(frame: &Frame, picks: &SheetPicks, sheet: Option<&LoadSheetView>) -> String {
    let rows = picks.stops.len() + 2;
    let body = html! {
        h1 { (LOAD_SHEET) }
        datalist #buyers { @for buyer in picks.buyers { option value=(buyer) {} } }
        form method="get" action="/load-sheet" {
            @for at in 0..rows.max(3) {
                @let (buyer, bins) = picks.stops.get(at).map_or(("", ""), |(buyer, bins)| (buyer.as_str(), bins.as_str()));
                label { "Stop " (at + 1) " " input name={ "buyer" (at + 1) } value=(buyer) list="buyers" autocomplete="off"; }
                label { "Its bins " input name={ "bins" (at + 1) } value=(bins) placeholder="3 4 12" autocomplete="off"; }
            }
            label { "Day of the drive " input name="day" value=(picks.day) placeholder="today, or 2026-03-01" autocomplete="off"; }
            button { "Make the sheet" }
        }
        p.small { "There is always room for two stops more: press again. Bins: "
            @for (at, bin) in picks.bins.iter().filter(|bin| !bin.retired && bin.mass.grams != "0").enumerate() {
                @if at > 0 { "; " }
                (bin.number) " " (bin.grade.as_deref().unwrap_or("no grade yet")) ", " (bin.mass.kg) " kg"
            }
            "."
        }
        @if let Some(sheet) = sheet {
            p.forms {
                a.key href={ "/v1/reports/load-sheet.html" (picks.link) } { "The sheet alone, to print or for a phone" } " "
                a.key href={ "/v1/reports/load-sheet.csv" (picks.link) } { "As CSV" } " "
                a.key href={ "/v1/reports/load-sheet.json" (picks.link) } { "As JSON" }
            }
            (bed(sheet))
            @for stop in &sheet.stops { (stop_table(stop)) }
            (minding(sheet))
            (set_out(frame, sheet))
        }
    };
    frame.around(body)
}

/// The sheet as one file.
pub fn load_sheet(sheet: &LoadSheetView) -> String {
    // A stop has its name and its sum; a grade takes two rows where it has a single bin; five bins make a row of the bed.
    let of_stop = |stop: &SheetStopView| 2 + stop.lines.iter().map(|line| line.bins.len().max(2)).sum::<usize>();
    let rows = sheet.stops.iter().map(of_stop).sum::<usize>() + sheet.loading.len() / 5;
    let size = SIZES.iter().find(|(from, _)| rows >= *from).map(|(_, size)| *size);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="color-scheme" content="light dark";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (LOAD_SHEET) ", " (sheet.day) }
                // Else a browser would ask for one by itself.
                link rel="icon" href="data:,";
                style { (PreEscaped(STYLE)) }
            }
            body data-rows=[size] {
                main {
                    h1 { (LOAD_SHEET) ", " (sheet.day) }
                    (bed(sheet))
                    div.stops { @for stop in &sheet.stops { (stop_table(stop)) } }
                    (minding(sheet))
                }
            }
        }
    };
    page.into_string()
}

fn set_out(frame: &Frame, sheet: &LoadSheetView) -> Markup {
    let stops = sheet.stops.iter().map(|stop| stop.buyer.as_str()).collect::<Vec<_>>().join("; ");
    let loads = sheet.loading.iter().map(|boarding| boarding.number.to_string()).collect::<Vec<_>>().join("; ");
    html! {
        form.forms method="post" action="/runs" {
            (frame.seal())
            input type="hidden" name="stops" value=(stops);
            input type="hidden" name="loads" value=(loads);
            input type="hidden" name="day" value=(sheet.day);
            button { "They are on board: I set out" }
        }
    }
}

fn bed(sheet: &LoadSheetView) -> Markup {
    html! {
        section aria-labelledby="bed" {
            h2 #bed { "Into the bed, in this order" }
            ol.bed { @for (boarding, at) in sheet.loading.iter().zip(1..) {
                li { small { (at) ". for stop " (boarding.stop) } b { (boarding.number) } small.gross { (boarding.gross_in_buyers_unit.as_deref().unwrap_or("weight with bin not known")) } }
            } }
            p { "On board " (sheet.total.kg) " kg · " (sheet.total.lb) " lb, with bins "
                @match &sheet.gross { Some(gross) => { (gross.kg) " kg · " (gross.lb) " lb" }, None => "not known for every bin" } "."
            }
        }
    }
}

fn stop_table(stop: &SheetStopView) -> Markup {
    html! {
        section.stop {
            h2 { (stop.stop) ". " (stop.buyer) }
            table {
                thead { tr { th.number { "Bin" } th.what { "Ask for" } th { "Ours" } th.gross { "With bin" } th { "Their weight" } } }
                tbody { @for line in &stop.lines { (line_rows(line)) } }
            }
            @if let Some(value) = &stop.value {
                p { "The stop comes to " b { (value.amount) " " (value.currency) } @if let Some(kg) = &stop.without_kg { ", without " (kg) " kg that have no value" } "." }
            }
        }
    }
}

fn line_rows(line: &SheetLineView) -> Markup {
    html! {
        @for (at, bin) in line.bins.iter().enumerate() {
            tr {
                th scope="row" { (bin.number) }
                @if at == 0 {
                    td.what rowspan=(line.bins.len()) { b { (called(line)) } @if line.bins.len() > 1 { ", " (line.in_buyers_unit) } br; (asked(line)) }
                }
                td { (bin.in_buyers_unit) }
                td.gross { (bin.gross_in_buyers_unit.as_deref().unwrap_or("not known")) }
                td.theirs {}
            }
        }
    }
}

fn minding(sheet: &LoadSheetView) -> Markup {
    html! {
        section aria-labelledby="mind" {
            h2 #mind { "Mind" }
            ul.mind { @for caution in &sheet.cautions { li { (caution.text) " (" (caution.source) ")" } } }
        }
        section aria-labelledby="papers" {
            h2 #papers { "Sellers are usually asked for" }
            ul.mind { @for paper in &sheet.papers { li { (paper) } } }
            p.why { (sheet.own_record) }
        }
    }
}

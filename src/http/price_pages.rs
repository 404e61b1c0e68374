//! The pages of prices and of grades, with their forms.

use super::api::prices::{self, grid_views};
use super::api::{self, FIRST};
use super::pages::{Fields, PageQuery, done, framed, optional, whole};
use super::problem::Problem;
use super::site::Site;
use crate::command::price_table::{breaks, written_breaks};
use crate::command::{BinRef, Edit, NameRef, Order, PriceOrder, Quoting};
use crate::facts::books::Quote;
use crate::facts::{BuyerId, QuoteId, Set};
use crate::measure::{Mass, Notation, Price, Written};
use crate::query::{self, GridLine};
use crate::render::json::{ImportView, WaitingGradeView};
use crate::render::page::{self, GridBeside, Typed, grid_field};
use crate::render::price_words;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::collections::BTreeMap;

const QUOTES: &str = "/quotes";
const GRADES: &str = "/grades";

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/quotes", get(quotes))
        .route("/quotes/grid", post(keep_grid))
        .route("/quotes/same-today", post(same_today))
        .route("/quotes/import", post(import))
        .route("/buyers/payout", post(tell_buyer))
        .route("/grades", get(grades))
        .route("/grades/note", post(tell_grade))
        .route("/words", post(tell_word))
        .route("/bins/pieces", post(count_pieces))
}

async fn quotes(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    shown(&site, query.said.as_deref(), None, None)
}

fn shown(site: &Site, said: Option<&str>, typed: Option<&Typed>, read: Option<(&str, &ImportView)>) -> Response {
    let (buyers, notes) = (grid_views(site), prices::buyer_views(site));
    let held: Vec<WaitingGradeView> =
        query::held_grades(&site.desk.books(), site.today(), site.stale_after).iter().map(WaitingGradeView::from).collect();
    let beside = GridBeside { buyers: &buyers, held: &held, notes: &notes, today: site.today().to_string(), typed, read };
    framed(site, page::PRICES, said, false, |frame| page::prices(frame, &beside))
}

/// Keeps the lines of one buyer that were changed; with a fault in any, nothing, and what was typed is shown again.
async fn keep_grid(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let buyer = optional(&fields, "buyer").unwrap_or_default().to_owned();
    match grid_order(&site, &buyer, &fields) {
        Ok(order) => done(&site, FIRST, &fields, order, QUOTES).await,
        Err(faults) => {
            let typed = Typed { buyer: &buyer, fields: &fields, faults: &faults };
            let said = format!("{}; nothing was kept", crate::render::text::counted(faults.len(), "fault"));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&site, Some(&said), Some(&typed), None)).into_response())
        }
    }
}

type Faults = BTreeMap<String, String>;

fn grid_order(site: &Site, buyer: &str, fields: &BTreeMap<String, String>) -> Result<Result<Order, String>, Faults> {
    let books = site.desk.books();
    let grid = query::price_grid(&books, &prices::grid_question(site));
    let Some(known) = grid.iter().find(|known| known.name == buyer) else {
        return Ok(Err(format!("there is no buyer {buyer:?} any more: look at the page anew")));
    };
    let mut faults = Faults::new();
    let day = match optional(fields, "day").map(super::bodies::day) {
        None => site.today(),
        Some(Ok(day)) => day,
        Some(Err(problem)) => {
            faults.insert("day".to_owned(), problem.detail);
            site.today()
        }
    };
    let mut changed = Vec::new();
    for line in &known.lines {
        let key = |what: &str| grid_field(what, line.grade.0, &line.currency.to_string());
        let seen = optional(fields, &key("seen")).and_then(|text| text.parse().ok()).map(QuoteId);
        let standing = seen.and_then(|seen| books.quotes.get(&seen));
        match typed_line(line, standing, fields, buyer, day, &key) {
            Ok(None) => {}
            Ok(Some(quoting)) => {
                let seen =
                    if quoting.rate.currency() == line.currency { seen } else { held(&books, known.buyer, &quoting, line) };
                changed.push((quoting, seen));
            }
            Err(more) => faults.extend(more),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if changed.is_empty() {
        let what = "nothing was changed: where the prices are the same today, press \"All still the same today\"";
        return Ok(Err(what.to_owned()));
    }
    Ok(Ok(Order::Prices(PriceOrder::KeepSeen(changed))))
}

/// What is in force in the other currency that was typed into a line.
fn held(books: &crate::facts::Books, buyer: BuyerId, quoting: &Quoting, line: &GridLine) -> Option<QuoteId> {
    let quotes = books.quotes.iter().map(|(id, quote)| (*id, quote));
    let held = crate::economy::quotes::in_force(quotes, quoting.day);
    held.get(&(line.grade, buyer, quoting.rate.currency())).map(|(id, _)| *id)
}

/// One line as it was typed; none where it says what the quote that its editor saw says.
fn typed_line(
    line: &GridLine,
    standing: Option<&Quote>,
    fields: &BTreeMap<String, String>,
    buyer: &str,
    day: jiff::civil::Date,
    key: &dyn Fn(&str) -> String,
) -> Result<Option<Quoting>, Faults> {
    let was = standing.map(written).unwrap_or_default();
    let now = page::GRID_COLUMNS.map(|what| optional(fields, &key(what)).unwrap_or_default());
    if now.iter().zip(&was).all(|(now, was)| now == was) {
        return Ok(None);
    }
    let mut faults = Faults::new();
    let mut fault = |what: &str, words: String| _ = faults.insert(key(what), words);
    let [price, steps, minimum, deduction, stale] = now;
    let rate = match (price, standing) {
        ("", Some(_)) => {
            fault("price", "a price is not taken back by an empty field: withdraw the quote if it was never right".to_owned());
            None
        }
        ("", None) => {
            fault("price", "the other fields of this line say something and the price does not".to_owned());
            None
        }
        (text, _) => {
            Notation::parse(text).map(|typed| typed.rate(line.currency)).map_err(|bad| fault("price", bad.to_string())).ok()
        }
    };
    let steps = breaks(steps).map_err(|bad| fault("breaks", price_words::steps(&bad))).unwrap_or_default();
    let minimum = match (minimum, Written::parse(minimum)) {
        ("", _) => None,
        (_, Ok(written)) if written.mass > Mass::ZERO => Some(written.mass),
        (text, Ok(_)) => {
            fault("minimum", format!("{text:?}: the least that a buyer takes is more than nothing"));
            None
        }
        (text, Err(bad)) => {
            fault("minimum", format!("{text:?}: {bad}"));
            None
        }
    };
    let deduction = (!deduction.is_empty())
        .then(|| {
            Price::amount(deduction)
                .map_err(|_| fault("deduction", format!("{deduction:?} is not a share in per cent such as 2.5")))
                .ok()
        })
        .flatten();
    let stale_after = (!stale.is_empty())
        .then(|| stale.parse::<u16>().map_err(|_| fault("stale", format!("{stale:?} is not a number of days such as 14"))).ok())
        .flatten();
    match rate {
        Some(rate) if faults.is_empty() => Ok(Some(Quoting {
            buyer: NameRef(buyer.to_owned()),
            grade: NameRef(line.name.clone()),
            rate,
            day,
            stale_after,
            breaks: steps,
            minimum,
            deduction,
        })),
        _ => Err(faults),
    }
}

/// A quote as the fields of its line show it, in the order of [`page::GRID_COLUMNS`].
fn written(quote: &Quote) -> [String; 5] {
    [
        Notation::of(&quote.rate, quote.rate.currency()).to_string(),
        written_breaks(&quote.breaks),
        quote.minimum.map(Written::shortest).unwrap_or_default(),
        quote.deduction.map(|percent| percent.to_string()).unwrap_or_default(),
        quote.stale_after.map(|days| days.to_string()).unwrap_or_default(),
    ]
}

async fn same_today(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let buyer = NameRef(optional(&fields, "buyer").unwrap_or_default().to_owned());
    let order = PriceOrder::SameToday { buyer, day: site.today() };
    done(&site, FIRST, &fields, Ok(Order::Prices(order)), QUOTES).await
}

/// Reads the table that was pasted; keeps it only where that was asked for and nothing is wrong with it.
async fn import(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let text = fields.get("table").map(String::as_str).unwrap_or_default();
    let table = prices::table(&site, text);
    let view = ImportView::of(&table, true, site.desk.books().seq);
    if optional(&fields, "act") == Some("keep") && view.faults.is_empty() {
        let quotes = table.rows.into_iter().map(|row| row.quoting).collect();
        return done(&site, FIRST, &fields, Ok(Order::Prices(PriceOrder::Keep(quotes))), QUOTES).await;
    }
    let status = if view.faults.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, shown(&site, None, None, Some((text, &view)))).into_response())
}

async fn tell_buyer(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        Ok(Order::Prices(PriceOrder::TellBuyer {
            buyer: NameRef(optional(&fields, "buyer").unwrap_or_default().to_owned()),
            payout: prices::payout(optional(&fields, "payout").unwrap_or_default()).map_err(|problem| problem.detail)?,
            edit: seen(&fields),
        }))
    };
    done(&site, FIRST, &fields, order(), QUOTES).await
}

fn seen(fields: &BTreeMap<String, String>) -> Edit {
    Edit { seen: optional(fields, "seen").and_then(|seen| seen.parse().ok()) }
}

async fn grades(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let (grades, buyers) = (prices::grade_views(&site), api::names::buyer_views(&site));
    framed(&site, page::GRADES, query.said.as_deref(), false, |frame| page::grades(frame, &grades, &buyers))
}

/// The form shows what is said so far, so an empty field takes it back.
async fn tell_grade(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = PriceOrder::TellGrade {
        grade: NameRef(optional(&fields, "grade").unwrap_or_default().to_owned()),
        fallback: Set::To(optional(&fields, "fallback").map(|name| NameRef(name.to_owned()))),
        specification: Set::To(optional(&fields, "specification").map(str::to_owned)),
        edit: seen(&fields),
    };
    done(&site, FIRST, &fields, Ok(Order::Prices(order)), GRADES).await
}

async fn tell_word(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = PriceOrder::TellWord {
        buyer: NameRef(optional(&fields, "buyer").unwrap_or_default().to_owned()),
        word: optional(&fields, "word").unwrap_or_default().to_owned(),
        grade: optional(&fields, "grade").map(|name| NameRef(name.to_owned())),
    };
    done(&site, FIRST, &fields, Ok(Order::Prices(order)), GRADES).await
}

async fn count_pieces(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let bin = BinRef(whole(optional(&fields, "bin").unwrap_or_default())?);
        let text = optional(&fields, "pieces").unwrap_or_default();
        let pieces = text.parse().map_err(|_| format!("{text:?} is not a number of pieces"))?;
        Ok(Order::Prices(PriceOrder::CountPieces { bin, pieces }))
    };
    done(&site, FIRST, &fields, order(), "/bins").await
}

//! Prices: the grid of a day, many quotes at once, a table of them, what is told of grades and buyers, and the history.

use super::report::{buyer, given, grade, read, reply};
use super::{FIRST, ReceiptView, edit, place};
use crate::command::price_table::{self, Table};
use crate::command::{BinRef, Made, NameRef, Order, PriceOrder};
use crate::facts::{Payout, Set};
use crate::http::bodies::{Body, bad_price, day, name, present};
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::quote_body::QuoteBody;
use crate::http::site::Site;
use crate::measure::PriceUnit;
use crate::query::{self, GridQuestion, PricesQuestion};
use crate::render::csv_prices;
use crate::render::json::{BuyerNoteView, BuyerPricesView, GradeNoteView, ImportView, PriceHistoryView};
use crate::render::page::{self, Frame};
use axum::body::Bytes;
use axum::extract::rejection::QueryRejection;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, patch, post, put};
use axum::{Json, Router};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

/// A table of five thousand quotes is half as long.
const TABLE_MAX: usize = 1024 * 1024;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/prices", get(grid).post(keep))
        .route("/v1/prices/same-today", post(same_today))
        .route("/v1/prices/import", post(import).layer(DefaultBodyLimit::max(TABLE_MAX)))
        .route("/v1/bins/{number}/pieces", put(count_pieces))
        .route("/v1/grade-notes", get(grade_notes))
        .route("/v1/grades/{name}/note", patch(tell_grade))
        .route("/v1/buyer-notes", get(buyer_notes))
        .route("/v1/buyers/{name}/payout", put(tell_buyer))
        .route("/v1/words", post(tell_word))
        .route("/reports/prices", get(history_html))
        .route("/v1/reports/prices", get(history))
        .route("/v1/reports/prices.json", get(history_json))
        .route("/v1/reports/prices.csv", get(history_csv))
        .route("/v1/reports/prices.html", get(history_html))
}

/// Several quotes, kept all or none.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotesBody {
    pub quotes: Vec<QuoteBody>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SameBody {
    pub buyer: String,
    /// As in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PiecesBody {
    /// All that lie in the bin.
    pub pieces: u32,
}

/// What is told of a grade: a key that is absent is left alone, null takes it back.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct GradeNoteBody {
    /// The coarser grade that it can be folded into, by its name.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub fallback: Option<Option<String>>,
    /// The word of a published trade specification for it, as a note.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub specification: Option<Option<String>>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PayoutBody {
    /// `exact`, `nearest-five`, `down-five` or `nearest-ten`.
    pub payout: String,
}

/// A buyer's own word for a grade.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WordBody {
    pub buyer: String,
    pub word: String,
    /// The grade by our name; null takes the word back.
    pub grade: Option<String>,
}

#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct ImportQuery {
    /// Only reads the table and says what it would keep, and every fault.
    pub dry_run: bool,
}

#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct HistoryQuery {
    /// The quotes that hold from this day or an earlier one.
    pub as_of: Option<String>,
    /// Of this grade alone, by its name.
    pub grade: Option<String>,
    /// Of this buyer alone, by the name.
    pub buyer: Option<String>,
    /// Every price by weight in this unit, as in `kg`; without it, each series in that of its last quote.
    pub unit: Option<String>,
}

pub fn grid_question(site: &Site) -> GridQuestion {
    GridQuestion { day: site.today(), currency: site.currency, stale_after: site.stale_after }
}

pub fn grid_views(site: &Site) -> Vec<BuyerPricesView> {
    query::price_grid(&site.desk.books(), &grid_question(site)).iter().map(BuyerPricesView::from).collect()
}

pub fn grade_views(site: &Site) -> Vec<GradeNoteView> {
    query::grade_lines(&site.desk.books()).iter().map(GradeNoteView::from).collect()
}

pub fn buyer_views(site: &Site) -> Vec<BuyerNoteView> {
    query::buyer_lines(&site.desk.books()).iter().map(BuyerNoteView::from).collect()
}

/// What each buyer pays for each grade today.
#[utoipa::path(get, path = "/v1/prices", responses((status = 200, body = Vec<BuyerPricesView>)))]
pub async fn grid(State(site): State<Site>) -> Json<Vec<BuyerPricesView>> {
    Json(grid_views(&site))
}

/// Keeps several quotes, all or none; what stands in the books word for word on its day already is not kept again.
#[utoipa::path(post, path = "/v1/prices", request_body = QuotesBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn keep(State(site): State<Site>, headers: HeaderMap, Body(body): Body<QuotesBody>) -> Result<Response, Problem> {
    let quoting = |(place, quote): (usize, &QuoteBody)| {
        quote.quoting(&site).map_err(|mut problem| {
            problem.detail = format!("quote {} of those sent: {}", place + 1, problem.detail);
            problem
        })
    };
    let quotes: Result<Vec<_>, Problem> = body.quotes.iter().enumerate().map(quoting).collect();
    place(&site, &headers, FIRST, Order::Prices(PriceOrder::Keep(quotes?))).await
}

/// Every quote of a buyer that is in force holds on this day as well: it is kept anew under it.
#[utoipa::path(post, path = "/v1/prices/same-today", request_body = SameBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn same_today(State(site): State<Site>, headers: HeaderMap, Body(body): Body<SameBody>) -> Result<Response, Problem> {
    let day = body.day.as_deref().map_or_else(|| Ok(site.today()), day).map_err(|problem| problem.at("day"))?;
    place(&site, &headers, FIRST, Order::Prices(PriceOrder::SameToday { buyer: name(&body.buyer), day })).await
}

/// Reads a table of quotes as it would be imported now.
pub fn table(site: &Site, text: &str) -> Table {
    price_table::read(&site.desk.books(), text, site.currency, site.today())
}

/// Imports a table of quotes (CSV, RFC 4180), all of it or nothing. Columns: buyer, grade (by our name or the buyer's own
/// word) and price, and where wanted currency, day, stale_after_days, breaks, minimum, deduction_percent.
#[utoipa::path(post, path = "/v1/prices/import", params(ImportQuery), request_body(content = String, content_type = "text/csv"), responses((status = 200, body = ImportView), (status = 201, body = ImportView), (status = 422, body = Problem)))]
pub async fn import(
    State(site): State<Site>,
    asked: Result<Query<ImportQuery>, QueryRejection>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response, Problem> {
    let query = read(asked)?;
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("nothing");
    if kind.split(';').next().map(str::trim) != Some("text/csv") {
        let detail = format!("a table of quotes is sent as text/csv, and this says {kind}");
        return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "not-csv", detail));
    }
    let text = std::str::from_utf8(&body)
        .map_err(|fault| Problem::bad_body(format!("the table is not text in UTF-8 from byte {} on", fault.valid_up_to())))?;
    let table = table(&site, text);
    if query.dry_run {
        let seq = site.desk.books().seq;
        return Ok(Json(ImportView::of(&table, true, seq)).into_response());
    }
    let view = ImportView::of(&table, false, 0);
    if !view.faults.is_empty() {
        return Err(bad_table(&view));
    }
    let quotes = table.rows.into_iter().map(|row| row.quoting).collect();
    let receipt = site.desk.place(FIRST, super::key(&headers)?, Order::Prices(PriceOrder::Keep(quotes))).await?;
    let status = if receipt.made == Made::Now { StatusCode::CREATED } else { StatusCode::OK };
    Ok((status, Json(ImportView { seq: receipt.seq, ..view })).into_response())
}

fn bad_table(view: &ImportView) -> Problem {
    let first = view.faults.first().map(|fault| format!("line {}: {}", fault.line, fault.what)).unwrap_or_default();
    let others = match view.faults.len() {
        0 | 1 => String::new(),
        many => format!("; and {}", crate::render::text::counted(many - 1, "more fault")),
    };
    let detail = format!("{first}{others}: nothing was kept");
    let mut problem = Problem::new(StatusCode::UNPROCESSABLE_ENTITY, "bad-table", detail);
    problem.faults = view.faults.as_slice().into();
    problem
}

/// Keeps how many pieces lie in a bin.
#[utoipa::path(put, path = "/v1/bins/{number}/pieces", params(("number" = u32, Path)), request_body = PiecesBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn count_pieces(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<PiecesBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Prices(PriceOrder::CountPieces { bin: BinRef(number), pieces: body.pieces })).await
}

/// What is told of each grade beside its name.
#[utoipa::path(get, path = "/v1/grade-notes", responses((status = 200, body = Vec<GradeNoteView>)))]
pub async fn grade_notes(State(site): State<Site>) -> Json<Vec<GradeNoteView>> {
    Json(grade_views(&site))
}

/// Says which coarser grade it can be folded into, and which word of a published specification it goes by.
#[utoipa::path(patch, path = "/v1/grades/{name}/note", params(("name" = String, Path)), request_body = GradeNoteBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem), (status = 412, body = Problem)))]
pub async fn tell_grade(
    State(site): State<Site>,
    Path(grade): Path<String>,
    headers: HeaderMap,
    Body(body): Body<GradeNoteBody>,
) -> Result<Response, Problem> {
    let order = PriceOrder::TellGrade {
        grade: name(&grade),
        fallback: body.fallback.map_or(Set::Keep, |fallback| Set::To(fallback.map(NameRef))),
        specification: body.specification.map_or(Set::Keep, Set::To),
        edit: edit(&headers)?,
    };
    place(&site, &headers, FIRST, Order::Prices(order)).await
}

/// What is told of each buyer beside the name.
#[utoipa::path(get, path = "/v1/buyer-notes", responses((status = 200, body = Vec<BuyerNoteView>)))]
pub async fn buyer_notes(State(site): State<Site>) -> Json<Vec<BuyerNoteView>> {
    Json(buyer_views(&site))
}

/// How a payout is named in a request.
pub fn payout(text: &str) -> Result<Payout, Problem> {
    Payout::from_name(text).ok_or_else(|| {
        let known = Payout::ALL.map(Payout::name).join(", ");
        Problem::bad_body(format!("{text:?} is no way to pay out in cash; there are {known}")).at("payout")
    })
}

/// Says how a buyer pays out a total in cash.
#[utoipa::path(put, path = "/v1/buyers/{name}/payout", params(("name" = String, Path)), request_body = PayoutBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem)))]
pub async fn tell_buyer(
    State(site): State<Site>,
    Path(buyer): Path<String>,
    headers: HeaderMap,
    Body(body): Body<PayoutBody>,
) -> Result<Response, Problem> {
    let order = PriceOrder::TellBuyer { buyer: name(&buyer), payout: payout(&body.payout)?, edit: edit(&headers)? };
    place(&site, &headers, FIRST, Order::Prices(order)).await
}

/// Says what a buyer calls a grade; without a grade it takes the word back.
#[utoipa::path(post, path = "/v1/words", request_body = WordBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn tell_word(State(site): State<Site>, headers: HeaderMap, Body(body): Body<WordBody>) -> Result<Response, Problem> {
    let order = PriceOrder::TellWord { buyer: name(&body.buyer), word: body.word, grade: body.grade.map(NameRef) };
    place(&site, &headers, FIRST, Order::Prices(order)).await
}

pub type Asked = Result<Query<HistoryQuery>, QueryRejection>;

/// The price history, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/prices", params(HistoryQuery), responses((status = 200, body = PriceHistoryView)))]
pub async fn history(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/prices.json", params(HistoryQuery), responses((status = 200, body = PriceHistoryView)))]
pub async fn history_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/prices.csv", params(HistoryQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn history_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/prices.html", params(HistoryQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn history_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let books = site.desk.books();
    let question = PricesQuestion {
        today: site.today(),
        as_of: given(&query.as_of).map(day).transpose().map_err(|problem| problem.at("as_of"))?,
        stale_after: site.stale_after,
        grade: given(&query.grade).map(|name| grade(&books, name)).transpose()?,
        buyer: given(&query.buyer).map(|name| buyer(&books, name)).transpose()?,
        unit: given(&query.unit).map(|text| PriceUnit::parse(text).map_err(|fault| bad_price(fault).at("unit"))).transpose()?,
    };
    let history = PriceHistoryView::from(&query::price_history(&books, &question));
    let frame = Frame { title: page::PRICE_HISTORY, token: &site.token, key: "", said: None, live: false };
    let asked = page::HistoryAsked {
        as_of: given(&query.as_of),
        grade: given(&query.grade),
        buyer: given(&query.buyer),
        unit: given(&query.unit),
        grades: &super::names::grade_views(site),
        buyers: &super::names::buyer_views(site),
    };
    let name = format!("prices-{}", history.day);
    Ok(reply(form, &history, &name, csv_prices::history, |history| page::price_history(&frame, history, &asked)))
}

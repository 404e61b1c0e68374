//! Bins.

use super::{FIRST, ReceiptView, edit, place};
use crate::command::{BinRef, Order, Refusal};
use crate::facts::{BinChange, Set};
use crate::http::bodies::{BinBody, BinChangeBody, Body, EmptyBody, MassBody, ReasonBody, StockBody, TipBody, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Mass;
use crate::query;
use crate::render::json::BinView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};

/// Every bin, by its number.
pub fn views(site: &Site) -> Vec<BinView> {
    query::bins(&site.desk.books()).iter().map(BinView::from).collect()
}

/// Every bin with what it holds.
#[utoipa::path(get, path = "/v1/bins", responses((status = 200, body = Vec<BinView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<BinView>> {
    Json(views(&site))
}

/// One bin, with its version as an ETag.
#[utoipa::path(get, path = "/v1/bins/{number}", params(("number" = u32, Path)), responses((status = 200, body = BinView), (status = 404, body = Problem)))]
pub async fn show(State(site): State<Site>, Path(number): Path<u32>) -> Result<Response, Problem> {
    let bins = views(&site);
    let known = bins.iter().filter(|bin| !bin.retired).map(|bin| bin.number).collect();
    let bin = bins.into_iter().find(|bin| bin.number == number && !bin.retired);
    let bin = bin.ok_or(Refusal::UnknownBin { number, known })?;
    Ok(([(header::ETAG, format!("\"{}\"", bin.version))], Json(bin)).into_response())
}

/// Makes a bin. Nothing is needed; what is left out can come later and applies backwards.
#[utoipa::path(post, path = "/v1/bins", request_body = BinBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn make(State(site): State<Site>, headers: HeaderMap, Body(body): Body<BinBody>) -> Result<Response, Problem> {
    let mass = |mass: Option<MassBody>| mass.map(|mass| mass.mass()).transpose();
    let order = Order::MakeBin {
        number: body.number,
        name: body.name,
        grade: body.grade.as_deref().map(name),
        tare: mass(body.tare)?,
        capacity: mass(body.capacity)?,
    };
    place(&site, &headers, FIRST, order).await
}

/// Changes a bin's set-up; `If-Match` guards against changing what somebody else just changed.
#[utoipa::path(patch, path = "/v1/bins/{number}", params(("number" = u32, Path)), request_body = BinChangeBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem)))]
pub async fn change(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<BinChangeBody>,
) -> Result<Response, Problem> {
    let mass = |mass: Option<Option<MassBody>>| -> Result<Set<Mass>, Problem> {
        mass.map_or(Ok(Set::Keep), |mass| Ok(Set::To(mass.map(|mass| mass.mass()).transpose()?)))
    };
    let change = BinChange {
        number: body.number,
        name: body.name.map_or(Set::Keep, Set::To),
        grade: Set::Keep,
        tare: mass(body.tare)?,
        capacity: mass(body.capacity)?,
        litres: body.litres.map_or(Set::Keep, Set::To),
        retired: body.retired,
    };
    let grade = body.grade.map(|grade| grade.as_deref().map(name));
    place(&site, &headers, FIRST, Order::ChangeBin { bin: BinRef(number), change, grade, edit: edit(&headers)? }).await
}

/// Empties a bin: what it held is gone, and a new fill begins.
#[utoipa::path(post, path = "/v1/bins/{number}/empty", params(("number" = u32, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView)))]
pub async fn empty(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::EmptyBin { bin: BinRef(number), reason: body.reason }).await
}

/// Tips a bin into another.
#[utoipa::path(post, path = "/v1/bins/{number}/tip", params(("number" = u32, Path)), request_body = TipBody, responses((status = 201, body = ReceiptView)))]
pub async fn tip(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<TipBody>,
) -> Result<Response, Problem> {
    let order = Order::TipBin { from: BinRef(number), to: BinRef(body.to), reason: body.reason };
    place(&site, &headers, FIRST, order).await
}

/// Books what lay in the bin before the program came.
#[utoipa::path(post, path = "/v1/bins/{number}/stock", params(("number" = u32, Path)), request_body = StockBody, responses((status = 201, body = ReceiptView)))]
pub async fn stock(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<StockBody>,
) -> Result<Response, Problem> {
    let order = Order::OpeningStock {
        bin: BinRef(number),
        mass: body.mass.mass()?,
        source: body.source.source(&body.mass)?,
        reason: body.reason,
    };
    place(&site, &headers, FIRST, order).await
}

/// Says that what a bin came back lighter by is gone from it: the books follow the scale.
#[utoipa::path(post, path = "/v1/bins/{number}/missing", params(("number" = u32, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn settle_missing(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::SettleMissing { bin: BinRef(number) }).await
}

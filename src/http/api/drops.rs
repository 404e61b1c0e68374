//! Drops and their corrections.

use super::{FIRST, ReceiptView, place};
use crate::command::{BinRef, Order, Which};
use crate::facts::{BenchId, EntryId, SessionId};
use crate::http::bodies::{Body, EmptyBody, HandBody, MoveBody, StockBody, VoidBody, WasBinBody, WeightBody};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query::{self, DropQuestion};
use crate::render::json::{DropView, RiddleView};
use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use utoipa::IntoParams;

const PAGE: usize = 100;
const PAGE_MAX: usize = 10_000;

#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct DropQuery {
    pub bench: Option<u16>,
    /// A bin's number.
    pub bin: Option<u32>,
    pub session: Option<u64>,
    /// Only drops without a bin.
    pub unassigned: bool,
    /// Only those before this one: the next page.
    pub before: Option<u64>,
    pub limit: Option<usize>,
}

fn views(site: &Site, query: Result<Query<DropQuery>, QueryRejection>) -> Result<Vec<DropView>, Problem> {
    let Query(query) = query.map_err(|fault| Problem::bad_query(fault.body_text()))?;
    let question = DropQuestion {
        bench: query.bench.map(BenchId),
        bin: query.bin,
        session: query.session.map(SessionId),
        unassigned: query.unassigned,
        before: query.before.map(EntryId),
        limit: query.limit.unwrap_or(PAGE).min(PAGE_MAX),
    };
    Ok(query::drops(&site.desk.books(), &question).iter().map(DropView::from).collect())
}

/// Drops, newest first.
#[utoipa::path(get, path = "/v1/drops", params(DropQuery), responses((status = 200, body = Vec<DropView>)))]
pub async fn list(
    State(site): State<Site>,
    query: Result<Query<DropQuery>, QueryRejection>,
) -> Result<Json<Vec<DropView>>, Problem> {
    views(&site, query).map(Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/drops.csv", params(DropQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn csv(State(site): State<Site>, query: Result<Query<DropQuery>, QueryRejection>) -> Result<Response, Problem> {
    let text = crate::render::csv::drops(&views(&site, query)?);
    Ok(([(header::CONTENT_TYPE, "text/csv; charset=utf-8")], text).into_response())
}

/// Enters a weight that was taken elsewhere.
#[utoipa::path(post, path = "/v1/benches/{bench}/drops", params(("bench" = u16, Path)), request_body = WeightBody, responses((status = 201, body = ReceiptView)))]
pub async fn enter(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<WeightBody>,
) -> Result<Response, Problem> {
    let order = Order::EnterWeight {
        bin: body.bin.map(BinRef),
        mass: body.mass.mass()?,
        source: body.source.source(&body.mass)?,
        reason: body.reason,
    };
    place(&site, &headers, BenchId(bench), order).await
}

/// Voids a drop: says what it really was.
#[utoipa::path(post, path = "/v1/drops/{drop}/void", params(("drop" = u64, Path)), request_body = VoidBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn void(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<VoidBody>,
) -> Result<Response, Problem> {
    let order = Order::VoidDrop { entry: EntryId(drop), which: body.which.into(), reason: body.reason };
    place(&site, &headers, FIRST, order).await
}

/// Moves a drop, or every drop of its bin since, to another bin.
#[utoipa::path(post, path = "/v1/drops/{drop}/move", params(("drop" = u64, Path)), request_body = MoveBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn shift(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<MoveBody>,
) -> Result<Response, Problem> {
    let first = EntryId(drop);
    let which = if body.since { Which::Since(first) } else { Which::One(first) };
    place(&site, &headers, FIRST, Order::MoveDrops { which, to: BinRef(body.to), reason: body.reason }).await
}

/// Puts a drop's weight right after weighing it again.
#[utoipa::path(post, path = "/v1/drops/{drop}/adjust", params(("drop" = u64, Path)), request_body = StockBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn adjust(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<StockBody>,
) -> Result<Response, Problem> {
    let order = Order::AdjustDrop {
        entry: EntryId(drop),
        mass: body.mass.mass()?,
        source: body.source.source(&body.mass)?,
        reason: body.reason,
    };
    place(&site, &headers, FIRST, order).await
}

/// The bench of a drop: where its orders are booked.
fn bench_of(site: &Site, entry: EntryId) -> BenchId {
    site.desk.books().entries.get(&entry).map_or(FIRST, |entry| entry.bench)
}

/// Says that what was set down was the bin itself: it is no material, and what landed since is in that bin.
#[utoipa::path(post, path = "/v1/drops/{drop}/was-bin", params(("drop" = u64, Path)), request_body = WasBinBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn was_bin(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<WasBinBody>,
) -> Result<Response, Problem> {
    let entry = EntryId(drop);
    place(&site, &headers, bench_of(&site, entry), Order::WasTheBin { entry, bin: BinRef(body.number) }).await
}

/// Marks a drop to be looked at later.
#[utoipa::path(post, path = "/v1/drops/{drop}/doubt", params(("drop" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn doubt(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let entry = EntryId(drop);
    place(&site, &headers, bench_of(&site, entry), Order::DoubtDrop { entry: Some(entry) }).await
}

/// Says that what was taken out of a bin was put where the scale does not see it.
#[utoipa::path(post, path = "/v1/benches/{bench}/hand", params(("bench" = u16, Path)), request_body = HandBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn settle_hand(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<HandBody>,
) -> Result<Response, Problem> {
    let order = Order::SettleHand { removal: EntryId(body.removal), reason: body.reason };
    place(&site, &headers, BenchId(bench), order).await
}

pub fn riddle_views(site: &Site) -> Vec<RiddleView> {
    query::riddles(&site.desk.books()).iter().map(RiddleView::from).collect()
}

/// What waits for an answer.
#[utoipa::path(get, path = "/v1/to-settle", responses((status = 200, body = Vec<RiddleView>)))]
pub async fn to_settle(State(site): State<Site>) -> Json<Vec<RiddleView>> {
    Json(riddle_views(&site))
}

//! Intakes and the lots that they open.

use super::{FIRST, ReceiptView, place};
use crate::command::Order;
use crate::facts::{BenchId, LotId};
use crate::http::bodies::{Body, IntakeBody, LotFeedBody, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query;
use crate::render::json::LotView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// Every lot, newest first.
#[utoipa::path(get, path = "/v1/lots", responses((status = 200, body = Vec<LotView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<LotView>> {
    Json(query::lots(&site.desk.books()).iter().map(LotView::from).collect())
}

/// Says that the next load is an intake, or none after all.
#[utoipa::path(put, path = "/v1/benches/{bench}/intake", params(("bench" = u16, Path)), request_body = IntakeBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn intake(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<IntakeBody>,
) -> Result<Response, Problem> {
    let feed = body.feed.as_deref().map(name);
    let order = if body.asked { Order::AskIntake { feed } } else { Order::WithdrawIntake };
    place(&site, &headers, BenchId(bench), order).await
}

/// The bench on which a lot was weighed: where its orders are booked.
pub fn bench_of(site: &Site, lot: LotId) -> BenchId {
    site.desk.books().lot_entry(lot).map_or(FIRST, |entry| entry.bench)
}

/// Says of which feed a lot is.
#[utoipa::path(put, path = "/v1/lots/{lot}/feed", params(("lot" = u64, Path)), request_body = LotFeedBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn tell(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<LotFeedBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    place(&site, &headers, bench_of(&site, lot), Order::TellLot { lot, feed: name(&body.feed) }).await
}

//! Intakes and the lots that they open.

use super::{FIRST, ReceiptView, place};
use crate::command::{BinRef, FeedOrder, Order};
use crate::facts::{BenchId, LotId};
use crate::http::bodies::{Body, EmptyBody, IntakeBody, LotBody, LotFeedBody, MinutesBody, day, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Span;
use crate::query;
use crate::render::json::LotView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// Every lot, newest first.
#[utoipa::path(get, path = "/v1/lots", responses((status = 200, body = Vec<LotView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<LotView>> {
    Json(views(&site))
}

pub fn views(site: &Site) -> Vec<LotView> {
    query::lots(&site.desk.books()).iter().map(LotView::from).collect()
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

/// Enters an intake that was weighed elsewhere, counted, or drawn from a bin: it opens a lot.
#[utoipa::path(post, path = "/v1/benches/{bench}/lots", params(("bench" = u16, Path)), request_body = LotBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn enter(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<LotBody>,
) -> Result<Response, Problem> {
    let mass = match (&body.mass, &body.source) {
        (Some(mass), Some(source)) => Some((mass.mass()?, source.source(mass)?)),
        (None, None) => None,
        _ => {
            return Err(Problem::bad_body(
                "a mass and its source belong together; leave both out for a lot that was only counted",
            ));
        }
    };
    let (feed, reason) = (name(&body.feed), body.reason);
    let plain = body.pieces.is_none() && body.depth.is_none() && body.from_bin.is_none();
    let order = match mass {
        Some((mass, source)) if plain => Order::EnterLot { feed, mass, source, reason },
        mass => Order::Feeds(FeedOrder::OpenLot {
            feed,
            mass,
            pieces: body.pieces,
            depth: body.depth,
            bin: body.from_bin.map(BinRef),
            reason,
        }),
    };
    place(&site, &headers, BenchId(bench), order).await
}

/// Says that a lot is worked off: from here on it counts in yields and pay.
#[utoipa::path(post, path = "/v1/lots/{lot}/close", params(("lot" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn close(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    place(&site, &headers, bench_of(&site, lot), Order::CloseLot { lot }).await
}

/// Says that a closed lot is not worked off after all.
#[utoipa::path(post, path = "/v1/lots/{lot}/reopen", params(("lot" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn reopen(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    place(&site, &headers, bench_of(&site, lot), Order::ReopenLot { lot }).await
}

/// Adds minutes that a lot took away from the bench.
#[utoipa::path(post, path = "/v1/lots/{lot}/minutes", params(("lot" = u64, Path)), request_body = MinutesBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn minutes(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<MinutesBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let order = Order::SpendMinutes {
        what: body.what,
        span: Span::seconds(60 * u64::from(body.minutes)),
        day: body.day.as_deref().map_or_else(|| Ok(site.today()), day)?,
        session: None,
        lot: Some(lot),
    };
    place(&site, &headers, bench_of(&site, lot), order).await
}

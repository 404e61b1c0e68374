//! Sessions.

use super::{FIRST, ReceiptView, place};
use crate::command::Order;
use crate::facts::{BenchId, SessionId};
use crate::http::bodies::{Body, EmptyBody, FeedBody, StillnessBody, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query;
use crate::render::json::SessionView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// Every session, newest first.
#[utoipa::path(get, path = "/v1/sessions", responses((status = 200, body = Vec<SessionView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<SessionView>> {
    Json(query::sessions(&site.desk.books(), &(site.now)()).iter().map(SessionView::from).collect())
}

/// Starts a session on a bench.
#[utoipa::path(post, path = "/v1/benches/{bench}/sessions", params(("bench" = u16, Path)), request_body = FeedBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn start(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<FeedBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, BenchId(bench), Order::StartSession { feed: body.feed.as_deref().map(name) }).await
}

/// The bench of a session: where its orders are booked.
pub fn bench_of(site: &Site, session: SessionId) -> BenchId {
    site.desk.books().sessions.get(&session).map_or(FIRST, |session| session.bench)
}

/// Stops the hands-on clock.
#[utoipa::path(post, path = "/v1/sessions/{session}/pause", params(("session" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn pause(
    State(site): State<Site>,
    Path(session): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let session = SessionId(session);
    place(&site, &headers, bench_of(&site, session), Order::PauseSession { session }).await
}

/// Lets the hands-on clock run again.
#[utoipa::path(post, path = "/v1/sessions/{session}/resume", params(("session" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn resume(
    State(site): State<Site>,
    Path(session): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let session = SessionId(session);
    place(&site, &headers, bench_of(&site, session), Order::ResumeSession { session }).await
}

/// Ends a session. One that has ended already answers when.
#[utoipa::path(post, path = "/v1/sessions/{session}/end", params(("session" = u64, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn end(
    State(site): State<Site>,
    Path(session): Path<u64>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let session = SessionId(session);
    place(&site, &headers, bench_of(&site, session), Order::EndSession { session }).await
}

/// Goes on with another feed.
#[utoipa::path(post, path = "/v1/sessions/{session}/legs", params(("session" = u64, Path)), request_body = FeedBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn leg(
    State(site): State<Site>,
    Path(session): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<FeedBody>,
) -> Result<Response, Problem> {
    let session = SessionId(session);
    let order = Order::BeginLeg { session, feed: body.feed.as_deref().map(name) };
    place(&site, &headers, bench_of(&site, session), order).await
}

/// Says what a stillness was. Until then both figures of the clock stand.
#[utoipa::path(post, path = "/v1/sessions/{session}/stillnesses/{stillness}", params(("session" = u64, Path), ("stillness" = u64, Path)), request_body = StillnessBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn tell_stillness(
    State(site): State<Site>,
    Path((session, stillness)): Path<(u64, u64)>,
    headers: HeaderMap,
    Body(body): Body<StillnessBody>,
) -> Result<Response, Problem> {
    let session = SessionId(session);
    let order = Order::TellStillness { session, stillness, away: body.away };
    place(&site, &headers, bench_of(&site, session), order).await
}

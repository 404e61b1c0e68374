//! What the owner tells beside the scale: marks of feeds, limits, sorting, full bins, and the round through the stock.

use super::report::table;
use super::{FIRST, ReceiptView, edit, place};
use crate::command::{BinRef, Order, PlaceOrder};
use crate::facts::{Mark, Set};
use crate::http::bodies::{Body, EmptyBody, ReasonBody, name};
use crate::http::place_bodies::{LimitsBody, LookBody, MarksBody, SortingBody};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query;
use crate::render::csv_places;
use crate::render::json::{FeedMarksView, LimitsView, RoundView, feed_marks};
use crate::render::place_words::{mark_of, seen_of};
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::{get, patch, post, put};
use axum::{Json, Router};

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/marks", get(marks))
        .route("/v1/feeds/{name}/marks", patch(mark))
        .route("/v1/limits", get(limits).patch(tell_limits))
        .route("/v1/grades/{name}/sorting", put(sorting))
        .route("/v1/bins/{number}/full", post(full))
        .route("/v1/bins/{number}/look", post(look))
        .route("/v1/bins/{number}/follow", post(follow))
        .route("/v1/bins/{number}/take-back", post(take_back))
        .route("/v1/stock-round", get(round))
        .route("/v1/stock-round.csv", get(round_csv))
}

pub fn mark_views(site: &Site) -> Vec<FeedMarksView> {
    feed_marks(&site.desk.books())
}

pub fn round_view(site: &Site) -> RoundView {
    RoundView::from(&query::round(&site.desk.books(), site.today(), &site.zone))
}

/// A mark by its code; none where none was given.
pub fn strength(what: &str, code: Option<&str>) -> Result<Option<Mark>, Problem> {
    let read =
        |code: &str| mark_of(code).ok_or_else(|| Problem::bad_body(format!("{what}: {code:?} is none of none, some and much")));
    code.map(read).transpose()
}

/// The owner's marks of every feed in use.
#[utoipa::path(get, path = "/v1/marks", responses((status = 200, body = Vec<FeedMarksView>)))]
pub async fn marks(State(site): State<Site>) -> Json<Vec<FeedMarksView>> {
    Json(mark_views(&site))
}

/// Marks a feed: the strain on the hands, the mess, the room that it takes, or why not at all.
#[utoipa::path(patch, path = "/v1/feeds/{name}/marks", params(("name" = String, Path)), request_body = MarksBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 412, body = Problem), (status = 422, body = Problem)))]
pub async fn mark(
    State(site): State<Site>,
    Path(feed): Path<String>,
    headers: HeaderMap,
    Body(body): Body<MarksBody>,
) -> Result<Response, Problem> {
    let order = PlaceOrder::MarkFeed {
        feed: name(&feed),
        strain: strength("strain", body.strain.as_deref())?,
        mess: strength("mess", body.mess.as_deref())?,
        space: strength("space", body.space.as_deref())?,
        veto: body.veto.map_or(Set::Keep, Set::To),
        edit: edit(&headers)?,
    };
    place(&site, &headers, FIRST, Order::Places(order)).await
}

/// What an hour must bring, and how many places for bins there are.
#[utoipa::path(get, path = "/v1/limits", responses((status = 200, body = LimitsView)))]
pub async fn limits(State(site): State<Site>) -> Json<LimitsView> {
    Json(LimitsView::from(&*site.desk.books()))
}

/// Tells what an hour must bring, or how many places for bins there are.
#[utoipa::path(patch, path = "/v1/limits", request_body = LimitsBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem), (status = 422, body = Problem)))]
pub async fn tell_limits(
    State(site): State<Site>,
    headers: HeaderMap,
    Body(body): Body<LimitsBody>,
) -> Result<Response, Problem> {
    let floor = match body.floor_per_hour {
        None => Set::Keep,
        Some(floor) => Set::To(floor.map(|floor| floor.money(&site)).transpose()?),
    };
    let places = body.places.map_or(Set::Keep, Set::To);
    place(&site, &headers, FIRST, Order::Places(PlaceOrder::TellLimits { floor, places, edit: edit(&headers)? })).await
}

/// Tells how much more time a month it takes to sort a grade out.
#[utoipa::path(put, path = "/v1/grades/{name}/sorting", params(("name" = String, Path)), request_body = SortingBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn sorting(
    State(site): State<Site>,
    Path(grade): Path<String>,
    headers: HeaderMap,
    Body(body): Body<SortingBody>,
) -> Result<Response, Problem> {
    let a_month = body.minutes_a_month.map(super::feeds::minutes);
    place(&site, &headers, FIRST, Order::Places(PlaceOrder::TellSorting { grade: name(&grade), a_month })).await
}

/// Says that a bin is full: how many days it took is learned. The same again is no news.
#[utoipa::path(post, path = "/v1/bins/{number}/full", params(("number" = u32, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn full(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Places(PlaceOrder::TapFull { bin: BinRef(number) })).await
}

/// The last emptying or tip of a bin never was: what was in it lies there again, with what came in since.
#[utoipa::path(post, path = "/v1/bins/{number}/take-back", params(("number" = u32, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn take_back(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    let order = PlaceOrder::TakeEmptyingBack { bin: BinRef(number), reason: body.reason };
    place(&site, &headers, FIRST, Order::Places(order)).await
}

/// On a round through the stock: what is seen in a bin, of what the books hold. They are left as they are.
#[utoipa::path(post, path = "/v1/bins/{number}/look", params(("number" = u32, Path)), request_body = LookBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn look(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<LookBody>,
) -> Result<Response, Problem> {
    let seen = seen_of(&body.seen).ok_or_else(|| {
        let detail = format!("seen: {:?} is none of right, three-quarters, half, quarter and emptied", body.seen);
        Problem::bad_body(detail)
    })?;
    place(&site, &headers, FIRST, Order::Places(PlaceOrder::SeeStock { bin: BinRef(number), seen })).await
}

/// Lets the books follow the last look into a bin.
#[utoipa::path(post, path = "/v1/bins/{number}/follow", params(("number" = u32, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn follow(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Places(PlaceOrder::FollowStock { bin: BinRef(number) })).await
}

/// What the books hold in each bin, beside what was seen there last.
#[utoipa::path(get, path = "/v1/stock-round", responses((status = 200, body = RoundView)))]
pub async fn round(State(site): State<Site>) -> Json<RoundView> {
    Json(round_view(&site))
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/stock-round.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn round_csv(State(site): State<Site>) -> Response {
    let view = round_view(&site);
    table(&format!("stock-round-{}", view.day), csv_places::round(&view))
}

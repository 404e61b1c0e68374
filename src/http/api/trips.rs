//! What a drive is planned from: yards, roads, the vehicle, grades that are held, bins that stay or must go.

use super::{FIRST, ReceiptView, edit, place};
use crate::command::{BinRef, Order, TripOrder};
use crate::http::bodies::{Body, EmptyBody, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::http::trip_bodies::{HoldBody, PinBody, RoadBody, VehicleBody, YardBody};
use crate::render::json::TripFactsView;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::{get, patch, post, put};
use axum::{Json, Router};

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/trip-facts", get(show))
        .route("/v1/buyers/{name}/yard", patch(tell_yard))
        .route("/v1/buyers/{name}/yard/forget", post(forget_yard))
        .route("/v1/roads", post(tell_road))
        .route("/v1/vehicle", patch(tell_vehicle))
        .route("/v1/grades/{name}/hold", put(tell_hold))
        .route("/v1/bins/{number}/pin", put(pin))
}

pub fn view(site: &Site) -> TripFactsView {
    TripFactsView::from(&*site.desk.books())
}

/// All that was told of yards, roads, the vehicle, holds and pins.
#[utoipa::path(get, path = "/v1/trip-facts", responses((status = 200, body = TripFactsView)))]
pub async fn show(State(site): State<Site>) -> Json<TripFactsView> {
    Json(view(&site))
}

/// Tells where a buyer is and when it is open.
#[utoipa::path(patch, path = "/v1/buyers/{name}/yard", params(("name" = String, Path)), request_body = YardBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 412, body = Problem), (status = 422, body = Problem)))]
pub async fn tell_yard(
    State(site): State<Site>,
    Path(buyer): Path<String>,
    headers: HeaderMap,
    Body(body): Body<YardBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Trips(body.order(&buyer, edit(&headers)?)?)).await
}

/// Takes back what was told of where a buyer is.
#[utoipa::path(post, path = "/v1/buyers/{name}/yard/forget", params(("name" = String, Path)), request_body = EmptyBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 412, body = Problem)))]
pub async fn forget_yard(
    State(site): State<Site>,
    Path(buyer): Path<String>,
    headers: HeaderMap,
    Body(EmptyBody {}): Body<EmptyBody>,
) -> Result<Response, Problem> {
    let order = TripOrder::ForgetYard { buyer: name(&buyer), edit: edit(&headers)? };
    place(&site, &headers, FIRST, Order::Trips(order)).await
}

/// Tells of a road from one buyer straight to another; without a distance it is taken back.
#[utoipa::path(post, path = "/v1/roads", request_body = RoadBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn tell_road(State(site): State<Site>, headers: HeaderMap, Body(body): Body<RoadBody>) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Trips(body.order()?)).await
}

/// Tells what the vehicle takes and costs.
#[utoipa::path(patch, path = "/v1/vehicle", request_body = VehicleBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem), (status = 422, body = Problem)))]
pub async fn tell_vehicle(
    State(site): State<Site>,
    headers: HeaderMap,
    Body(body): Body<VehicleBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::Trips(body.order(&site, edit(&headers)?)?)).await
}

/// Holds a grade for a price, until a day or a weight from which it goes anyway; without a price the hold is taken back.
#[utoipa::path(put, path = "/v1/grades/{name}/hold", params(("name" = String, Path)), request_body = HoldBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 412, body = Problem), (status = 422, body = Problem)))]
pub async fn tell_hold(
    State(site): State<Site>,
    Path(grade): Path<String>,
    headers: HeaderMap,
    Body(body): Body<HoldBody>,
) -> Result<Response, Problem> {
    let order = body.order(&site, name(&grade), edit(&headers)?)?;
    place(&site, &headers, FIRST, Order::Trips(order)).await
}

/// Says that a bin stays at home, or must go: until it is taken back, or the bin is emptied or loaded.
#[utoipa::path(put, path = "/v1/bins/{number}/pin", params(("number" = u32, Path)), request_body = PinBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn pin(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<PinBody>,
) -> Result<Response, Problem> {
    let order = TripOrder::PinBin { bin: BinRef(number), pin: body.pin()? };
    place(&site, &headers, FIRST, Order::Trips(order)).await
}

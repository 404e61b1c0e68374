//! Grades, feeds and buyers: three lists of names.

use super::{FIRST, ReceiptView, edit, place};
use crate::command::Order;
use crate::facts::NameChange;
use crate::http::bodies::{Body, NameBody, NameChangeBody, name};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query;
use crate::render::json::NameView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

fn change(body: NameChangeBody) -> NameChange {
    NameChange { name: body.name, retired: body.retired }
}

pub fn grade_views(site: &Site) -> Vec<NameView> {
    query::names(&site.desk.books().grades, |grade| grade.0).iter().map(NameView::from).collect()
}

/// What buyers pay for.
#[utoipa::path(get, path = "/v1/grades", responses((status = 200, body = Vec<NameView>)))]
pub async fn grades(State(site): State<Site>) -> Json<Vec<NameView>> {
    Json(grade_views(&site))
}

/// Adds a grade.
#[utoipa::path(post, path = "/v1/grades", request_body = NameBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn make_grade(State(site): State<Site>, headers: HeaderMap, Body(body): Body<NameBody>) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::MakeGrade { name: body.name }).await
}

/// Renames or retires a grade.
#[utoipa::path(patch, path = "/v1/grades/{name}", params(("name" = String, Path)), request_body = NameChangeBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem)))]
pub async fn change_grade(
    State(site): State<Site>,
    Path(grade): Path<String>,
    headers: HeaderMap,
    Body(body): Body<NameChangeBody>,
) -> Result<Response, Problem> {
    let order = Order::ChangeGrade { grade: name(&grade), change: change(body), edit: edit(&headers)? };
    place(&site, &headers, FIRST, order).await
}

pub fn feed_views(site: &Site) -> Vec<NameView> {
    query::names(&site.desk.books().feeds, |feed| feed.0).iter().map(NameView::from).collect()
}

/// What is taken apart.
#[utoipa::path(get, path = "/v1/feeds", responses((status = 200, body = Vec<NameView>)))]
pub async fn feeds(State(site): State<Site>) -> Json<Vec<NameView>> {
    Json(feed_views(&site))
}

/// Adds a feed.
#[utoipa::path(post, path = "/v1/feeds", request_body = NameBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn make_feed(State(site): State<Site>, headers: HeaderMap, Body(body): Body<NameBody>) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::MakeFeed { name: body.name }).await
}

/// Renames or retires a feed.
#[utoipa::path(patch, path = "/v1/feeds/{name}", params(("name" = String, Path)), request_body = NameChangeBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem)))]
pub async fn change_feed(
    State(site): State<Site>,
    Path(feed): Path<String>,
    headers: HeaderMap,
    Body(body): Body<NameChangeBody>,
) -> Result<Response, Problem> {
    let order = Order::ChangeFeed { feed: name(&feed), change: change(body), edit: edit(&headers)? };
    place(&site, &headers, FIRST, order).await
}

pub fn buyer_views(site: &Site) -> Vec<NameView> {
    query::names(&site.desk.books().buyers, |buyer| buyer.0).iter().map(NameView::from).collect()
}

/// Who pays.
#[utoipa::path(get, path = "/v1/buyers", responses((status = 200, body = Vec<NameView>)))]
pub async fn buyers(State(site): State<Site>) -> Json<Vec<NameView>> {
    Json(buyer_views(&site))
}

/// Adds a buyer.
#[utoipa::path(post, path = "/v1/buyers", request_body = NameBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn make_buyer(State(site): State<Site>, headers: HeaderMap, Body(body): Body<NameBody>) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::MakeBuyer { name: body.name }).await
}

/// Renames or retires a buyer.
#[utoipa::path(patch, path = "/v1/buyers/{name}", params(("name" = String, Path)), request_body = NameChangeBody, responses((status = 201, body = ReceiptView), (status = 412, body = Problem)))]
pub async fn change_buyer(
    State(site): State<Site>,
    Path(buyer): Path<String>,
    headers: HeaderMap,
    Body(body): Body<NameChangeBody>,
) -> Result<Response, Problem> {
    let order = Order::ChangeBuyer { buyer: name(&buyer), change: change(body), edit: edit(&headers)? };
    place(&site, &headers, FIRST, order).await
}

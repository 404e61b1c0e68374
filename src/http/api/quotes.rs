//! Quotes.

use super::{FIRST, ReceiptView, place};
use crate::command::Order;
use crate::facts::QuoteId;
use crate::http::bodies::{Body, ReasonBody};
use crate::http::problem::Problem;
use crate::http::quote_body::QuoteBody;
use crate::http::site::Site;
use crate::query;
use crate::render::json::QuoteView;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

pub fn views(site: &Site) -> Vec<QuoteView> {
    query::quotes(&site.desk.books()).iter().map(QuoteView::from).collect()
}

/// Every quote, the newest day first.
#[utoipa::path(get, path = "/v1/quotes", responses((status = 200, body = Vec<QuoteView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<QuoteView>> {
    Json(views(&site))
}

/// Keeps what a buyer pays for a grade from a day on, by weight or by the piece; a negative price is a charge.
#[utoipa::path(post, path = "/v1/quotes", request_body = QuoteBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn give(State(site): State<Site>, headers: HeaderMap, Body(body): Body<QuoteBody>) -> Result<Response, Problem> {
    let quoting = body.quoting(&site)?;
    place(&site, &headers, FIRST, Order::GiveQuote(quoting)).await
}

/// Withdraws a quote that was never right.
#[utoipa::path(post, path = "/v1/quotes/{quote}/withdraw", params(("quote" = u64, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView)))]
pub async fn withdraw(
    State(site): State<Site>,
    Path(quote): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, FIRST, Order::WithdrawQuote { quote: QuoteId(quote), reason: body.reason }).await
}

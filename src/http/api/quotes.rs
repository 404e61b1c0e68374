//! Quotes.

use super::{FIRST, ReceiptView, place};
use crate::command::Order;
use crate::facts::QuoteId;
use crate::http::bodies::{Body, QuoteBody, ReasonBody, day, name};
use crate::http::problem::Problem;
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

/// The order that a quote's body asks for.
pub fn order(site: &Site, body: &QuoteBody) -> Result<Order, Problem> {
    Ok(Order::GiveQuote {
        buyer: name(&body.buyer),
        grade: name(&body.grade),
        price: body.price(site.currency)?,
        day: body.day.as_deref().map_or_else(|| Ok(site.today()), day)?,
        stale_after: body.stale_after_days,
        breaks: body.breaks()?,
        minimum: body.minimum.as_ref().map(|minimum| minimum.mass()).transpose()?,
        deduction: body.deduction()?,
    })
}

/// Every quote, the newest day first.
#[utoipa::path(get, path = "/v1/quotes", responses((status = 200, body = Vec<QuoteView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<QuoteView>> {
    Json(views(&site))
}

/// Keeps what a buyer pays for a grade from a day on.
#[utoipa::path(post, path = "/v1/quotes", request_body = QuoteBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn give(State(site): State<Site>, headers: HeaderMap, Body(body): Body<QuoteBody>) -> Result<Response, Problem> {
    let order = order(&site, &body)?;
    place(&site, &headers, FIRST, order).await
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

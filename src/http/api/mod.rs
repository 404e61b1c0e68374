//! The resources under `/v1/`, one file each.

pub mod bench;
pub mod bins;
pub mod buyers;
pub mod checks;
pub mod density;
pub mod drops;
pub mod feeds;
pub mod hour;
pub mod kerb;
pub mod load_sheet;
pub mod lots;
pub mod names;
pub mod places;
pub mod plan;
pub mod prices;
pub mod quotes;
pub mod ranking;
pub mod report;
pub mod reports;
pub mod sessions;
pub mod tickets;
pub mod trips;
pub mod week;
pub mod when;
pub mod wire;

use super::problem::Problem;
use super::site::Site;
use crate::command::{Edit, Made, Order, Receipt};
use crate::facts::BenchId;
use axum::Json;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// What an order did.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct ReceiptView {
    /// The identity of what was made or done.
    pub id: u64,
    /// The books stand at least here, and it is on the disk.
    pub seq: u64,
    /// False when it had been done before: under the same key, or because it was so already.
    pub made_now: bool,
}

impl From<Receipt> for ReceiptView {
    fn from(receipt: Receipt) -> ReceiptView {
        ReceiptView { id: receipt.id, seq: receipt.seq, made_now: receipt.made == Made::Now }
    }
}

/// The first bench: orders that are about no bench in particular are booked there.
pub const FIRST: BenchId = BenchId(1);

/// Places an order with the request's idempotency key.
pub async fn place(site: &Site, headers: &HeaderMap, bench: BenchId, order: Order) -> Result<Response, Problem> {
    let receipt = site.desk.place(bench, key(headers)?, order).await?;
    let status = if receipt.made == Made::Now { StatusCode::CREATED } else { StatusCode::OK };
    Ok((status, Json(ReceiptView::from(receipt))).into_response())
}

/// The request's idempotency key.
pub fn key(headers: &HeaderMap) -> Result<Option<String>, Problem> {
    let text = headers.get("idempotency-key").map(|key| key.to_str());
    let text = text.transpose();
    text.map(|text| text.map(str::to_owned))
        .map_err(|_| Problem::new(StatusCode::BAD_REQUEST, "bad-key", "an Idempotency-Key is plain ASCII text"))
}

/// The version that an edit was made against: `If-Match: "17"`.
pub fn edit(headers: &HeaderMap) -> Result<Edit, Problem> {
    let Some(given) = headers.get("if-match") else { return Ok(Edit::default()) };
    let version = given.to_str().ok().and_then(|text| text.trim_matches('"').parse().ok());
    let seen = version.ok_or_else(|| {
        Problem::new(StatusCode::BAD_REQUEST, "bad-version", "If-Match holds the version that you saw, as in \"17\"")
    })?;
    Ok(Edit { seen: Some(seen) })
}

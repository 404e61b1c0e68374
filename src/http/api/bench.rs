//! Benches.

use super::{ReceiptView, place};
use crate::command::{BinRef, Order};
use crate::facts::BenchId;
use crate::http::bodies::{Body, ChooseBody, MannerBody, PressBody, PressKind};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query;
use crate::render::json::{BenchView, LiveView};
use crate::settle::Manner;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// Drops that a bench shows.
const LAST: usize = 8;

/// A bench as it stands; a problem when there is no such bench.
pub fn view(site: &Site, bench: BenchId) -> Result<BenchView, Problem> {
    let live = site.desk.live(bench).ok_or(crate::command::Refusal::UnknownBench { bench: bench.0 })?;
    let books = site.desk.books();
    let line = query::bench(&books, bench, &(site.now)(), LAST);
    let configured = books.bench(bench).epoch.map(|epoch| epoch.unit);
    let standing = BenchView::new(&line, LiveView::new(&live, configured, books.seq));
    let standing = standing.reminding(super::checks::reminder(site, bench), super::checks::warming(site, bench));
    Ok(standing.with_round(super::places::round_view(site).reminder))
}

/// A bench: its chosen bin, its session, its last drops and what the scale shows.
#[utoipa::path(get, path = "/v1/benches/{bench}", params(("bench" = u16, Path)), responses((status = 200, body = BenchView), (status = 404, body = Problem)))]
pub async fn show(State(site): State<Site>, Path(bench): Path<u16>) -> Result<Json<BenchView>, Problem> {
    view(&site, BenchId(bench)).map(Json)
}

/// Chooses the bin that drops go into.
#[utoipa::path(put, path = "/v1/benches/{bench}/bin", params(("bench" = u16, Path)), request_body = ChooseBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn choose(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<ChooseBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, BenchId(bench), Order::ChooseBin { bin: body.number.map(BinRef) }).await
}

/// Chooses the manner of weighing.
#[utoipa::path(put, path = "/v1/benches/{bench}/manner", params(("bench" = u16, Path)), request_body = MannerBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn manner(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<MannerBody>,
) -> Result<Response, Problem> {
    let unknown = || Problem::bad_body(format!("{:?} is not a manner of weighing; heap, tray, pan and sort are", body.manner));
    let manner = Manner::from_name(&body.manner).ok_or_else(unknown)?;
    place(&site, &headers, BenchId(bench), Order::ChooseManner { manner }).await
}

/// What a long press on the pan does.
#[utoipa::path(put, path = "/v1/benches/{bench}/press", params(("bench" = u16, Path)), request_body = PressBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem)))]
pub async fn press(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<PressBody>,
) -> Result<Response, Problem> {
    let order = match body.press {
        PressKind::Trial => Order::TryPress,
        PressKind::On => Order::UsePress { on: true },
        PressKind::Off => Order::UsePress { on: false },
    };
    place(&site, &headers, BenchId(bench), order).await
}

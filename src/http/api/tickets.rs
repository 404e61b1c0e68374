//! Runs, tickets, payments, and what left a bin unweighed.

use super::report::{read, table};
use super::{FIRST, ReceiptView, place};
use crate::command::{BinRef, Order, TicketOrder};
use crate::facts::TicketId;
use crate::http::bodies::{Body, ReasonBody, day as civil};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::http::ticket_bodies::{AwayBody, PaymentBody, RunBody, TicketBody, TieBody, at, fee, shares};
use crate::http::ticket_csv;
use crate::query::{self, TicketQuestion};
use crate::render::csv_tickets;
use crate::render::json::{RunView, TicketImportView, TicketView};
use crate::render::ticket_words::method_of;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;
use utoipa::IntoParams;

/// A year of tickets as a table.
const IMPORT_MAX: usize = 1024 * 1024;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/runs", get(runs).post(set_out))
        .route("/v1/runs/{run}/take-back", post(take_run_back))
        .route("/v1/tickets", get(list).post(take))
        .route("/v1/tickets.csv", get(csv))
        .route("/v1/tickets/import", post(import).layer(DefaultBodyLimit::max(IMPORT_MAX)))
        .route("/v1/tickets/{ticket}", get(show))
        .route("/v1/tickets/{ticket}/lines/{line}/bins", post(tie))
        .route("/v1/tickets/{ticket}/void", post(void))
        .route("/v1/tickets/{ticket}/settle", post(settle))
        .route("/v1/tickets/{ticket}/payments", post(pay))
        .route("/v1/bins/{number}/away", post(away))
}

pub fn question(site: &Site) -> TicketQuestion {
    TicketQuestion { today: site.today(), zone: site.zone.clone() }
}

pub fn views(site: &Site) -> Vec<TicketView> {
    let answers = query::tickets(&site.desk.books(), &question(site));
    answers.iter().map(TicketView::from).collect()
}

pub fn view(site: &Site, ticket: u64) -> Result<TicketView, Problem> {
    let found = query::ticket(&site.desk.books(), &question(site), TicketId(ticket));
    let unknown = || Problem::new(StatusCode::NOT_FOUND, "unknown-ticket", format!("there is no ticket {ticket}"));
    found.as_ref().map(TicketView::from).ok_or_else(unknown)
}

async fn order(site: &Site, headers: &HeaderMap, order: TicketOrder) -> Result<Response, Problem> {
    place(site, headers, FIRST, Order::Tickets(Box::new(order))).await
}

/// Every ticket, newest first, with what our scale says of it.
#[utoipa::path(get, path = "/v1/tickets", responses((status = 200, body = Vec<TicketView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<TicketView>> {
    Json(views(&site))
}

/// The same as CSV, a line a line.
#[utoipa::path(get, path = "/v1/tickets.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn csv(State(site): State<Site>) -> Response {
    table("tickets", csv_tickets::tickets(&views(&site)))
}

/// One ticket.
#[utoipa::path(get, path = "/v1/tickets/{ticket}", params(("ticket" = u64, Path)), responses((status = 200, body = TicketView), (status = 404, body = Problem)))]
pub async fn show(State(site): State<Site>, Path(ticket): Path<u64>) -> Result<Json<TicketView>, Problem> {
    Ok(Json(view(&site, ticket)?))
}

/// Takes a ticket as it is printed.
#[utoipa::path(post, path = "/v1/tickets", request_body = TicketBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn take(State(site): State<Site>, headers: HeaderMap, Body(body): Body<TicketBody>) -> Result<Response, Problem> {
    order(&site, &headers, TicketOrder::Take(vec![body.taking(&site)?])).await
}

#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct ImportQuery {
    /// Only say what would be taken and what is wrong.
    pub dry: bool,
}

/// Takes many tickets from CSV, all of them or none.
#[utoipa::path(post, path = "/v1/tickets/import", params(ImportQuery), request_body(content = String, content_type = "text/csv"), responses((status = 200, body = TicketImportView), (status = 201, body = ReceiptView), (status = 422, body = TicketImportView)))]
pub async fn import(
    State(site): State<Site>,
    headers: HeaderMap,
    asked: Result<Query<ImportQuery>, axum::extract::rejection::QueryRejection>,
    body: String,
) -> Result<Response, Problem> {
    let asked = read(asked)?;
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("nothing");
    if kind.split(';').next().map(str::trim) != Some("text/csv") {
        let detail = format!("a table of tickets is sent as text/csv, and this says {kind}");
        return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "not-csv", detail));
    }
    let (takings, report) = ticket_csv::read(&site, &body);
    if asked.dry {
        return Ok(Json(report).into_response());
    }
    if !report.faults.is_empty() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, Json(report)).into_response());
    }
    order(&site, &headers, TicketOrder::Take(takings)).await
}

/// Says which bins a line was that was left open.
#[utoipa::path(post, path = "/v1/tickets/{ticket}/lines/{line}/bins", params(("ticket" = u64, Path), ("line" = u32, Path)), request_body = TieBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn tie(
    State(site): State<Site>,
    Path((ticket, line)): Path<(u64, u32)>,
    headers: HeaderMap,
    Body(body): Body<TieBody>,
) -> Result<Response, Problem> {
    let shares = at("bins", shares(&body.bins))?;
    order(&site, &headers, TicketOrder::Tie { ticket: TicketId(ticket), line, shares }).await
}

/// Takes a ticket back that was never right: what it moved goes back to its bins.
#[utoipa::path(post, path = "/v1/tickets/{ticket}/void", params(("ticket" = u64, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn void(
    State(site): State<Site>,
    Path(ticket): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    order(&site, &headers, TicketOrder::Void { ticket: TicketId(ticket), reason: body.reason }).await
}

/// Says that what is odd about a ticket was looked at, and stays as it is printed.
#[utoipa::path(post, path = "/v1/tickets/{ticket}/settle", params(("ticket" = u64, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn settle(
    State(site): State<Site>,
    Path(ticket): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    order(&site, &headers, TicketOrder::Settle { ticket: TicketId(ticket), reason: body.reason }).await
}

/// Books money for a ticket, or word that it is held.
#[utoipa::path(post, path = "/v1/tickets/{ticket}/payments", params(("ticket" = u64, Path)), request_body = PaymentBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn pay(
    State(site): State<Site>,
    Path(ticket): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<PaymentBody>,
) -> Result<Response, Problem> {
    let method = method_of(&body.method).ok_or_else(|| {
        Problem::bad_body(format!("method: {:?} is none of cash, cheque, transfer, card and other", body.method))
    })?;
    let pay = TicketOrder::Pay {
        ticket: TicketId(ticket),
        day: at("day", body.day.as_deref().map_or_else(|| Ok(site.today()), civil))?,
        method,
        amount: at("amount", body.amount.money(&site))?,
        fee: fee(body.fee.as_deref())?,
        held: body.held,
    };
    order(&site, &headers, pay).await
}

/// Sets out with bins: whole ones are empty at home from now on.
#[utoipa::path(post, path = "/v1/runs", request_body = RunBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn set_out(State(site): State<Site>, headers: HeaderMap, Body(body): Body<RunBody>) -> Result<Response, Problem> {
    order(&site, &headers, TicketOrder::SetOut(body.setting_out(&site)?)).await
}

pub fn run_views(site: &Site) -> Vec<RunView> {
    query::runs(&site.desk.books()).iter().map(RunView::from).collect()
}

/// Every drive with bins, the last one first.
#[utoipa::path(get, path = "/v1/runs", responses((status = 200, body = Vec<RunView>)))]
pub async fn runs(State(site): State<Site>) -> Json<Vec<RunView>> {
    Json(run_views(&site))
}

/// Takes a run back that was never driven, while nothing of it is on a ticket: its bins stand where they stood.
#[utoipa::path(post, path = "/v1/runs/{run}/take-back", params(("run" = u64, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn take_run_back(
    State(site): State<Site>,
    Path(run): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    order(&site, &headers, TicketOrder::TakeRunBack { run, reason: body.reason }).await
}

/// Books what left a bin unweighed, or as a gift.
#[utoipa::path(post, path = "/v1/bins/{number}/away", params(("number" = u32, Path)), request_body = AwayBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn away(
    State(site): State<Site>,
    Path(number): Path<u32>,
    headers: HeaderMap,
    Body(body): Body<AwayBody>,
) -> Result<Response, Problem> {
    let mass = at("mass", body.mass.as_ref().map(|mass| mass.mass()).transpose())?;
    let away = TicketOrder::Away { bin: BinRef(number), mass, given: body.given, reason: body.reason };
    order(&site, &headers, away).await
}

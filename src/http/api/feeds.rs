//! Feeds and lots beside the scale: what is told of a lot; arrivals, money and minutes; trials; and taking records back.

use super::lots::bench_of;
use super::report::table;
use super::{FIRST, ReceiptView, edit, place};
use crate::command::{Arriving, FeedOrder, Order};
use crate::facts::{BenchId, LotId, Set};
use crate::http::bodies::{Body, MassBody, ReasonBody, bad_price, day as civil, name};
use crate::http::feed_bodies::{
    ArrivalBody, CostBody, JobMinutesBody, LotChangeBody, SpendingBody, TrialBody, TrialEndBody, WaitBody,
};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::{Price, Span};
use crate::query;
use crate::render::csv_outlays;
use crate::render::feed_words::{part_of, sort_of};
use crate::render::json::{ArrivalView, SpendingView, TimeView, TrialView};
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::{get, patch, post};
use axum::{Json, Router};
use jiff::civil::Date;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/lots/{lot}", patch(describe))
        .route("/v1/lots/{lot}/waits", post(wait))
        .route("/v1/lots/{lot}/costs", post(cost))
        .route("/v1/arrivals", get(arrivals).post(arrive))
        .route("/v1/arrivals.csv", get(arrivals_csv))
        .route("/v1/spendings", get(spendings).post(spend))
        .route("/v1/spendings.csv", get(spendings_csv))
        .route("/v1/minutes", get(times).post(spend_minutes))
        .route("/v1/minutes.csv", get(times_csv))
        .route("/v1/records/{record}/void", post(void))
        .route("/v1/trials", get(trials))
        .route("/v1/benches/{bench}/trials", post(begin_trial))
        .route("/v1/trials/{trial}/end", post(end_trial))
}

pub fn arrival_views(site: &Site) -> Vec<ArrivalView> {
    query::arrivals(&site.desk.books()).iter().map(ArrivalView::from).collect()
}

pub fn spending_views(site: &Site) -> Vec<SpendingView> {
    query::spendings(&site.desk.books()).iter().map(SpendingView::from).collect()
}

pub fn time_views(site: &Site) -> Vec<TimeView> {
    query::times(&site.desk.books()).iter().map(TimeView::from).collect()
}

/// The day that was named, else today.
pub fn day_or_today(site: &Site, text: Option<&str>) -> Result<Date, Problem> {
    text.map_or_else(|| Ok(site.today()), civil)
}

pub fn minutes(count: u32) -> Span {
    Span::seconds(60 * u64::from(count))
}

/// Says to which depth a lot is taken apart, how many pieces it is, or with which arrival it came.
#[utoipa::path(patch, path = "/v1/lots/{lot}", params(("lot" = u64, Path)), request_body = LotChangeBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 412, body = Problem)))]
pub async fn describe(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<LotChangeBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let order = FeedOrder::DescribeLot {
        lot,
        depth: body.depth.map_or(Set::Keep, Set::To),
        pieces: body.pieces.map_or(Set::Keep, Set::To),
        arrival: body.arrival.map_or(Set::Keep, Set::To),
        edit: edit(&headers)?,
    };
    place(&site, &headers, bench_of(&site, lot), Order::Feeds(order)).await
}

/// Says that a lot soaked, was heated, or waited: nobody's hands were on it.
#[utoipa::path(post, path = "/v1/lots/{lot}/waits", params(("lot" = u64, Path)), request_body = WaitBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem)))]
pub async fn wait(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<WaitBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let (span, day) = (minutes(body.minutes), day_or_today(&site, body.day.as_deref())?);
    let order = FeedOrder::WaitForLot { lot, what: body.what, span, day, clock_ran: body.clock_ran };
    place(&site, &headers, bench_of(&site, lot), Order::Feeds(order)).await
}

/// Adds what was used up on a lot, or what it cost to be rid of something.
#[utoipa::path(post, path = "/v1/lots/{lot}/costs", params(("lot" = u64, Path)), request_body = CostBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn cost(
    State(site): State<Site>,
    Path(lot): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<CostBody>,
) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let order = FeedOrder::Spend {
        sort: sort(&body.sort)?,
        what: body.what,
        day: day_or_today(&site, body.day.as_deref())?,
        amount: body.cost.money(&site)?,
        buyer: None,
        feed: None,
        lot: Some(lot),
    };
    place(&site, &headers, bench_of(&site, lot), Order::Feeds(order)).await
}

/// Every arrival, newest first.
#[utoipa::path(get, path = "/v1/arrivals", responses((status = 200, body = Vec<ArrivalView>)))]
pub async fn arrivals(State(site): State<Site>) -> Json<Vec<ArrivalView>> {
    Json(arrival_views(&site))
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/arrivals.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn arrivals_csv(State(site): State<Site>) -> Response {
    table("arrivals", csv_outlays::arrivals(&arrival_views(&site)))
}

/// Books goods that came in.
#[utoipa::path(post, path = "/v1/arrivals", request_body = ArrivalBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn arrive(State(site): State<Site>, headers: HeaderMap, Body(body): Body<ArrivalBody>) -> Result<Response, Problem> {
    let came = Arriving {
        from: body.from,
        day: day_or_today(&site, body.day.as_deref())?,
        what: body.what,
        feed: body.feed.as_deref().map(name),
        mass: body.mass.as_ref().map(MassBody::mass).transpose()?,
        pieces: body.pieces,
        paid: body.paid.as_ref().map(|paid| paid.money(&site)).transpose()?,
        span: body.minutes.map(minutes),
        distance_km: body.distance_km.as_deref().map(|text| Price::amount(text).map_err(bad_price)).transpose()?,
    };
    place(&site, &headers, FIRST, Order::Feeds(FeedOrder::Arrive(came))).await
}

/// Money that went out, newest first.
#[utoipa::path(get, path = "/v1/spendings", responses((status = 200, body = Vec<SpendingView>)))]
pub async fn spendings(State(site): State<Site>) -> Json<Vec<SpendingView>> {
    Json(spending_views(&site))
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/spendings.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn spendings_csv(State(site): State<Site>) -> Response {
    table("spendings", csv_outlays::spendings(&spending_views(&site)))
}

/// Books money that went out.
#[utoipa::path(post, path = "/v1/spendings", request_body = SpendingBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn spend(State(site): State<Site>, headers: HeaderMap, Body(body): Body<SpendingBody>) -> Result<Response, Problem> {
    let order = FeedOrder::Spend {
        sort: sort(&body.sort)?,
        what: body.what,
        day: day_or_today(&site, body.day.as_deref())?,
        amount: body.cost.money(&site)?,
        buyer: body.buyer.as_deref().map(name),
        feed: body.feed.as_deref().map(name),
        lot: None,
    };
    place(&site, &headers, FIRST, Order::Feeds(order)).await
}

/// Minutes that were told, newest first.
#[utoipa::path(get, path = "/v1/minutes", responses((status = 200, body = Vec<TimeView>)))]
pub async fn times(State(site): State<Site>) -> Json<Vec<TimeView>> {
    Json(time_views(&site))
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/minutes.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn times_csv(State(site): State<Site>) -> Response {
    table("minutes", csv_outlays::times(&time_views(&site)))
}

/// Adds minutes of the whole job that belong to no lot.
#[utoipa::path(post, path = "/v1/minutes", request_body = JobMinutesBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn spend_minutes(
    State(site): State<Site>,
    headers: HeaderMap,
    Body(body): Body<JobMinutesBody>,
) -> Result<Response, Problem> {
    let part = part_of(&body.sort)
        .ok_or_else(|| Problem::bad_body(format!("sort: {:?} is none of fetching, bench and yard", body.sort)))?;
    let (span, day) = (minutes(body.minutes), day_or_today(&site, body.day.as_deref())?);
    let order = FeedOrder::SpendMinutes { part, what: body.what, span, day };
    place(&site, &headers, FIRST, Order::Feeds(order)).await
}

/// Takes an arrival, a spending, minutes or a trial back: it counts nowhere any more.
#[utoipa::path(post, path = "/v1/records/{record}/void", params(("record" = u64, Path)), request_body = ReasonBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem)))]
pub async fn void(
    State(site): State<Site>,
    Path(record): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<ReasonBody>,
) -> Result<Response, Problem> {
    let order = FeedOrder::VoidRecord { record, reason: body.reason };
    place(&site, &headers, FIRST, Order::Feeds(order)).await
}

/// Every trial against the clock, newest first, at the best quotes of today.
#[utoipa::path(get, path = "/v1/trials", responses((status = 200, body = Vec<TrialView>)))]
pub async fn trials(State(site): State<Site>) -> Result<Json<Vec<TrialView>>, Problem> {
    let nothing = axum::extract::Query(super::hour::HourQuery::default());
    Ok(Json(super::hour::view(&site, Ok(nothing))?.0.trials))
}

/// Begins a trial against the clock in the bench's session.
#[utoipa::path(post, path = "/v1/benches/{bench}/trials", params(("bench" = u16, Path)), request_body = TrialBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn begin_trial(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<TrialBody>,
) -> Result<Response, Problem> {
    let span = match (body.minutes, body.seconds) {
        (Some(count), None) => minutes(count),
        (None, Some(count)) => Span::seconds(u64::from(count)),
        _ => return Err(Problem::bad_body("a trial has one of minutes and seconds, as in {\"minutes\": 10}")),
    };
    let order = FeedOrder::BeginTrial { feed: body.feed.as_deref().map(name), span };
    place(&site, &headers, BenchId(bench), Order::Feeds(order)).await
}

/// Ends a trial, or says after its end what was taken apart in it.
#[utoipa::path(post, path = "/v1/trials/{trial}/end", params(("trial" = u64, Path)), request_body = TrialEndBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn end_trial(
    State(site): State<Site>,
    Path(trial): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<TrialEndBody>,
) -> Result<Response, Problem> {
    let mass = body.mass.as_ref().map(MassBody::mass).transpose()?;
    let order = FeedOrder::EndTrial { trial, pieces: body.pieces, mass };
    place(&site, &headers, bench_of_trial(&site, trial), Order::Feeds(order)).await
}

pub fn bench_of_trial(site: &Site, trial: u64) -> BenchId {
    site.desk.books().record(trial).map_or(FIRST, |record| record.bench)
}

fn sort(code: &str) -> Result<crate::facts::SpendingSort, Problem> {
    let what = "consumables, disposal, tools, fuel, fees, feed and other";
    sort_of(code).ok_or_else(|| Problem::bad_body(format!("sort: {code:?} is none of {what}")))
}

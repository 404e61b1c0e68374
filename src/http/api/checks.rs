//! Check weights.

use super::{ReceiptView, place};
use crate::command::{CheckOrder, Order, Refusal, ScaleState};
use crate::dialect::ReadUnit;
use crate::facts::{BenchId, EntryId};
use crate::http::bodies::{Body, CheckAskBody, CheckBody, DisturbanceBody, MassBody, WasCheckBody};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::{Mass, Unit, Written};
use crate::query;
use crate::render::check_words;
use crate::render::json::ScaleChecksView;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum::routing::{post, put};
use axum::{Json, Router};

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/benches/{bench}/check", put(ask))
        .route("/v1/benches/{bench}/disturbances", post(disturb))
        .route("/v1/drops/{drop}/was-check", post(was_check))
}

pub fn views(site: &Site) -> Vec<ScaleChecksView> {
    query::checks(&site.desk.books(), &site.check_question()).iter().map(ScaleChecksView::from).collect()
}

/// What a bench asks its owner to do about its scale, where a check is due.
pub fn reminder(site: &Site, bench: BenchId) -> Option<String> {
    use crate::economy::check_weight::Due;
    let due = query::due(&site.desk.books(), bench, &site.check_question())?;
    (!matches!(due, Due::In { .. })).then(|| check_words::due(due))
}

/// A scale that was switched on or zeroed a short while ago, in words.
pub fn warming(site: &Site, bench: BenchId) -> Option<String> {
    query::warming(&site.desk.books(), bench, &(site.now)()).map(check_words::warming)
}

/// What is known of a check before it is an order.
pub struct Laid {
    pub nominal: Mass,
    /// None means what the scale shows now.
    pub shown: Option<Written>,
    pub within: Option<Mass>,
    pub source: String,
    pub division: Option<Mass>,
}

/// The order that a check comes to: what the scale shows is read now where nobody has named it.
pub fn order(site: &Site, bench: BenchId, laid: Laid) -> Result<Order, Problem> {
    let epoch = site.desk.books().bench(bench).epoch;
    let shown = match laid.shown {
        Some(shown) => shown.mass,
        None => {
            let shown = shown_now(site, bench)?;
            let apart = (shown - laid.nominal).abs();
            // A weight that lies there beside something else, or that is another one, says nothing of the scale.
            if apart.femtograms().saturating_mul(10) > laid.nominal.femtograms() {
                let detail = check_words::not_this_weight(shown, laid.nominal);
                return Err(Problem::new(StatusCode::CONFLICT, "not-this-weight", detail));
            }
            shown
        }
    };
    let division = laid.division.or(epoch.map(|epoch| epoch.division)).or(laid.shown.map(|shown| shown.last_digit));
    let division = division.ok_or_else(|| Problem::bad_body("name the scale's division: no scale was seen on this bench yet"))?;
    Ok(Order::CheckWeight { nominal: laid.nominal, shown, within: laid.within, source: laid.source, division })
}

/// What the scale of a bench shows while it is at rest.
pub fn shown_now(site: &Site, bench: BenchId) -> Result<Mass, Problem> {
    let live = site.desk.live(bench).ok_or(Refusal::UnknownBench { bench: bench.0 })?;
    let detail = "the scale shows no weight at rest now: wait until it stands still, or name what it shows";
    let nothing = || Problem::new(StatusCode::CONFLICT, "not-at-rest", detail);
    let glance = live.glance.filter(|glance| live.scale == ScaleState::Present && glance.settled).ok_or_else(nothing)?;
    let unit = match glance.reading.unit {
        ReadUnit::Stated(unit) => Some(unit),
        ReadUnit::PoundOunce => Some(Unit::Ounce),
        ReadUnit::Unstated | ReadUnit::Ambiguous => site.desk.books().bench(bench).epoch.map(|epoch| epoch.unit),
        ReadUnit::Absent => None,
    };
    glance.reading.value.zip(unit).and_then(|(value, unit)| Mass::of(value, unit)).ok_or_else(nothing)
}

/// What check weights have shown of each scale.
#[utoipa::path(get, path = "/v1/check-weights", responses((status = 200, body = Vec<ScaleChecksView>)))]
pub async fn list(State(site): State<Site>) -> Json<Vec<ScaleChecksView>> {
    Json(views(&site))
}

/// Keeps what the scale shows of a known mass that lies on it alone.
#[utoipa::path(post, path = "/v1/benches/{bench}/check-weights", params(("bench" = u16, Path)), request_body = CheckBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn lay(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<CheckBody>,
) -> Result<Response, Problem> {
    let bench = BenchId(bench);
    let written = |body: &MassBody| {
        let last_digit = body.last_digit().ok_or_else(|| Problem::bad_body("a weight has digits, as in \"1.25\""))?;
        Ok::<Written, Problem>(Written { mass: body.mass()?, last_digit })
    };
    let laid = Laid {
        nominal: body.nominal.mass()?,
        shown: body.shown.as_ref().map(written).transpose()?,
        within: body.within.as_ref().map(MassBody::mass).transpose()?,
        source: body.source,
        division: body.division.as_ref().map(MassBody::mass).transpose()?,
    };
    let order = order(&site, bench, laid)?;
    place(&site, &headers, bench, order).await
}

/// Says that the next load is a check weight, or that it is none after all.
#[utoipa::path(put, path = "/v1/benches/{bench}/check", params(("bench" = u16, Path)), request_body = CheckAskBody, responses((status = 201, body = ReceiptView), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn ask(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<CheckAskBody>,
) -> Result<Response, Problem> {
    let weight = || body.weight.ok_or_else(|| Problem::bad_body("say which weight it will be"))?.weight();
    let order = if body.asked { CheckOrder::Ask { weight: weight()? } } else { CheckOrder::Withdraw };
    place(&site, &headers, BenchId(bench), Order::Checks(order)).await
}

/// Says that a scale was moved, mended or exchanged: what was found of it before bounds nothing from here on.
#[utoipa::path(post, path = "/v1/benches/{bench}/disturbances", params(("bench" = u16, Path)), request_body = DisturbanceBody, responses((status = 201, body = ReceiptView), (status = 422, body = Problem)))]
pub async fn disturb(
    State(site): State<Site>,
    Path(bench): Path<u16>,
    headers: HeaderMap,
    Body(body): Body<DisturbanceBody>,
) -> Result<Response, Problem> {
    place(&site, &headers, BenchId(bench), disturbance(&body.how, body.reason)?).await
}

pub fn disturbance(how: &str, reason: String) -> Result<Order, Problem> {
    let how = check_words::disturbance_of(how);
    let how = how.ok_or_else(|| Problem::bad_body("say how: moved, mended or exchanged"))?;
    Ok(Order::Checks(CheckOrder::Disturb { how, reason }))
}

/// What was taken for a drop was a check weight: it is no material, and is kept as a check.
#[utoipa::path(post, path = "/v1/drops/{drop}/was-check", params(("drop" = u64, Path)), request_body = WasCheckBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 409, body = Problem), (status = 422, body = Problem)))]
pub async fn was_check(
    State(site): State<Site>,
    Path(drop): Path<u64>,
    headers: HeaderMap,
    Body(body): Body<WasCheckBody>,
) -> Result<Response, Problem> {
    let entry = EntryId(drop);
    let order = CheckOrder::DropWas {
        entry,
        weight: body.weight.weight()?,
        division: body.division.as_ref().map(MassBody::mass).transpose()?,
    };
    place(&site, &headers, bench_of(&site, entry), Order::Checks(order)).await
}

/// The bench on which a drop was weighed.
pub fn bench_of(site: &Site, entry: EntryId) -> BenchId {
    site.desk.books().entries.get(&entry).map_or(super::FIRST, |entry| entry.bench)
}

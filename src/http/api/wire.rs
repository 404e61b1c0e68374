//! Wire: samples, and the report in one path and three forms.

use super::feeds::{day_or_today, minutes};
use super::report::{buyer, given, link, read, reply};
use super::{FIRST, ReceiptView, place};
use crate::command::{Order, PlaceOrder};
use crate::http::bodies::{Body, bad_price, day, name};
use crate::http::negotiate::Form;
use crate::http::place_bodies::WireBody;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::{Price, Span};
use crate::query::{self, WireQuestion};
use crate::render::json::{NameView, WireReportView, WireSampleView};
use crate::render::page::{self, Frame, WireBeside};
use crate::render::wire_forms;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::get;
use axum::{Json, Router};
use serde::Deserialize;
use utoipa::IntoParams;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/v1/wire-samples", get(samples).post(sample))
        .route("/v1/reports/wire", get(wire))
        .route("/v1/reports/wire.json", get(wire_json))
        .route("/v1/reports/wire.csv", get(wire_csv))
        .route("/v1/reports/wire.html", get(wire_html))
}

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct WireQuery {
    /// Samples and quotes up to this day, with every correction made since.
    pub as_of: Option<String>,
    /// The prices of this buyer alone; without it, of the one who pays most for the metal and takes the wire too.
    pub buyer: Option<String>,
    /// Wire that nobody buys as it is would have been left: the owner's word.
    pub left: bool,
    /// What an hour must bring, as in `15.00`; without it, what the owner told, else nothing.
    pub floor: Option<String>,
    /// What it costs to be rid of a kilogram of insulation, as in `0.10`.
    pub disposal: Option<String>,
    /// A word about what was just refused, for the page.
    pub said: Option<String>,
}

impl WireQuery {
    fn link(&self) -> String {
        let fields = [("as_of", &self.as_of), ("buyer", &self.buyer), ("floor", &self.floor), ("disposal", &self.disposal)];
        link(Some(format!("left={}", self.left)), &fields)
    }
}

pub type Asked = Result<Query<WireQuery>, QueryRejection>;

fn view(site: &Site, query: &WireQuery) -> Result<WireReportView, Problem> {
    let books = site.desk.books();
    let amount = |field: &Option<String>| given(field).map(|text| Price::amount(text).map_err(bad_price)).transpose();
    let question = WireQuestion {
        day: given(&query.as_of).map(day).transpose()?.unwrap_or_else(|| site.today()),
        stale_after: site.stale_after,
        currency: site.currency,
        buyer: given(&query.buyer).map(|name| buyer(&books, name)).transpose()?,
        floor: amount(&query.floor)?,
        disposal: amount(&query.disposal)?,
        left: query.left,
    };
    Ok(WireReportView::from(&query::wire(&books, &question)))
}

/// Every sample of wire, newest first, those that were taken back with them.
#[utoipa::path(get, path = "/v1/wire-samples", responses((status = 200, body = Vec<WireSampleView>)))]
pub async fn samples(State(site): State<Site>) -> Result<Json<Vec<WireSampleView>>, Problem> {
    Ok(Json(view(&site, &WireQuery::default())?.samples))
}

/// Books a sample: wire weighed, stripped, and its metal weighed.
#[utoipa::path(post, path = "/v1/wire-samples", request_body = WireBody, responses((status = 201, body = ReceiptView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn sample(State(site): State<Site>, headers: HeaderMap, Body(body): Body<WireBody>) -> Result<Response, Problem> {
    let span = match (body.minutes, body.seconds) {
        (None, None) => None,
        (Some(count), None) => Some(minutes(count)),
        (None, Some(count)) => Some(Span::seconds(u64::from(count))),
        (Some(_), Some(_)) => return Err(Problem::bad_body("a sample took minutes or seconds: say one of them")),
    };
    let (insulated, bare) = (body.insulated.mass()?, body.bare.mass()?);
    let division = match &body.division {
        Some(division) => division.mass()?,
        None => body.insulated.last_digit().max(body.bare.last_digit()).ok_or_else(|| {
            Problem::bad_body("name the division of the scale that showed both, as in {\"division\": {\"grams\": \"1\"}}")
        })?,
    };
    let order = PlaceOrder::SampleWire {
        feed: name(&body.feed),
        metal: name(&body.metal),
        insulated,
        bare,
        division,
        span,
        day: day_or_today(&site, body.day.as_deref())?,
    };
    place(&site, &headers, FIRST, Order::Places(order)).await
}

/// Whether stripping wire pays, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/wire", params(WireQuery), responses((status = 200, body = WireReportView)))]
pub async fn wire(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/wire.json", params(WireQuery), responses((status = 200, body = WireReportView)))]
pub async fn wire_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/wire.csv", params(WireQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn wire_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/wire.html", params(WireQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn wire_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

/// The page, with `key` for its forms.
pub fn page(site: &Site, query: &WireQuery, key: &str) -> Result<String, Problem> {
    let report = view(site, query)?;
    let in_use =
        |names: Vec<NameView>| -> Vec<String> { names.into_iter().filter(|name| !name.retired).map(|name| name.name).collect() };
    let (feeds, grades) = (in_use(super::names::feed_views(site)), in_use(super::names::grade_views(site)));
    let frame = Frame { title: page::WIRE, token: &site.token, key, said: given(&query.said), live: false };
    Ok(page::wire(&frame, &report, &WireBeside { feeds: &feeds, grades: &grades }, &query.link()))
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let report = view(site, &query)?;
    // No form that writes stands in it.
    let frame = Frame { title: page::WIRE, token: "", key: "", said: None, live: false };
    let beside = WireBeside { feeds: &[], grades: &[] };
    let name = format!("wire-{}", report.day);
    Ok(reply(form, &report, &name, wire_forms::csv, |report| page::wire(&frame, report, &beside, &query.link())))
}

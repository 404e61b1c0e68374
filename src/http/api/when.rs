//! When to go: one path and three forms, by `Accept` or by suffix.

use super::report::{given, link, read, reply};
use crate::http::bodies::bad_price;
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, MOST_DAYS, SHOWN_DAYS, WhenQuestion};
use crate::render::json::WhenView;
use crate::render::page::{self, Frame};
use crate::render::when_forms;
use axum::Router;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::get;
use serde::Deserialize;
use utoipa::IntoParams;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/reports/when-to-go", get(when_html))
        .route("/v1/reports/when-to-go", get(when))
        .route("/v1/reports/when-to-go.json", get(when_json))
        .route("/v1/reports/when-to-go.csv", get(when_csv))
        .route("/v1/reports/when-to-go.html", get(when_html))
}

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct WhenQuery {
    /// What a trip costs, all told, as in `18.50`; without it, what the last run did.
    pub trip: Option<String>,
    /// Days to show, at most 91; without it, 28.
    pub days: Option<String>,
}

pub type Asked = Result<Query<WhenQuery>, QueryRejection>;

fn view(site: &Site, query: &WhenQuery) -> Result<WhenView, Problem> {
    let days = |text: &str| {
        let read = text.parse::<u32>().ok().filter(|days| (1..=MOST_DAYS).contains(days));
        read.ok_or_else(|| Problem::bad_query(format!("days: {text:?} is not a number from 1 to {MOST_DAYS}")).at("days"))
    };
    let amount = |text: &str| {
        Price::amount(text).map_err(|fault| {
            let mut problem = bad_price(fault).at("trip");
            problem.detail = format!("trip: {}", problem.detail);
            problem
        })
    };
    let question = WhenQuestion {
        day: site.today(),
        zone: site.zone.clone(),
        stale_after: site.stale_after,
        currency: site.currency,
        trip: given(&query.trip).map(amount).transpose()?,
        days: given(&query.days).map(days).transpose()?.unwrap_or(SHOWN_DAYS),
    };
    Ok(WhenView::from(&query::when(&site.desk.books(), &question)))
}

/// When to go, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/when-to-go", params(WhenQuery), responses((status = 200, body = WhenView)))]
pub async fn when(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/when-to-go.json", params(WhenQuery), responses((status = 200, body = WhenView)))]
pub async fn when_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/when-to-go.csv", params(WhenQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn when_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/when-to-go.html", params(WhenQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn when_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let report = view(site, &query)?;
    // No form that writes stands in it.
    let frame = Frame { title: page::WHEN, token: "", key: "", said: None, live: false };
    let address = link(None, &[("trip", &query.trip), ("days", &query.days)]);
    let name = format!("when-to-go-{}", report.day);
    Ok(reply(form, &report, &name, when_forms::csv, |report| page::when(&frame, report, &address)))
}

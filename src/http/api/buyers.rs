//! Buyers over time, and the year: each one path and three forms, by `Accept` or by suffix.

use super::report::{read, reply};
use super::tickets::question;
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query::{self, YearQuestion};
use crate::render::json::{BuyersView, YearView};
use crate::render::page::{self, Frame};
use crate::render::tables_year;
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
        .route("/reports/buyers", get(buyers_html))
        .route("/reports/year", get(year_html))
        .route("/v1/reports/buyers", get(buyers))
        .route("/v1/reports/buyers.json", get(buyers_json))
        .route("/v1/reports/buyers.csv", get(buyers_csv))
        .route("/v1/reports/buyers.html", get(buyers_html))
        .route("/v1/reports/year", get(year))
        .route("/v1/reports/year.json", get(year_json))
        .route("/v1/reports/year.csv", get(year_csv))
        .route("/v1/reports/year.html", get(year_html))
}

#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct YearQuery {
    /// As in `2026`; without it, the running one.
    pub year: Option<i16>,
}

pub type Asked = Result<Query<YearQuery>, QueryRejection>;

/// Each buyer's scale against ours, their downgrades, and what they pay against their quotes, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/buyers", responses((status = 200, body = BuyersView)))]
pub async fn buyers(State(site): State<Site>, headers: HeaderMap) -> Response {
    answer_buyers(&site, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/buyers.json", responses((status = 200, body = BuyersView)))]
pub async fn buyers_json(State(site): State<Site>) -> Response {
    answer_buyers(&site, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/buyers.csv", responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn buyers_csv(State(site): State<Site>) -> Response {
    answer_buyers(&site, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/buyers.html", responses((status = 200, content_type = "text/html", body = String)))]
pub async fn buyers_html(State(site): State<Site>) -> Response {
    answer_buyers(&site, Form::Html)
}

fn answer_buyers(site: &Site, form: Form) -> Response {
    let view = BuyersView::from(&query::buyers(&site.desk.books(), &question(site)));
    let frame = Frame { title: page::BUYERS, token: &site.token, key: "", said: None, live: false };
    let rows = |view: &BuyersView| tables_year::to_csv(&tables_year::buyers(view));
    reply(form, &view, "buyers", rows, |view| page::buyers(&frame, view))
}

/// A year: income by the ticket's day and by the day it was paid, spending, trips, stock, and where each lot came from.
#[utoipa::path(get, path = "/v1/reports/year", params(YearQuery), responses((status = 200, body = YearView)))]
pub async fn year(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer_year(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/year.json", params(YearQuery), responses((status = 200, body = YearView)))]
pub async fn year_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer_year(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/year.csv", params(YearQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn year_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer_year(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/year.html", params(YearQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn year_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer_year(&site, asked, Form::Html)
}

fn answer_year(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let asked = read(asked)?;
    let today = site.today();
    let year = asked.year.unwrap_or_else(|| today.year());
    if !(1900..=9000).contains(&year) {
        return Err(Problem::bad_query(format!("{year} is no year from 1900 on, as in 2026")));
    }
    let question = YearQuestion { year, today, zone: site.zone.clone(), stale_after: site.stale_after };
    let view = YearView::from(&query::year(&site.desk.books(), &question));
    let frame = Frame { title: page::YEAR, token: &site.token, key: "", said: None, live: false };
    let rows = |view: &YearView| tables_year::to_csv(&tables_year::year(view));
    Ok(reply(form, &view, &format!("year-{year}"), rows, |view| page::year(&frame, view)))
}

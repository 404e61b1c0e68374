//! What came into each bin day by day: one path and three forms, by `Accept` or by suffix.

use super::report::{read, reply};
use super::reports::{Asked, ReportQuery};
use crate::http::bodies::day;
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query::{self, WeekQuestion};
use crate::render::csv;
use crate::render::json::WeekView;
use crate::render::page::{self, Frame};
use axum::Router;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::Response;
use axum::routing::get;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/reports/week", get(week_html))
        .route("/v1/reports/week", get(week))
        .route("/v1/reports/week.json", get(week_json))
        .route("/v1/reports/week.csv", get(week_csv))
        .route("/v1/reports/week.html", get(week_html))
}

/// The seven days that end with the one that is asked about, else today.
pub fn view(site: &Site, query: &ReportQuery) -> Result<WeekView, Problem> {
    let until = query.as_of.as_deref().map(day).transpose()?.unwrap_or_else(|| site.today());
    Ok(WeekView::from(&query::week(&site.desk.books(), &WeekQuestion { until, zone: site.zone.clone() })))
}

/// What came into each bin on each of the seven days until today or `as_of`, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/week", params(ReportQuery), responses((status = 200, body = WeekView)))]
pub async fn week(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/week.json", params(ReportQuery), responses((status = 200, body = WeekView)))]
pub async fn week_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/week.csv", params(ReportQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn week_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/week.html", params(ReportQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn week_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let week = view(site, &query)?;
    let name = format!("week-{}", week.days.last().map_or("", String::as_str));
    let frame = Frame { title: page::WEEK, token: &site.token, key: "", said: None, live: false };
    Ok(reply(form, &week, &name, csv::week, |week| page::week(&frame, week)))
}

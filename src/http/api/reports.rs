//! Reports: one path and three forms, by `Accept` or by suffix.

use super::report::{read, table};
use crate::http::bodies::day;
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query::{self, YardRunQuestion};
use crate::render::csv;
use crate::render::json::YardRunView;
use crate::render::page::{self, Frame};
use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;
use utoipa::IntoParams;

#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct ReportQuery {
    /// The report as of the end of this day, with every correction made since.
    pub as_of: Option<String>,
}

pub type Asked = Result<Query<ReportQuery>, QueryRejection>;

/// The report before the yard run.
pub fn view(site: &Site, query: &ReportQuery) -> Result<YardRunView, Problem> {
    let question = YardRunQuestion {
        today: site.today(),
        as_of: query.as_of.as_deref().map(day).transpose()?,
        zone: site.zone.clone(),
        stale_after: site.stale_after,
    };
    Ok(YardRunView::from(&query::yard_run(&site.desk.books(), &question)))
}

/// The report before the yard run, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/yard-run", params(ReportQuery), responses((status = 200, body = YardRunView)))]
pub async fn yard_run(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/yard-run.json", params(ReportQuery), responses((status = 200, body = YardRunView)))]
pub async fn yard_run_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/yard-run.csv", params(ReportQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn yard_run_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/yard-run.html", params(ReportQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn yard_run_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let report = view(site, &query)?;
    let name = format!("yard-run-{}", report.day);
    Ok(match form {
        Form::Html => {
            let frame = Frame { title: "Before the trip", token: &site.token, key: "", said: None, live: false };
            Html(page::yard_run(&frame, &report, &super::week::view(site, &query)?)).into_response()
        }
        Form::Csv => table(&name, csv::yard_run(&report)),
        Form::Json => Json(report).into_response(),
    })
}

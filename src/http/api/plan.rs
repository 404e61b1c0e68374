//! What to load and where to drive: one path and three forms, by `Accept` or by suffix.

use super::report::{given, link, read, reply};
use crate::http::bodies::{bad_price, day};
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, EFFORT_MAX, PlanQuestion, PlanReport};
use crate::render::json::PlanView;
use crate::render::page::{self, Frame};
use crate::render::plan_forms::{self, longer};
use axum::Router;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum::routing::get;
use serde::Deserialize;
use utoipa::IntoParams;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/reports/plan", get(plan_html))
        .route("/v1/reports/plan", get(plan))
        .route("/v1/reports/plan.json", get(plan_json))
        .route("/v1/reports/plan.csv", get(plan_csv))
        .route("/v1/reports/plan.html", get(plan_html))
}

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct PlanQuery {
    /// As in `2026-03-01`; without it, the next day on which anybody is open who buys what lies there.
    pub day: Option<String>,
    /// What an hour must bring, as in `15.00`; without it, what the owner told.
    pub floor: Option<String>,
    /// Plan by what each buyer will likely pay, where their tickets tell, and not by what they quote.
    pub expected: bool,
    /// How long to search, from 1 to 64; without it, 1.
    pub effort: Option<String>,
}

impl PlanQuery {
    fn effort(&self) -> Result<u32, Problem> {
        let read = |text: &str| text.parse::<u32>().ok().filter(|effort| (1..=EFFORT_MAX).contains(effort));
        let fault = |text: &str| Problem::bad_query(format!("{text:?} is no effort from 1 to {EFFORT_MAX}")).at("effort");
        given(&self.effort).map_or(Ok(1), |text| read(text).ok_or_else(|| fault(text)))
    }

    /// The same question, searching so long.
    fn link(&self, effort: u32) -> String {
        let more = [(self.expected, "expected=true".to_owned()), (effort > 1, format!("effort={effort}"))];
        let first: Vec<String> = more.into_iter().filter(|(is, _)| *is).map(|(_, text)| text).collect();
        link((!first.is_empty()).then(|| first.join("&")), &[("day", &self.day), ("floor", &self.floor)])
    }
}

pub type Asked = Result<Query<PlanQuery>, QueryRejection>;

/// The plan, reckoned beside the threads that answer others; a search ends when the daemon stops.
pub async fn report(site: &Site, query: &PlanQuery) -> Result<PlanReport, Problem> {
    let question = PlanQuestion {
        today: site.today(),
        day: given(&query.day).map(day).transpose().map_err(|problem| problem.at("day"))?,
        zone: site.zone.clone(),
        stale_after: site.stale_after,
        currency: site.currency,
        floor: given(&query.floor).map(|text| Price::amount(text).map_err(|fault| bad_price(fault).at("floor"))).transpose()?,
        by_expected: query.expected,
        effort: query.effort()?,
    };
    let (books, stop) = (site.desk.books(), site.stop.clone());
    let reckoned = tokio::task::spawn_blocking(move || query::plan(&books, &question, &mut |_| !*stop.borrow())).await;
    reckoned.map_err(|_| {
        let detail = "the plan could not be reckoned: the log says why; the books are as they were";
        Problem::new(StatusCode::INTERNAL_SERVER_ERROR, "not-reckoned", detail)
    })
}

/// What to load and where to drive, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/plan", params(PlanQuery), responses((status = 200, body = PlanView), (status = 400, body = Problem), (status = 422, body = Problem)))]
pub async fn plan(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers)).await
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/plan.json", params(PlanQuery), responses((status = 200, body = PlanView)))]
pub async fn plan_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json).await
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/plan.csv", params(PlanQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn plan_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv).await
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/plan.html", params(PlanQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn plan_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html).await
}

async fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let view = PlanView::from(&report(site, &query).await?);
    let frame = Frame { title: page::PLAN, token: "", key: "", said: None, live: false };
    let (link, longer) = (query.link(view.effort), query.link(longer(view.effort)));
    let asked = page::PlanAsked { day: given(&query.day), floor: given(&query.floor), link: &link, longer: &longer };
    let name = format!("plan-{}", view.day);
    Ok(reply(form, &view, &name, plan_forms::csv, |view| page::plan(&frame, view, &asked)))
}

//! The load sheet of bins that a person picked: one path and three forms, by `Accept` or by suffix; the page of the last is
//! one file that needs no network.

use super::report::{ONE_FILE, given, read, reply};
use crate::http::bodies::day;
use crate::http::negotiate::Form;
use crate::http::pages::{escaped, fresh_key, optional};
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::query::{self, BadPick, Picked, SheetQuestion};
use crate::render::json::LoadSheetView;
use crate::render::page::{self, Frame, SheetPicks};
use crate::render::{load_forms, load_words};
use axum::Router;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use serde::Deserialize;
use std::collections::BTreeMap;
use utoipa::IntoParams;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/load-sheet", get(page))
        .route("/v1/reports/load-sheet", get(sheet))
        .route("/v1/reports/load-sheet.json", get(sheet_json))
        .route("/v1/reports/load-sheet.csv", get(sheet_csv))
        .route("/v1/reports/load-sheet.html", get(sheet_html))
}

#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct SheetQuery {
    /// Buyers in the order of driving, each with its bins: `Quayside: 3 4; Northgate: 5`.
    pub stops: String,
    /// Of the drive, as in `2026-03-01`; without it, today.
    pub day: Option<String>,
}

pub type Asked = Result<Query<SheetQuery>, QueryRejection>;

fn bad_pick(bad: &BadPick) -> Problem {
    let detail = load_words::bad_pick(bad);
    match bad {
        BadPick::UnknownBuyer { .. } => Problem::new(StatusCode::NOT_FOUND, "unknown-name", detail),
        BadPick::UnknownBin { .. } => Problem::new(StatusCode::NOT_FOUND, "unknown-bin", detail),
        BadPick::Twice { .. } => Problem::new(StatusCode::UNPROCESSABLE_ENTITY, "bin-twice", detail),
        _ => Problem::bad_query(detail),
    }
}

fn view(site: &Site, picked: &Picked, on: Option<&str>) -> Result<LoadSheetView, Problem> {
    let books = site.desk.books();
    let question = SheetQuestion {
        day: on.map(day).transpose()?.unwrap_or_else(|| site.today()),
        stale_after: site.stale_after,
        currency: site.currency,
        stops: picked.found(&books).map_err(|bad| bad_pick(&bad))?,
    };
    Ok(LoadSheetView::from(&query::load_sheet(&books, &question)))
}

/// What goes on board, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/load-sheet", params(SheetQuery), responses((status = 200, body = LoadSheetView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn sheet(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/load-sheet.json", params(SheetQuery), responses((status = 200, body = LoadSheetView), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn sheet_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/load-sheet.csv", params(SheetQuery), responses((status = 200, content_type = "text/csv", body = String), (status = 404, body = Problem)))]
pub async fn sheet_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as one sheet to print, or to save on a phone.
#[utoipa::path(get, path = "/v1/reports/load-sheet.html", params(SheetQuery), responses((status = 200, content_type = "text/html", body = String), (status = 404, body = Problem)))]
pub async fn sheet_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let asked = read(asked)?;
    let picked = Picked::parse(&asked.stops).map_err(|bad| bad_pick(&bad))?;
    let sheet = view(site, &picked, given(&asked.day))?;
    let mut response = reply(form, &sheet, &format!("load-sheet-{}", sheet.day), load_forms::csv, page::load_sheet);
    if form == Form::Html {
        response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(ONE_FILE));
    }
    Ok(response)
}

/// The page with a field for each stop; what cannot be read comes back with all that was typed.
async fn page(State(site): State<Site>, Query(fields): Query<BTreeMap<String, String>>) -> Response {
    let typed = |key: String| optional(&fields, &key).unwrap_or_default().to_owned();
    let rows = fields.keys().filter_map(|key| key.strip_prefix("buyer")?.parse::<usize>().ok()).filter(|row| *row <= 99);
    let stops: Vec<(String, String)> = (1..=rows.max().unwrap_or(0))
        .map(|row| (typed(format!("buyer{row}")), typed(format!("bins{row}"))))
        .filter(|(buyer, bins)| !buyer.is_empty() || !bins.is_empty())
        .collect();
    let picked = || {
        let stop = |(buyer, bins): &(String, String)| match (buyer.is_empty(), query::numbers(bins)?) {
            (true, _) => Err(BadPick::NoBuyer { stop: bins.clone() }),
            (false, bins) if bins.is_empty() => Err(BadPick::NoBins { buyer: buyer.clone() }),
            (false, bins) => Ok((buyer.clone(), bins)),
        };
        stops.iter().map(stop).collect::<Result<Vec<_>, BadPick>>().map(Picked)
    };
    let on = optional(&fields, "day");
    let made = (!stops.is_empty()).then(|| {
        let picked = picked().map_err(|bad| bad_pick(&bad))?;
        Ok::<_, Problem>((view(&site, &picked, on)?, picked))
    });
    let (sheet, picked, said) = match made {
        None => (None, None, None),
        Some(Ok((sheet, picked))) => (Some(sheet), Some(picked), None),
        Some(Err(problem)) => (None, None, Some(problem)),
    };
    let link = picked.map(|picked| format!("?stops={}", escaped(&picked.written()))).unwrap_or_default();
    let link = on.filter(|_| !link.is_empty()).map_or(link.clone(), |day| format!("{link}&day={}", escaped(day)));
    let buyers: Vec<String> =
        super::names::buyer_views(&site).into_iter().filter(|name| !name.retired).map(|name| name.name).collect();
    let bins = super::bins::views(&site);
    let picks = SheetPicks { stops: &stops, buyers: &buyers, bins: &bins, day: on.unwrap_or_default(), link: &link };
    let status =
        said.as_ref().map_or(StatusCode::OK, |problem| StatusCode::from_u16(problem.status).unwrap_or(StatusCode::BAD_REQUEST));
    let detail = said.map(|problem| problem.detail);
    let key = fresh_key();
    let frame = Frame { title: page::LOAD_SHEET, token: &site.token, key: &key, said: detail.as_deref(), live: false };
    (status, Html(page::load_picks(&frame, &picks, sheet.as_ref()))).into_response()
}

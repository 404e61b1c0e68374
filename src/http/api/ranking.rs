//! Which grades earn a place: one path and three forms, by `Accept` or by suffix.

use super::report::{buyer, given, grade, link, read, reply};
use crate::http::bodies::{bad_price, day};
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, PlacesQuestion};
use crate::render::json::PlacesView;
use crate::render::page::{self, Frame};
use crate::render::places_forms;
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
        .route("/v1/reports/places", get(places))
        .route("/v1/reports/places.json", get(places_json))
        .route("/v1/reports/places.csv", get(places_csv))
        .route("/v1/reports/places.html", get(places_html))
}

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct PlacesQuery {
    /// The report as of the end of this day, with every correction made since.
    pub as_of: Option<String>,
    /// The prices of this buyer alone; without it, of the one who pays most and takes the coarser grade too.
    pub buyer: Option<String>,
    /// What an hour must bring, as in `15.00`; without it, what the owner told.
    pub floor: Option<String>,
    /// Places of the bench; without it, what the owner told.
    pub places: Option<String>,
    /// Which grades can go in with which coarser ones: FINE>COARSE, more of them behind a semicolon, as in
    /// `red brass>mixed brass; bright wire>copper`. A grade of which nothing is said goes in with what the owner told of it.
    pub coarser: Option<String>,
    /// A word about what was just refused, for the page.
    pub said: Option<String>,
}

impl PlacesQuery {
    fn link(&self) -> String {
        let fields = [
            ("as_of", &self.as_of),
            ("buyer", &self.buyer),
            ("floor", &self.floor),
            ("places", &self.places),
            ("coarser", &self.coarser),
        ];
        link(None, &fields)
    }
}

pub type Asked = Result<Query<PlacesQuery>, QueryRejection>;

fn view(site: &Site, query: &PlacesQuery) -> Result<PlacesView, Problem> {
    let books = site.desk.books();
    let count =
        |text: &str| text.parse::<u32>().map_err(|_| Problem::bad_query(format!("places: {text:?} is not a number of places")));
    let pair = |text: &str| {
        let (fine, coarse) = text
            .split_once('>')
            .ok_or_else(|| Problem::bad_query(format!("coarser: {text:?} is not two grades, as in red brass>mixed brass")))?;
        Ok::<_, Problem>((grade(&books, fine.trim())?, grade(&books, coarse.trim())?))
    };
    let pairs = given(&query.coarser).unwrap_or_default().split(';').filter(|text| !text.trim().is_empty());
    let question = PlacesQuestion {
        coarser: pairs.map(pair).collect::<Result<_, _>>()?,
        day: given(&query.as_of).map(day).transpose()?.unwrap_or_else(|| site.today()),
        zone: site.zone.clone(),
        stale_after: site.stale_after,
        currency: site.currency,
        buyer: given(&query.buyer).map(|name| buyer(&books, name)).transpose()?,
        floor: given(&query.floor).map(|text| Price::amount(text).map_err(bad_price)).transpose()?,
        places: given(&query.places).map(count).transpose()?,
    };
    Ok(PlacesView::from(&query::places(&books, &question)))
}

/// Which grades earn a place at the bench, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/places", params(PlacesQuery), responses((status = 200, body = PlacesView)))]
pub async fn places(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/places.json", params(PlacesQuery), responses((status = 200, body = PlacesView)))]
pub async fn places_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/places.csv", params(PlacesQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn places_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/places.html", params(PlacesQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn places_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

/// The page, with `key` for its forms.
pub fn page(site: &Site, query: &PlacesQuery, key: &str) -> Result<String, Problem> {
    let report = view(site, query)?;
    let frame = Frame { title: page::PLACES, token: &site.token, key, said: given(&query.said), live: false };
    Ok(page::places(&frame, &report, &query.link(), given(&query.coarser).unwrap_or_default()))
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let query = read(asked)?;
    let report = view(site, &query)?;
    // No form that writes stands in it.
    let frame = Frame { title: page::PLACES, token: "", key: "", said: None, live: false };
    let coarser = given(&query.coarser).unwrap_or_default();
    let name = format!("places-{}", report.day);
    Ok(reply(form, &report, &name, places_forms::csv, |report| page::places(&frame, report, &query.link(), coarser)))
}

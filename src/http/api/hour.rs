//! What an hour is worth: one path and three forms, by `Accept` or by suffix.

use super::report::{buyer, given, link, read, reply};
use crate::facts::Books;
use crate::http::bodies::{bad_price, day};
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, HourQuestion};
use crate::render::csv;
use crate::render::json::HourView;
use crate::render::page::{self, Frame};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use serde::Deserialize;
use utoipa::IntoParams;

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct HourQuery {
    /// The report as of the end of this day, with every correction made since.
    pub as_of: Option<String>,
    /// The prices of this buyer alone; without it, the best quote for each grade.
    pub buyer: Option<String>,
    /// What nobody buys whole would have been left: the owner's word.
    pub left: bool,
    /// What an hour must bring, as in `15.00`; without it, what the owner told, else nothing.
    pub floor: Option<String>,
}

impl HourQuery {
    /// The rest of an address that asks the same.
    fn link(&self) -> String {
        let fields = [("as_of", &self.as_of), ("buyer", &self.buyer), ("floor", &self.floor)];
        link(Some(format!("left={}", self.left)), &fields)
    }
}

pub type Asked = Result<Query<HourQuery>, QueryRejection>;

/// The question in the site's own terms; what an hour must bring is left at nothing.
pub(super) fn question(
    site: &Site,
    books: &Books,
    as_of: &Option<String>,
    named: &Option<String>,
    left: bool,
) -> Result<HourQuestion, Problem> {
    Ok(HourQuestion {
        now: (site.now)(),
        today: site.today(),
        as_of: given(as_of).map(day).transpose()?,
        zone: site.zone.clone(),
        stale_after: site.stale_after,
        currency: site.currency,
        buyer: given(named).map(|name| buyer(books, name)).transpose()?,
        left,
        floor: None,
    })
}

/// The report, and the rest of an address that asks for it again.
pub fn view(site: &Site, asked: Asked) -> Result<(HourView, String), Problem> {
    let query = read(asked)?;
    let books = site.desk.books();
    let floor = given(&query.floor).map(|text| Price::amount(text).map_err(bad_price)).transpose()?;
    let question = HourQuestion { floor, ..question(site, &books, &query.as_of, &query.buyer, query.left)? };
    Ok((HourView::from(&query::hour(&books, &question)), query.link()))
}

/// What an hour is worth, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/hour", params(HourQuery), responses((status = 200, body = HourView)))]
pub async fn hour(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/hour.json", params(HourQuery), responses((status = 200, body = HourView)))]
pub async fn hour_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/hour.csv", params(HourQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn hour_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as a page.
#[utoipa::path(get, path = "/v1/reports/hour.html", params(HourQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn hour_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let (report, link) = view(site, asked)?;
    let frame = Frame { title: page::HOUR, token: &site.token, key: "", said: None, live: false };
    let name = format!("hour-{}", report.day);
    Ok(reply(form, &report, &name, csv::hour, |report| page::hour(&frame, report, &link)))
}

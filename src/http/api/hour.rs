//! What an hour is worth: one path and three forms, by `Accept` or by suffix.

use crate::http::bodies::{bad_price, day};
use crate::http::negotiate::Form;
use crate::http::pages::escaped;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, HourQuestion};
use crate::render::csv;
use crate::render::json::HourView;
use crate::render::page::{self, Frame};
use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use rust_decimal::Decimal;
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
    /// What an hour must bring, as in `15.00`; without it, nothing.
    pub floor: Option<String>,
}

impl HourQuery {
    fn given(field: &Option<String>) -> Option<&str> {
        field.as_deref().map(str::trim).filter(|text| !text.is_empty())
    }

    /// The rest of an address that asks the same.
    fn link(&self) -> String {
        let fields = [("as_of", &self.as_of), ("buyer", &self.buyer), ("floor", &self.floor)];
        let mut link = format!("?left={}", self.left);
        for (key, field) in fields {
            if let Some(text) = HourQuery::given(field) {
                link.push_str(&format!("&{key}={}", escaped(text)));
            }
        }
        link
    }
}

pub type Asked = Result<Query<HourQuery>, QueryRejection>;

/// The report, and the rest of an address that asks for it again.
pub fn view(site: &Site, asked: Asked) -> Result<(HourView, String), Problem> {
    let Query(query) = asked.map_err(|fault| Problem::bad_query(fault.body_text()))?;
    let books = site.desk.books();
    let buyer = HourQuery::given(&query.buyer).map(|name| {
        query::buyer_named(&books, name)
            .ok_or_else(|| Problem::new(StatusCode::NOT_FOUND, "unknown-name", format!("there is no buyer {name:?}")))
    });
    let question = HourQuestion {
        now: (site.now)(),
        today: site.today(),
        as_of: HourQuery::given(&query.as_of).map(day).transpose()?,
        zone: site.zone.clone(),
        stale_after: site.stale_after,
        currency: site.currency,
        buyer: buyer.transpose()?,
        left: query.left,
        floor: HourQuery::given(&query.floor).map_or(Ok(Decimal::ZERO), |text| Price::amount(text).map_err(bad_price))?,
    };
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
    Ok(match form {
        Form::Json => Json(report).into_response(),
        Form::Csv => {
            let name = format!("attachment; filename=\"hour-{}.csv\"", report.day);
            let kind = [(header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()), (header::CONTENT_DISPOSITION, name)];
            (kind, csv::hour(&report)).into_response()
        }
        Form::Html => {
            let frame = Frame { title: page::HOUR, token: &site.token, key: "", said: None, live: false };
            Html(page::hour(&frame, &report, &link)).into_response()
        }
    })
}

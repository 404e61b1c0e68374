//! What to take at the kerb: one path and three forms; the page of the last is one file that needs no network.

use super::hour;
use super::places::strength;
use super::report::{ONE_FILE, given, link, read, table};
use crate::economy::marks::Today;
use crate::facts::Mark;
use crate::http::bodies::bad_price;
use crate::http::negotiate::Form;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Price;
use crate::query::{self, KerbQuestion};
use crate::render::csv_places;
use crate::render::json::KerbView;
use crate::render::page::{self, Frame};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use axum::{Json, Router};
use serde::Deserialize;
use utoipa::IntoParams;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/reports/kerb", get(page))
        .route("/v1/reports/kerb", get(kerb))
        .route("/v1/reports/kerb.json", get(kerb_json))
        .route("/v1/reports/kerb.csv", get(kerb_csv))
        .route("/v1/reports/kerb.html", get(kerb_html))
}

/// An empty field is one that was left alone, as a form sends it.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct KerbQuery {
    /// The list as of the end of this day, with every correction made since.
    pub as_of: Option<String>,
    /// The prices of this buyer alone; without it, the best quote for each grade.
    pub buyer: Option<String>,
    /// What nobody buys whole is counted against leaving it where it stands, unless this is `false`.
    pub left: Option<bool>,
    /// What an hour must bring, as in `15.00`; without it, what the owner told, else nothing.
    pub floor: Option<String>,
    /// The most strain that today allows: `none`, `some` or `much`, as are the next two; without it, any.
    pub strain: Option<String>,
    pub mess: Option<String>,
    pub space: Option<String>,
}

impl KerbQuery {
    fn link(&self) -> String {
        let fields = [
            ("as_of", &self.as_of),
            ("buyer", &self.buyer),
            ("floor", &self.floor),
            ("strain", &self.strain),
            ("mess", &self.mess),
            ("space", &self.space),
        ];
        link(Some(format!("left={}", self.left.unwrap_or(true))), &fields)
    }
}

type Asked = Result<Query<KerbQuery>, QueryRejection>;

/// The list, and the rest of an address that asks for it again.
fn view(site: &Site, asked: Asked) -> Result<(KerbView, String), Problem> {
    let query = read(asked)?;
    let books = site.desk.books();
    let most = |what: &str, field: &Option<String>| Ok::<_, Problem>(strength(what, given(field))?.unwrap_or(Mark::Much));
    let question = KerbQuestion {
        hour: hour::question(site, &books, &query.as_of, &query.buyer, query.left.unwrap_or(true))?,
        floor: given(&query.floor).map(|text| Price::amount(text).map_err(bad_price)).transpose()?,
        today: Today {
            strain: most("strain", &query.strain)?,
            mess: most("mess", &query.mess)?,
            space: most("space", &query.space)?,
        },
    };
    Ok((KerbView::from(&query::kerb(&books, &question)), query.link()))
}

/// What to take at the kerb, in the form that `Accept` asks for.
#[utoipa::path(get, path = "/v1/reports/kerb", params(KerbQuery), responses((status = 200, body = KerbView)))]
pub async fn kerb(State(site): State<Site>, headers: HeaderMap, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::wanted(&headers))
}

/// The same as JSON.
#[utoipa::path(get, path = "/v1/reports/kerb.json", params(KerbQuery), responses((status = 200, body = KerbView)))]
pub async fn kerb_json(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Json)
}

/// The same as CSV.
#[utoipa::path(get, path = "/v1/reports/kerb.csv", params(KerbQuery), responses((status = 200, content_type = "text/csv", body = String)))]
pub async fn kerb_csv(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Csv)
}

/// The same as one file for a phone: it fetches nothing.
#[utoipa::path(get, path = "/v1/reports/kerb.html", params(KerbQuery), responses((status = 200, content_type = "text/html", body = String)))]
pub async fn kerb_html(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    answer(&site, asked, Form::Html)
}

/// The page in the site, with what today allows.
async fn page(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    let (list, link) = view(&site, asked)?;
    let frame = Frame { title: page::KERB, token: &site.token, key: "", said: None, live: false };
    Ok(Html(page::kerb(&frame, &list, &link)).into_response())
}

fn answer(site: &Site, asked: Asked, form: Form) -> Result<Response, Problem> {
    let (list, _) = view(site, asked)?;
    Ok(match form {
        Form::Json => Json(list).into_response(),
        Form::Csv => table(&format!("kerb-{}", list.day), csv_places::kerb(&list)),
        Form::Html => {
            // Its style stands in it, and it may reach nothing else.
            let name = format!("inline; filename=\"kerb-{}.html\"", list.day);
            let headers = [(header::CONTENT_SECURITY_POLICY, ONE_FILE.to_owned()), (header::CONTENT_DISPOSITION, name)];
            (headers, Html(page::kerb_file(&list))).into_response()
        }
    })
}

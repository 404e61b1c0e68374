//! What every report answers by: its question read, names found, and one path in three forms.

use crate::facts::{Books, BuyerId, GradeId};
use crate::http::negotiate::Form;
use crate::http::pages::escaped;
use crate::http::problem::Problem;
use crate::query;
use axum::Json;
use axum::extract::Query;
use axum::extract::rejection::QueryRejection;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use serde::Serialize;

/// What was asked, or which part of the address cannot be read.
pub fn read<T>(asked: Result<Query<T>, QueryRejection>) -> Result<T, Problem> {
    let Query(query) = asked.map_err(|fault| Problem::bad_query(fault.body_text()))?;
    Ok(query)
}

/// What stands in a field; a form sends a field that was left empty too.
pub fn given(field: &Option<String>) -> Option<&str> {
    field.as_deref().map(str::trim).filter(|text| !text.is_empty())
}

/// The rest of an address that asks the same: `first`, as in `left=true`, and the fields that something stands in.
pub fn link(first: Option<String>, fields: &[(&str, &Option<String>)]) -> String {
    let fields = fields.iter().filter_map(|(key, field)| given(field).map(|text| format!("{key}={}", escaped(text))));
    let parts: Vec<String> = first.into_iter().chain(fields).collect();
    if parts.is_empty() { String::new() } else { format!("?{}", parts.join("&")) }
}

fn unknown(what: &str, name: &str) -> Problem {
    Problem::new(StatusCode::NOT_FOUND, "unknown-name", format!("there is no {what} {name:?}")).at(what)
}

pub fn buyer(books: &Books, name: &str) -> Result<BuyerId, Problem> {
    query::buyer_named(books, name).ok_or_else(|| unknown("buyer", name))
}

pub fn grade(books: &Books, name: &str) -> Result<GradeId, Problem> {
    query::grade_named(books, name).ok_or_else(|| unknown("grade", name))
}

/// What a page may do that is one file with its style in it, and fetches nothing.
pub const ONE_FILE: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'";

/// A table for a spreadsheet, under a name without its suffix.
pub fn table(name: &str, rows: String) -> Response {
    let name = format!("attachment; filename=\"{name}.csv\"");
    ([(header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()), (header::CONTENT_DISPOSITION, name)], rows).into_response()
}

/// One report in the form that is wanted. `name` is the table's, without its suffix.
pub fn reply<V: Serialize>(
    form: Form,
    view: &V,
    name: &str,
    rows: impl FnOnce(&V) -> String,
    page: impl FnOnce(&V) -> String,
) -> Response {
    match form {
        Form::Json => Json(view).into_response(),
        Form::Csv => table(name, rows(view)),
        Form::Html => Html(page(view)).into_response(),
    }
}

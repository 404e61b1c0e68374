//! Check weights on their page: laid on, announced, told of a drop; and what may have changed a scale.

use super::api;
use super::bodies::{CoinsBody, KnownWeightBody};
use super::pages::{Fields, PageQuery, done, framed, optional};
use super::problem::Problem;
use super::site::Site;
use crate::command::{CheckOrder, Order};
use crate::facts::{BenchId, EntryId, KnownWeight};
use crate::measure::Written;
use crate::query;
use crate::render::json::DropView;
use crate::render::page::{self, CheckPlace};
use crate::render::{check_words, figures};
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use std::collections::BTreeMap;

const PAGE: &str = "/check-weights";
/// Drops that may be told to have been check weights.
const DROPS: usize = 6;

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/check-weights", get(checks))
        .route("/benches/{bench}/check-weights", post(lay_check))
        .route("/benches/{bench}/check", post(ask))
        .route("/benches/{bench}/disturbances", post(disturb))
        .route("/check-weights/drop", post(was_check))
}

async fn checks(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let scales = api::checks::views(&site);
    let benches: Vec<BenchId> = site.desk.glances().borrow().keys().copied().collect();
    let shown = |bench| api::checks::shown_now(&site, bench).ok().map(|mass| format!("{} g", figures::grams(mass)));
    let books = site.desk.books();
    let place = |bench: BenchId| {
        let question = query::DropQuestion { bench: Some(bench), limit: DROPS, ..query::DropQuestion::default() };
        CheckPlace {
            bench: bench.0,
            shown: shown(bench),
            announced: check_words::announced(&books.bench(bench).check),
            asked: books.bench(bench).check.asked.is_some(),
            drops: query::drops(&books, &question).iter().map(DropView::from).collect(),
        }
    };
    let places: Vec<CheckPlace> = benches.into_iter().map(place).collect();
    framed(&site, "Check weights", query.said.as_deref(), false, |frame| page::checks(frame, &places, &scales))
}

async fn lay_check(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let bench = BenchId(bench);
    let written = |key: &str| {
        let text = optional(&fields, key);
        text.map(|text| Written::parse(text).map_err(|fault| format!("{text:?}: {fault}"))).transpose()
    };
    let order = || {
        let laid = api::checks::Laid {
            nominal: written("nominal")?.ok_or("say what the weight weighs, as in 1kg")?.mass,
            shown: written("shown")?,
            within: written("within")?.map(|within| within.mass),
            source: optional(&fields, "source").unwrap_or_default().to_owned(),
            division: None,
        };
        api::checks::order(&site, bench, laid).map_err(|problem| problem.detail)
    };
    done(&site, bench, &fields, order(), "/check-weights").await
}

/// A known weight from the fields of a form: typed, or coins.
fn weight(fields: &BTreeMap<String, String>) -> Result<KnownWeight, String> {
    let written = |key: &str| {
        let text = optional(fields, key);
        text.map(|text| Written::parse(text).map_err(|fault| format!("{text:?}: {fault}"))).transpose()
    };
    if let Some(code) = optional(fields, "coin") {
        let count = optional(fields, "count").and_then(|count| count.parse().ok()).ok_or("say how many coins it is")?;
        let coins = Some(CoinsBody { code: code.to_owned(), count });
        let body = KnownWeightBody { nominal: None, source: None, within: None, coins };
        return body.weight().map_err(|problem| problem.detail);
    }
    Ok(KnownWeight {
        nominal: written("nominal")?.ok_or("say what the weight weighs, as in 1kg, or which coins it is")?.mass,
        within: written("within")?.map(|within| within.mass),
        source: optional(fields, "source").unwrap_or_default().to_owned(),
    })
}

async fn ask(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let withdraw = optional(&fields, "act") == Some("withdraw");
    let order = if withdraw { Ok(CheckOrder::Withdraw) } else { weight(&fields).map(|weight| CheckOrder::Ask { weight }) };
    let back = if withdraw { format!("/?bench={bench}") } else { PAGE.to_owned() };
    done(&site, BenchId(bench), &fields, order.map(Order::Checks), &back).await
}

async fn was_check(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let entry = optional(&fields, "drop").and_then(|drop| drop.parse().ok()).map(EntryId);
    let order = || {
        let entry = entry.ok_or("choose the drop that it was")?;
        Ok(Order::Checks(CheckOrder::DropWas { entry, weight: weight(&fields)?, division: None }))
    };
    let bench = entry.map_or(api::FIRST, |entry| api::checks::bench_of(&site, entry));
    done(&site, bench, &fields, order(), PAGE).await
}

async fn disturb(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let how = optional(&fields, "how").unwrap_or_default();
    let reason = optional(&fields, "reason").unwrap_or("told on the page").to_owned();
    let order = api::checks::disturbance(how, reason).map_err(|problem| problem.detail);
    done(&site, BenchId(bench), &fields, order, PAGE).await
}

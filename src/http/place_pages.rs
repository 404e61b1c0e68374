//! The pages and forms of marks, full bins and the round through the stock.

use super::api::{self, FIRST};
use super::pages::{Fields, PageQuery, done, framed, fresh_key, optional, whole};
use super::problem::Problem;
use super::site::Site;
use crate::command::{BinRef, Edit, NameRef, Order, PlaceOrder};
use crate::facts::Set;
use crate::measure::{Currency, Money, Price, Written};
use crate::render::page;
use crate::render::place_words::{mark_of, seen_of};
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};

const ROUND: &str = "/stock-round";
const PLACES: &str = "/reports/places";
const WIRE: &str = "/reports/wire";

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/feeds/marks", post(mark))
        .route(ROUND, get(round))
        .route("/bins/{number}/look", post(look))
        .route("/bins/{number}/follow", post(follow))
        .route("/bins/{number}/full", post(full))
        .route("/bins/take-back", post(take_back))
        .route(PLACES, get(ranking))
        .route("/limits", post(limits))
        .route("/grades/sorting", post(sorting))
        .route(WIRE, get(wire))
        .route("/wire-samples", post(sample))
}

/// The form shows what is marked so far, so an empty reason takes the veto back.
async fn mark(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let feed = optional(&fields, "feed").ok_or("this form does not say which feed")?;
        let mark = |what: &str| {
            let code = optional(&fields, what);
            code.map(|code| mark_of(code).ok_or_else(|| format!("{code:?} is none of none, some and much"))).transpose()
        };
        Ok(Order::Places(PlaceOrder::MarkFeed {
            feed: NameRef(feed.to_owned()),
            strain: mark("strain")?,
            mess: mark("mess")?,
            space: mark("space")?,
            veto: Set::To(optional(&fields, "veto").map(str::to_owned)),
            edit: Edit { seen: optional(&fields, "seen").and_then(|seen| seen.parse().ok()) },
        }))
    };
    done(&site, FIRST, &fields, order(), "/feeds").await
}

async fn round(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let view = api::places::round_view(&site);
    framed(&site, page::ROUND, query.said.as_deref(), false, |frame| page::round(frame, &view))
}

async fn look(State(site): State<Site>, Path(number): Path<u32>, Form(fields): Fields) -> Result<Response, Problem> {
    let seen = optional(&fields, "seen").and_then(seen_of).ok_or_else(|| "this form does not say what is seen".to_owned());
    let order = seen.map(|seen| Order::Places(PlaceOrder::SeeStock { bin: BinRef(number), seen }));
    done(&site, FIRST, &fields, order, &format!("{ROUND}#bin-{number}")).await
}

async fn follow(State(site): State<Site>, Path(number): Path<u32>, Form(fields): Fields) -> Result<Response, Problem> {
    let back = if optional(&fields, "back") == Some("round") { format!("{ROUND}#bin-{number}") } else { "/".to_owned() };
    done(&site, FIRST, &fields, Ok(Order::Places(PlaceOrder::FollowStock { bin: BinRef(number) })), &back).await
}

async fn full(State(site): State<Site>, Path(number): Path<u32>, Form(fields): Fields) -> Result<Response, Problem> {
    done(&site, FIRST, &fields, Ok(Order::Places(PlaceOrder::TapFull { bin: BinRef(number) })), "/").await
}

async fn take_back(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let reason = optional(&fields, "reason").unwrap_or_default().to_owned();
    let bin = whole(optional(&fields, "bin").unwrap_or_default());
    let order = bin.map(|bin| Order::Places(PlaceOrder::TakeEmptyingBack { bin: BinRef(bin), reason }));
    done(&site, FIRST, &fields, order, "/bins").await
}

async fn wire(State(site): State<Site>, asked: api::wire::Asked) -> Result<Response, Problem> {
    let Query(query) = asked.map_err(|fault| Problem::bad_query(fault.body_text()))?;
    Ok(Html(api::wire::page(&site, &query, &fresh_key())?).into_response())
}

async fn sample(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let weight = |key: &str| {
            let text = optional(&fields, key).ok_or("say what it weighed before and after, each with its unit")?;
            Written::parse(text).map_err(|fault| format!("the weight {text:?}: {fault}"))
        };
        let name = |key: &str, what: &str| optional(&fields, key).map(|name| NameRef(name.to_owned())).ok_or(what.to_owned());
        let minutes = optional(&fields, "minutes");
        let minutes = minutes.map(|text| text.parse::<u32>().map_err(|_| format!("{text:?} is not a number of minutes")));
        let (before, after) = (weight("before")?, weight("after")?);
        Ok(Order::Places(PlaceOrder::SampleWire {
            feed: name("feed", "say which kind of wire it is")?,
            metal: name("metal", "say what its metal is sold as")?,
            insulated: before.mass,
            bare: after.mass,
            division: before.last_digit.max(after.last_digit),
            span: minutes.transpose()?.map(api::feeds::minutes),
            day: site.today(),
        }))
    };
    done(&site, FIRST, &fields, order(), WIRE).await
}

async fn ranking(State(site): State<Site>, asked: api::ranking::Asked) -> Result<Response, Problem> {
    let Query(query) = asked.map_err(|fault| Problem::bad_query(fault.body_text()))?;
    Ok(Html(api::ranking::page(&site, &query, &fresh_key())?).into_response())
}

/// The form shows what is told so far, so an empty field takes it back.
async fn limits(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let currency = optional(&fields, "currency").and_then(Currency::parse).unwrap_or(site.currency);
        let amount = |text: &str| {
            let amount = Price::amount(text).map_err(|fault| format!("{text:?}: {fault}"))?;
            Ok::<_, String>(Money { amount, currency })
        };
        let places = |text: &str| text.parse::<u32>().map_err(|_| format!("{text:?} is not a number of places"));
        Ok(Order::Places(PlaceOrder::TellLimits {
            floor: Set::To(optional(&fields, "floor").map(amount).transpose()?),
            places: Set::To(optional(&fields, "places").map(places).transpose()?),
            edit: Edit::default(),
        }))
    };
    done(&site, FIRST, &fields, order(), PLACES).await
}

/// An empty field is not told, and nothing is zero.
async fn sorting(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let grade = optional(&fields, "grade").ok_or("this form does not say which grade")?;
        let minutes = optional(&fields, "minutes");
        let minutes = minutes.map(|text| text.parse::<u32>().map_err(|_| format!("{text:?} is not a number of minutes")));
        let a_month = minutes.transpose()?.map(api::feeds::minutes);
        Ok(Order::Places(PlaceOrder::TellSorting { grade: NameRef(grade.to_owned()), a_month }))
    };
    done(&site, FIRST, &fields, order(), PLACES).await
}

//! The page and the forms of what a drive is planned from.

use super::api::{self, FIRST};
use super::bodies::MassBody;
use super::feed_bodies::MoneyBody;
use super::pages::{Fields, PageQuery, done, framed, optional};
use super::problem::Problem;
use super::site::Site;
use super::trip_bodies::{HoldBody, PinBody, RoadBody, RunningBody, VehicleBody, YardBody};
use crate::command::{BinRef, Edit, NameRef, Order, TripOrder};
use crate::facts::{BinChange, Set, WEEKDAYS};
use crate::measure::Written;
use crate::render::page;
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use std::collections::BTreeMap;

const TRIPS: &str = "/trips";

pub fn routes() -> Router<Site> {
    Router::new()
        .route(TRIPS, get(show))
        .route("/trips/yard", post(yard))
        .route("/trips/road", post(road))
        .route("/trips/vehicle", post(vehicle))
        .route("/trips/hold", post(hold))
        .route("/bins/{number}/pin", post(pin))
        .route("/bins/{number}/litres", post(litres))
}

async fn show(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let view = api::trips::view(&site);
    framed(&site, page::TRIPS, query.said.as_deref(), false, |frame| page::trips(frame, &view, site.currency.code()))
}

type Typed = BTreeMap<String, String>;

fn text(fields: &Typed, key: &str) -> Option<String> {
    optional(fields, key).map(str::to_owned)
}

fn number(fields: &Typed, key: &str, what: &str) -> Result<Option<u32>, String> {
    let read = |text: &str| text.parse::<u32>().map_err(|_| format!("{text:?} is not a number of {what}"));
    optional(fields, key).map(read).transpose()
}

/// A weight as it is typed, with its unit.
fn mass(text: &str) -> Result<MassBody, String> {
    let written = Written::parse(text).map_err(|fault| format!("the weight {text:?}: {fault}"))?;
    Ok(MassBody { grams: Some(written.mass.exact_grams()), kg: None, lb: None, oz: None })
}

/// The form shows what is told so far, so an empty distance takes the yard back.
async fn yard(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let buyer = text(&fields, "buyer").ok_or("this form does not say which buyer")?;
        let edit = Edit { seen: optional(&fields, "seen").and_then(|seen| seen.parse().ok()) };
        let Some(distance) = text(&fields, "distance") else {
            return Ok(Order::Trips(TripOrder::ForgetYard { buyer: NameRef(buyer), edit }));
        };
        let ticked = WEEKDAYS.iter().filter(|day| fields.contains_key(**day)).map(|day| (*day).to_owned());
        let ticked: Vec<String> = ticked.collect();
        let days = |text: &str| text.split([',', ';', ' ']).filter(|day| !day.is_empty()).map(str::to_owned).collect();
        let body = YardBody {
            distance: Some(distance),
            minutes: number(&fields, "minutes", "minutes")?,
            minutes_there: number(&fields, "minutes_there", "minutes")?,
            open: Some((!ticked.is_empty()).then_some(ticked)),
            closed: Some(optional(&fields, "closed").map(days).unwrap_or_default()),
        };
        body.order(&buyer, edit).map(Order::Trips).map_err(|problem| problem.detail)
    };
    done(&site, FIRST, &fields, order(), TRIPS).await
}

async fn road(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let buyer = |key: &str| text(&fields, key).ok_or("say from which buyer to which");
        let minutes = number(&fields, "minutes", "minutes")?;
        let body = RoadBody { one: buyer("one")?, other: buyer("other")?, distance: text(&fields, "distance"), minutes };
        body.order().map(Order::Trips).map_err(|problem| problem.detail)
    };
    done(&site, FIRST, &fields, order(), TRIPS).await
}

/// The form shows what is told so far, so an empty field takes it back.
async fn vehicle(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let running = |amount: String| RunningBody {
            cost: MoneyBody { amount, currency: text(&fields, "currency") },
            per: text(&fields, "per").unwrap_or_default(),
        };
        let body = VehicleBody {
            payload: Some(optional(&fields, "payload").map(mass).transpose()?),
            litres: Some(number(&fields, "litres", "litres")?),
            bins: Some(number(&fields, "bins", "bins")?),
            running: Some(text(&fields, "running").map(running)),
        };
        let edit = Edit { seen: optional(&fields, "seen").and_then(|seen| seen.parse().ok()) };
        body.order(&site, edit).map(Order::Trips).map_err(|problem| problem.detail)
    };
    done(&site, FIRST, &fields, order(), TRIPS).await
}

/// An empty price takes the hold back.
async fn hold(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let grade = text(&fields, "grade").ok_or("this form does not say which grade")?;
        let from = optional(&fields, "from").map(mass).transpose()?;
        let currency = text(&fields, "currency");
        let body = HoldBody { at: text(&fields, "at"), currency, by: text(&fields, "by"), from };
        let edit = Edit { seen: optional(&fields, "seen").and_then(|seen| seen.parse().ok()) };
        body.order(&site, NameRef(grade), edit).map(Order::Trips).map_err(|problem| problem.detail)
    };
    done(&site, FIRST, &fields, order(), TRIPS).await
}

async fn pin(State(site): State<Site>, Path(bin): Path<u32>, Form(fields): Fields) -> Result<Response, Problem> {
    let pin = PinBody { pin: text(&fields, "pin") }.pin().map_err(|problem| problem.detail);
    let order = pin.map(|pin| Order::Trips(TripOrder::PinBin { bin: BinRef(bin), pin }));
    done(&site, FIRST, &fields, order, &format!("{TRIPS}#bin-{bin}")).await
}

/// An empty field takes it back.
async fn litres(State(site): State<Site>, Path(bin): Path<u32>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = number(&fields, "litres", "litres").map(|litres| {
        let change = BinChange { litres: Set::To(litres), ..BinChange::default() };
        Order::ChangeBin { bin: BinRef(bin), change, grade: None, edit: Edit::default() }
    });
    done(&site, FIRST, &fields, order, &format!("{TRIPS}#bin-{bin}")).await
}

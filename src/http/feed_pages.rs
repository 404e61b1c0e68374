//! The page of feeds and lots with its forms, and those of the trial on the bench page.

use super::api::feeds::{arrival_views, bench_of_trial, day_or_today, minutes, spending_views, time_views};
use super::api::lots::bench_of;
use super::api::{self, FIRST};
use super::pages::{Fields, PageQuery, done, framed, optional, whole};
use super::problem::Problem;
use super::site::Site;
use crate::command::{Arriving, BinRef, FeedOrder, NameRef, Order};
use crate::facts::{BenchId, LotId, Set, Source};
use crate::measure::{Currency, Mass, Money, Price, Span, Written};
use crate::query;
use crate::render::feed_words::{part_of, sort_of};
use crate::render::json::RunningTrialView;
use crate::render::page::{self, FeedsBeside};
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use std::collections::BTreeMap;

const PAGE: &str = "/feeds";

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/feeds", get(feeds).post(make_feed))
        .route("/lots", post(open_lot))
        .route("/lots/{lot}/tell", post(tell_lot))
        .route("/lots/{lot}/wait", post(wait))
        .route("/lots/{lot}/cost", post(cost))
        .route("/arrivals", post(arrive))
        .route("/spendings", post(spend))
        .route("/minutes", post(spend_minutes))
        .route("/records/{record}", post(void))
        .route("/benches/{bench}/trial", post(trial))
        .route("/benches/{bench}/countdown", get(countdown))
}

async fn feeds(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let in_use = |names: Vec<crate::render::json::NameView>| {
        names.into_iter().filter(|name| !name.retired).map(|name| name.name).collect::<Vec<String>>()
    };
    let (feeds, buyers) = (in_use(api::names::feed_views(&site)), in_use(api::names::buyer_views(&site)));
    let (lots, bins) = (api::lots::views(&site), api::bins::views(&site));
    let (arrivals, spendings, times) = (arrival_views(&site), spending_views(&site), time_views(&site));
    let marks = api::places::mark_views(&site);
    let beside = FeedsBeside {
        marks: &marks,
        feeds: &feeds,
        buyers: &buyers,
        lots: &lots,
        bins: &bins,
        arrivals: &arrivals,
        spendings: &spendings,
        times: &times,
        currency: &site.currency.to_string(),
    };
    framed(&site, page::FEEDS, query.said.as_deref(), false, |frame| page::feeds(frame, &beside))
}

async fn make_feed(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let name = optional(&fields, "name").unwrap_or_default().to_owned();
    done(&site, FIRST, &fields, Ok(Order::MakeFeed { name }), PAGE).await
}

async fn open_lot(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let feed = optional(&fields, "feed").ok_or("say what is to be taken apart")?;
        let mass = optional(&fields, "weight").map(|text| {
            let written = Written::parse(text).map_err(|fault| format!("the weight {text:?}: {fault}"))?;
            let division = written.last_digit;
            let source = match optional(&fields, "source") {
                Some("yard-scale") => Source::YardScale { division },
                Some("label") => Source::Label { division },
                Some("bench-scale") => Source::BenchScale { division },
                _ => Source::HangingScale { division },
            };
            Ok::<(Mass, Source), String>((written.mass, source))
        });
        Ok(Order::Feeds(FeedOrder::OpenLot {
            feed: NameRef(feed.to_owned()),
            mass: mass.transpose()?,
            pieces: optional(&fields, "pieces").map(|text| count(text, "pieces")).transpose()?,
            depth: optional(&fields, "depth").map(str::to_owned),
            bin: optional(&fields, "bin").map(whole).transpose()?.map(BinRef),
            reason: "entered on the page".to_owned(),
        }))
    };
    done(&site, FIRST, &fields, order(), PAGE).await
}

/// The form shows what is said so far, so an empty field takes it back.
async fn tell_lot(State(site): State<Site>, Path(lot): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let seen = optional(&fields, "seen").and_then(|seen| seen.parse().ok());
    let order = || {
        let arrival = optional(&fields, "arrival")
            .map(|text| text.parse::<u64>().map_err(|_| format!("{text:?} is not the number of an arrival")));
        Ok(Order::Feeds(FeedOrder::DescribeLot {
            lot,
            depth: Set::To(optional(&fields, "depth").map(str::to_owned)),
            pieces: Set::To(optional(&fields, "pieces").map(|text| count(text, "pieces")).transpose()?),
            arrival: Set::To(arrival.transpose()?),
            edit: crate::command::Edit { seen },
        }))
    };
    done(&site, bench_of(&site, lot), &fields, order(), PAGE).await
}

async fn wait(State(site): State<Site>, Path(lot): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let order = || {
        Ok(Order::Feeds(FeedOrder::WaitForLot {
            lot,
            what: text(&fields, "what"),
            span: told_minutes(&fields)?,
            day: told_day(&site, &fields)?,
            clock_ran: optional(&fields, "clock_ran").is_some(),
        }))
    };
    done(&site, bench_of(&site, lot), &fields, order(), PAGE).await
}

async fn cost(State(site): State<Site>, Path(lot): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let lot = LotId(lot);
    done(&site, bench_of(&site, lot), &fields, spending(&site, &fields, Some(lot)), PAGE).await
}

async fn spend(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    done(&site, FIRST, &fields, spending(&site, &fields, None), PAGE).await
}

fn spending(site: &Site, fields: &BTreeMap<String, String>, lot: Option<LotId>) -> Result<Order, String> {
    let sort = optional(fields, "sort").and_then(sort_of).ok_or("say what the money was for")?;
    Ok(Order::Feeds(FeedOrder::Spend {
        sort,
        what: text(fields, "what"),
        day: told_day(site, fields)?,
        amount: money(site, optional(fields, "amount").ok_or("say how much it was")?)?,
        buyer: optional(fields, "buyer").map(|name| NameRef(name.to_owned())),
        feed: optional(fields, "feed").map(|name| NameRef(name.to_owned())),
        lot,
    }))
}

async fn arrive(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let written = |text: &str| Written::parse(text).map_err(|fault| format!("the weight {text:?}: {fault}"));
        let distance = |text: &str| Price::amount(text).map_err(|_| format!("the distance {text:?} is no number such as 12.5"));
        Ok(Order::Feeds(FeedOrder::Arrive(Arriving {
            from: text(&fields, "from"),
            day: told_day(&site, &fields)?,
            what: text(&fields, "what"),
            feed: optional(&fields, "feed").map(|name| NameRef(name.to_owned())),
            mass: optional(&fields, "weight").map(written).transpose()?.map(|written| written.mass),
            pieces: optional(&fields, "pieces").map(|text| count(text, "pieces")).transpose()?,
            paid: optional(&fields, "paid").map(|text| money(&site, text)).transpose()?,
            span: optional(&fields, "minutes").map(|text| count(text, "minutes").map(minutes)).transpose()?,
            distance_km: optional(&fields, "distance").map(distance).transpose()?,
        })))
    };
    done(&site, FIRST, &fields, order(), PAGE).await
}

async fn spend_minutes(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let part = optional(&fields, "sort").and_then(part_of).ok_or("say what the minutes were for")?;
        let (what, span, day) = (text(&fields, "what"), told_minutes(&fields)?, told_day(&site, &fields)?);
        Ok(Order::Feeds(FeedOrder::SpendMinutes { part, what, span, day }))
    };
    done(&site, FIRST, &fields, order(), PAGE).await
}

async fn void(State(site): State<Site>, Path(record): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let reason = optional(&fields, "reason").unwrap_or("taken back on the page").to_owned();
    let back = match optional(&fields, "back") {
        Some("bench") => "/",
        Some("wire") => "/reports/wire",
        _ => PAGE,
    };
    done(&site, FIRST, &fields, Ok(Order::Feeds(FeedOrder::VoidRecord { record, reason })), back).await
}

async fn trial(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let back = format!("/?bench={bench}");
    let order = || {
        if optional(&fields, "act") != Some("end") {
            let feed = optional(&fields, "feed").map(|name| NameRef(name.to_owned()));
            return Ok(Order::Feeds(FeedOrder::BeginTrial { feed, span: told_minutes(&fields)? }));
        }
        let trial = optional(&fields, "trial").and_then(|text| text.parse().ok());
        let written = |text: &str| Written::parse(text).map_err(|fault| format!("the weight {text:?}: {fault}"));
        Ok(Order::Feeds(FeedOrder::EndTrial {
            trial: trial.ok_or("this form does not say which trial")?,
            pieces: optional(&fields, "pieces").map(|text| count(text, "pieces")).transpose()?,
            mass: optional(&fields, "weight").map(written).transpose()?.map(|written| written.mass),
        }))
    };
    let order = order();
    let bench = match &order {
        Ok(Order::Feeds(FeedOrder::EndTrial { trial, .. })) => bench_of_trial(&site, *trial),
        _ => BenchId(bench),
    };
    done(&site, bench, &fields, order, &back).await
}

/// The countdown alone: without script it stands in the bench page and loads itself anew.
async fn countdown(State(site): State<Site>, Path(bench): Path<u16>) -> Response {
    let trial = query::running_trial(&site.desk.books(), BenchId(bench), &(site.now)());
    let policy = "default-src 'self'; frame-ancestors 'self'; base-uri 'none'; form-action 'none'";
    let body = page::countdown(trial.as_ref().map(RunningTrialView::from).as_ref());
    ([(header::CONTENT_SECURITY_POLICY, policy)], Html(body)).into_response()
}

fn text(fields: &BTreeMap<String, String>, key: &str) -> String {
    optional(fields, key).unwrap_or_default().to_owned()
}

fn count(text: &str, what: &str) -> Result<u32, String> {
    text.parse().map_err(|_| format!("{text:?} is not a number of {what}"))
}

fn told_minutes(fields: &BTreeMap<String, String>) -> Result<Span, String> {
    count(optional(fields, "minutes").ok_or("say how many minutes")?, "minutes").map(minutes)
}

fn told_day(site: &Site, fields: &BTreeMap<String, String>) -> Result<jiff::civil::Date, String> {
    day_or_today(site, optional(fields, "day")).map_err(|problem| problem.detail)
}

/// `12.50`, or `12.50 USD`.
fn money(site: &Site, text: &str) -> Result<Money, String> {
    let (amount, code) = text.split_once(' ').map_or((text, None), |(amount, code)| (amount, Some(code.trim())));
    let currency = match code {
        None => site.currency,
        Some(code) => Currency::parse(code).ok_or_else(|| format!("{code:?} is not a currency of three capital letters"))?,
    };
    Price::amount(amount).map(|amount| Money { amount, currency }).map_err(|fault| format!("{text:?}: {fault}"))
}

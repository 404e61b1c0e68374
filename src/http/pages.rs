//! The pages and their forms. A form carries the token of this start and an idempotency key of its own.

use super::api::{self, FIRST};
use super::bodies::MassBody;
use super::problem::Problem;
use super::quote_body::QuoteBody;
use super::site::Site;
use crate::command::{BinRef, NameRef, Order, Refusal, Which};
use crate::facts::{BenchId, EntryId, LotId, Void};
use crate::render::page::{self, Frame, LIVE_SCRIPT, STYLE};
use crate::render::words;
use crate::settle::Manner;
use axum::extract::{Form, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct PageQuery {
    /// A word about what was just refused.
    pub said: Option<String>,
    bench: Option<u16>,
}

pub(super) type Fields = Form<BTreeMap<String, String>>;

pub fn framed(site: &Site, title: &str, said: Option<&str>, live: bool, body: impl Fn(&Frame) -> String) -> Response {
    let key = fresh_key();
    let frame = Frame { title, token: &site.token, key: &key, said, live };
    Html(body(&frame)).into_response()
}

/// A key that no other form carries.
pub(super) fn fresh_key() -> String {
    format!("form-{:032x}", rand::random::<u128>())
}

pub async fn bench(State(site): State<Site>, Query(query): Query<PageQuery>) -> Result<Response, Problem> {
    let view = api::bench::view(&site, BenchId(query.bench.unwrap_or(FIRST.0)))?;
    let bins = api::bins::views(&site);
    let feeds: Vec<String> =
        api::names::feed_views(&site).into_iter().filter(|feed| !feed.retired).map(|feed| feed.name).collect();
    let riddles = api::drops::riddle_views(&site);
    let lots = api::lots::views(&site);
    let beside = page::Beside { bins: &bins, feeds: &feeds, riddles: &riddles, lots: &lots };
    Ok(framed(&site, "Bench", query.said.as_deref(), true, |frame| page::bench(frame, &view, &beside)))
}

pub async fn bins(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    let (bins, quotes) = (api::bins::views(&site), api::quotes::views(&site));
    let (grades, buyers) = (api::names::grade_views(&site), api::names::buyer_views(&site));
    framed(&site, "Bins and prices", query.said.as_deref(), false, |frame| page::bins(frame, &bins, &grades, &buyers, &quotes))
}

pub async fn style() -> Response {
    let headers = [(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "max-age=300")];
    (headers, STYLE).into_response()
}

pub async fn script() -> Response {
    let headers = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "max-age=300")];
    (headers, LIVE_SCRIPT).into_response()
}

pub async fn choose(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = match optional(&fields, "bin") {
        None => Ok(Order::ChooseBin { bin: None }),
        Some(number) => whole(number).map(|number| Order::ChooseBin { bin: Some(BinRef(number)) }),
    };
    done(&site, BenchId(bench), &fields, order, &format!("/?bench={bench}")).await
}

pub async fn session(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let back = format!("/?bench={bench}");
    let bench = BenchId(bench);
    let feed = optional(&fields, "feed").map(|feed| NameRef(feed.to_owned()));
    let running = site.desk.books().bench(bench).session;
    let order = match (optional(&fields, "act"), running) {
        (Some("start"), _) => Ok(Order::StartSession { feed }),
        (Some("pause"), Some(session)) => Ok(Order::PauseSession { session }),
        (Some("resume"), Some(session)) => Ok(Order::ResumeSession { session }),
        (Some("leg"), Some(session)) => Ok(Order::BeginLeg { session, feed }),
        (Some("end"), Some(session)) => Ok(Order::EndSession { session }),
        (_, None) => Err("there is no stretch running on this bench".to_owned()),
        _ => Err("this form does not say what to do".to_owned()),
    };
    done(&site, bench, &fields, order, &back).await
}

pub async fn mend(State(site): State<Site>, Path(drop): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let entry = EntryId(drop);
    let reason = "put right on the page".to_owned();
    let order = match (optional(&fields, "act"), optional(&fields, "to")) {
        (Some("doubt"), _) => Ok(Order::DoubtDrop { entry: Some(entry) }),
        (Some("was-bin"), Some(to)) => whole(to).map(|bin| Order::WasTheBin { entry, bin: BinRef(bin) }),
        (Some("void"), _) => Ok(Order::VoidDrop { entry, which: Void::NeverMaterial, reason }),
        (Some("move"), Some(to)) => whole(to).map(|to| Order::MoveDrops { which: Which::One(entry), to: BinRef(to), reason }),
        _ => Err("choose the bin that the drop belongs to, then press Move".to_owned()),
    };
    done(&site, FIRST, &fields, order, "/").await
}

pub async fn manner(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let chosen = optional(&fields, "manner").unwrap_or_default();
    let order = Manner::from_name(chosen)
        .map(|manner| Order::ChooseManner { manner })
        .ok_or_else(|| format!("{chosen:?} is not a manner of weighing"));
    done(&site, BenchId(bench), &fields, order, &format!("/?bench={bench}")).await
}

pub async fn intake(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = match optional(&fields, "act") {
        Some("withdraw") => Order::WithdrawIntake,
        _ => Order::AskIntake { feed: None },
    };
    done(&site, BenchId(bench), &fields, Ok(order), &format!("/?bench={bench}")).await
}

pub async fn settle_lot(State(site): State<Site>, Path(lot): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let lot = LotId(lot);
    let bench = api::lots::bench_of(&site, lot);
    let reason = "no intake, said on the page".to_owned();
    let order = match (optional(&fields, "act"), optional(&fields, "feed")) {
        (Some("void"), _) => Ok(Order::VoidDrop { entry: lot.entry(), which: Void::NeverMaterial, reason }),
        (Some("close"), _) => Ok(Order::CloseLot { lot }),
        (Some("reopen"), _) => Ok(Order::ReopenLot { lot }),
        (_, Some(feed)) => Ok(Order::TellLot { lot, feed: NameRef(feed.to_owned()) }),
        _ => Err("say what it is, then press again".to_owned()),
    };
    done(&site, bench, &fields, order, &format!("/?bench={bench}")).await
}

pub async fn settle_hand(State(site): State<Site>, Path(bench): Path<u16>, Form(fields): Fields) -> Result<Response, Problem> {
    let removal = optional(&fields, "removal").and_then(|removal| removal.parse().ok()).map(EntryId);
    let order = removal
        .map(|removal| Order::SettleHand { removal, reason: "put elsewhere, said on the page".to_owned() })
        .ok_or_else(|| "this form does not say which removal".to_owned());
    done(&site, BenchId(bench), &fields, order, &format!("/?bench={bench}")).await
}

pub async fn settle_missing(
    State(site): State<Site>,
    Path(number): Path<u32>,
    Form(fields): Fields,
) -> Result<Response, Problem> {
    done(&site, FIRST, &fields, Ok(Order::SettleMissing { bin: BinRef(number) }), "/").await
}

pub async fn tell_stillness(
    State(site): State<Site>,
    Path(stillness): Path<u64>,
    Form(fields): Fields,
) -> Result<Response, Problem> {
    let away = optional(&fields, "act") == Some("away");
    let books = site.desk.books();
    let of = |state: &&crate::facts::books::Session| state.stillnesses.iter().any(|known| known.id == stillness);
    let session = books.sessions.iter().find(|(_, state)| of(state)).map(|(id, state)| (*id, state.bench));
    let Some((session, bench)) = session else {
        return done(&site, FIRST, &fields, Err("that stillness is not in the books".to_owned()), "/").await;
    };
    done(&site, bench, &fields, Ok(Order::TellStillness { session, stillness, away }), &format!("/?bench={bench}")).await
}

pub async fn make_bin(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let tare = optional(&fields, "tare_kg").map(|kg| kilograms(kg).mass().map_err(|problem| problem.detail)).transpose()?;
        Ok(Order::MakeBin {
            number: optional(&fields, "number").map(whole).transpose()?,
            name: optional(&fields, "name").map(str::to_owned),
            grade: optional(&fields, "grade").map(|grade| NameRef(grade.to_owned())),
            tare,
            capacity: None,
        })
    };
    done(&site, FIRST, &fields, order(), "/bins").await
}

pub async fn make_grade(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let name = optional(&fields, "name").unwrap_or_default().to_owned();
    done(&site, FIRST, &fields, Ok(Order::MakeGrade { name }), "/bins").await
}

pub async fn make_buyer(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let name = optional(&fields, "name").unwrap_or_default().to_owned();
    done(&site, FIRST, &fields, Ok(Order::MakeBuyer { name }), "/bins").await
}

pub async fn give_quote(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let field = |key: &str| optional(&fields, key).unwrap_or_default().to_owned();
    let body = QuoteBody {
        buyer: field("buyer"),
        grade: field("grade"),
        price: field("price"),
        currency: None,
        day: optional(&fields, "day").map(str::to_owned),
        stale_after_days: None,
        breaks: Vec::new(),
        minimum: None,
        deduction_percent: None,
    };
    let order = body.quoting(&site).map(Order::GiveQuote).map_err(|problem| problem.detail);
    done(&site, FIRST, &fields, order, "/bins").await
}

/// Places what a form asks for and goes back to the page, with a word where it was refused.
pub(super) async fn done(
    site: &Site,
    bench: BenchId,
    fields: &BTreeMap<String, String>,
    order: Result<Order, String>,
    back: &str,
) -> Result<Response, Problem> {
    if fields.get("token").is_none_or(|token| **token != *site.token) {
        let detail = "this page is older than the daemon's last start: open it again, then repeat what you did";
        return Err(Problem::new(StatusCode::FORBIDDEN, "old-page", detail));
    }
    let key = fields.get("key").filter(|key| !key.is_empty()).cloned();
    // The second tap on a form whose first one was done: what it asks for may not be possible any more, and is not wrong.
    let done = key.as_ref().is_some_and(|key| site.desk.books().caused_by(key).is_some());
    let refused = match order {
        _ if done => None,
        Err(what) => Some(what),
        Ok(order) => site.desk.place(bench, key, order).await.err().map(|refusal: Refusal| words::refusal(&refusal)),
    };
    let target = match refused {
        None => back.to_owned(),
        Some(what) => {
            // What was refused is told at the top of the page, so its place in the page is let go.
            let back = back.split('#').next().unwrap_or_default();
            let mark = if back.contains('?') { '&' } else { '?' };
            format!("{back}{mark}said={}", escaped(&what))
        }
    };
    Ok(Redirect::to(&target).into_response())
}

pub(super) fn optional<'a>(fields: &'a BTreeMap<String, String>, key: &str) -> Option<&'a str> {
    fields.get(key).map(|value| value.trim()).filter(|value| !value.is_empty())
}

pub(super) fn whole(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| format!("{text:?} is not the number of a bin"))
}

fn kilograms(text: &str) -> MassBody {
    MassBody { grams: None, kg: Some(text.to_owned()), lb: None, oz: None }
}

/// Percent-encoding of a query value (RFC 3986, 2.3: only unreserved characters stay).
pub fn escaped(text: &str) -> String {
    use std::fmt::Write;
    text.bytes().fold(String::new(), |mut out, byte| {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => out.push(byte as char),
            _ => _ = write!(out, "%{byte:02X}"),
        }
        out
    })
}

//! The pages of tickets with their forms: the slip line by line, one ticket, its money.

use super::api::tickets::{run_views, view, views};
use super::api::{self, FIRST};
use super::bodies::{MassBody, day as civil};
use super::feed_bodies::MoneyBody;
use super::pages::{Fields, PageQuery, done, framed, optional};
use super::problem::Problem;
use super::site::Site;
use super::ticket_bodies::{RunBody, RunLoadBody, TicketBody, TicketLineBody, fee, shares};
use super::ticket_csv::{bins, in_unit};
use crate::command::{Order, TicketOrder};
use crate::facts::TicketId;
use crate::render::page::{self, LINES_MOST, TICKET_LINES, TicketsBeside};
use crate::render::ticket_words::method_of;
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::collections::BTreeMap;

const PAGE: &str = "/tickets";

pub fn routes() -> Router<Site> {
    Router::new()
        .route("/tickets", get(tickets).post(take))
        .route("/runs", post(set_out))
        .route("/runs/{run}/take-back", post(take_run_back))
        .route("/tickets/{ticket}", get(ticket))
        .route("/tickets/{ticket}/tie", post(tie))
        .route("/tickets/{ticket}/pay", post(pay))
        .route("/tickets/{ticket}/settle", post(settle))
        .route("/tickets/{ticket}/void", post(void))
}

type Typed = BTreeMap<String, String>;

async fn tickets(State(site): State<Site>, Query(query): Query<PageQuery>) -> Response {
    listed(&site, query.said.as_deref(), &Typed::new())
}

fn listed(site: &Site, said: Option<&str>, typed: &Typed) -> Response {
    let in_use = |names: Vec<crate::render::json::NameView>| {
        names.into_iter().filter(|name| !name.retired).map(|name| name.name).collect::<Vec<String>>()
    };
    let (buyers, grades) = (in_use(api::names::buyer_views(site)), in_use(api::names::grade_views(site)));
    let (bins, tickets, runs) = (api::bins::views(site), views(site), run_views(site));
    let currency = site.currency.to_string();
    let beside = TicketsBeside {
        buyers: &buyers,
        grades: &grades,
        bins: &bins,
        tickets: &tickets,
        runs: &runs,
        currency: &currency,
        typed,
        lines: line_count(typed),
    };
    framed(site, page::TICKETS, said, false, |frame| page::tickets(frame, &beside))
}

async fn ticket(State(site): State<Site>, Path(ticket): Path<u64>, Query(query): Query<PageQuery>) -> Result<Response, Problem> {
    let view = view(&site, ticket)?;
    Ok(framed(&site, "Ticket", query.said.as_deref(), false, |frame| page::ticket(frame, &view)))
}

/// A slip is long to type: what is refused comes back with all that was typed.
async fn take(State(site): State<Site>, Form(mut fields): Fields) -> Result<Response, Problem> {
    if fields.remove("more").is_some() {
        let lines = (line_count(&fields) + TICKET_LINES).min(LINES_MOST);
        fields.insert("lines".to_owned(), lines.to_string());
        return Ok(listed(&site, None, &fields));
    }
    let order = slip(&fields).and_then(|body| body.taking(&site).map_err(|problem| problem.detail));
    match order {
        Err(what) if token_holds(&site, &fields) => {
            Ok((StatusCode::UNPROCESSABLE_ENTITY, listed(&site, Some(&what), &fields)).into_response())
        }
        Ok(taking) if token_holds(&site, &fields) => {
            let key = fields.get("key").filter(|key| !key.is_empty()).cloned();
            match site.desk.place(FIRST, key, Order::Tickets(Box::new(TicketOrder::Take(vec![taking])))).await {
                Ok(receipt) => Ok(axum::response::Redirect::to(&format!("{PAGE}/{}", receipt.id)).into_response()),
                Err(refusal) => {
                    let problem = Problem::from(refusal);
                    let status = StatusCode::from_u16(problem.status).unwrap_or(StatusCode::UNPROCESSABLE_ENTITY);
                    Ok((status, listed(&site, Some(&problem.detail), &fields)).into_response())
                }
            }
        }
        other => {
            let order = other.map(|taking| Order::Tickets(Box::new(TicketOrder::Take(vec![taking]))));
            done(&site, FIRST, &fields, order, PAGE).await
        }
    }
}

/// Lines of the form, as it was asked for.
fn line_count(fields: &Typed) -> usize {
    let asked = optional(fields, "lines").and_then(|lines| lines.parse().ok());
    asked.unwrap_or(TICKET_LINES).clamp(TICKET_LINES, LINES_MOST)
}

fn token_holds(site: &Site, fields: &Typed) -> bool {
    fields.get("token").is_some_and(|token| **token == *site.token)
}

fn slip(fields: &Typed) -> Result<TicketBody, String> {
    let unit = optional(fields, "unit");
    let own = |key: &str| optional(fields, key).map(str::to_owned);
    let mass = |name: &str, text: &str| -> Result<MassBody, String> {
        let body = in_unit(text, unit)?;
        body.mass().map_err(|problem| format!("{name}: {}", problem.detail))?;
        Ok(body)
    };
    let mut lines = Vec::new();
    for number in 1..=line_count(fields) {
        let cell = |column: &str| optional(fields, &format!("{column}{number}"));
        let weight = |column: &str| cell(column).map(|text| mass(&format!("line {number}, {column}"), text)).transpose();
        let typed = page::LINE_COLUMNS.iter().any(|(column, ..)| cell(column).is_some());
        if !typed {
            continue;
        }
        let net = weight("net")?.ok_or_else(|| format!("line {number}, net: a line has a net weight"))?;
        let price = cell("price").map(|price| match (price.contains('/'), unit) {
            // A bare price is per the unit of the slip, as the form says.
            (false, Some(unit)) => format!("{price}/{unit}"),
            _ => price.to_owned(),
        });
        lines.push(TicketLineBody {
            text: cell("text").unwrap_or_default().to_owned(),
            grade: cell("grade").map(str::to_owned),
            gross: weight("gross")?,
            tare: weight("tare")?,
            net,
            off: weight("off")?,
            off_percent: cell("percent").map(str::to_owned),
            refused: weight("refused")?,
            price,
            amount: cell("amount").map(str::to_owned),
            bins: cell("bins")
                .map_or(Ok(Vec::new()), |text| bins(text, unit))
                .map_err(|what| format!("line {number}, bins: {what}"))?,
        });
    }
    let passes = own("passes").unwrap_or_default();
    let passes = passes.split([' ', ';', ',']).filter(|pass| !pass.is_empty()).map(|pass| mass("passes", pass));
    let run = own("run").map(|text| text.parse().map_err(|_| format!("run: {text:?} is no number of a run"))).transpose()?;
    Ok(TicketBody {
        buyer: own("buyer").unwrap_or_default(),
        day: own("day"),
        number: own("number"),
        run,
        currency: own("currency"),
        passes: passes.collect::<Result<_, _>>()?,
        division: own("division").map(|text| mass("division", &text)).transpose()?,
        lines,
        off: Vec::new(),
        total: own("total"),
        due: own("due"),
    })
}

async fn set_out(State(site): State<Site>, Form(fields): Fields) -> Result<Response, Problem> {
    let text = |key: &str| optional(&fields, key).map(str::to_owned);
    let order = || {
        let loads = bins(optional(&fields, "loads").unwrap_or_default(), optional(&fields, "unit"))?;
        let minutes =
            text("minutes").map(|minutes| minutes.parse().map_err(|_| format!("{minutes:?} is not a number of minutes")));
        let body = RunBody {
            day: text("day"),
            stops: optional(&fields, "stops")
                .unwrap_or_default()
                .split([';', ','])
                .map(str::trim)
                .filter(|stop| !stop.is_empty())
                .map(str::to_owned)
                .collect(),
            loads: loads.into_iter().map(|share| RunLoadBody { bin: share.bin, mass: share.mass }).collect(),
            distance_km: text("distance"),
            minutes: minutes.transpose()?,
            cost: text("cost").map(|amount| MoneyBody { amount, currency: None }),
        };
        let out = body.setting_out(&site).map_err(|problem| problem.detail)?;
        Ok(Order::Tickets(Box::new(TicketOrder::SetOut(out))))
    };
    let order = order();
    done(&site, FIRST, &fields, order, PAGE).await
}

async fn take_run_back(State(site): State<Site>, Path(run): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let reason = optional(&fields, "reason").unwrap_or_default().to_owned();
    let order = Order::Tickets(Box::new(TicketOrder::TakeRunBack { run, reason }));
    done(&site, FIRST, &fields, Ok(order), PAGE).await
}

async fn tie(State(site): State<Site>, Path(ticket): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let line = optional(&fields, "line").and_then(|line| line.parse().ok()).ok_or("say which line")?;
        let bodies = bins(optional(&fields, "bins").unwrap_or_default(), optional(&fields, "unit"))?;
        let shares = shares(&bodies).map_err(|problem| problem.detail)?;
        Ok(Order::Tickets(Box::new(TicketOrder::Tie { ticket: TicketId(ticket), line, shares })))
    };
    let order = order();
    done(&site, FIRST, &fields, order, &format!("{PAGE}/{ticket}")).await
}

async fn pay(State(site): State<Site>, Path(ticket): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let order = || {
        let amount = MoneyBody {
            amount: optional(&fields, "amount").ok_or("say how much it was")?.to_owned(),
            currency: optional(&fields, "currency").map(str::to_owned),
        };
        let said = |problem: Problem| problem.detail;
        Ok(Order::Tickets(Box::new(TicketOrder::Pay {
            ticket: TicketId(ticket),
            day: optional(&fields, "day").map_or_else(|| Ok(site.today()), civil).map_err(said)?,
            method: optional(&fields, "method").and_then(method_of).ok_or("say how it was paid")?,
            amount: amount.money(&site).map_err(said)?,
            fee: fee(optional(&fields, "fee")).map_err(said)?,
            held: optional(&fields, "held").is_some(),
        })))
    };
    let order = order();
    done(&site, FIRST, &fields, order, &format!("{PAGE}/{ticket}")).await
}

async fn settle(State(site): State<Site>, Path(ticket): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let reason = optional(&fields, "reason").unwrap_or("looked at on the page").to_owned();
    let order = Order::Tickets(Box::new(TicketOrder::Settle { ticket: TicketId(ticket), reason }));
    done(&site, FIRST, &fields, Ok(order), &format!("{PAGE}/{ticket}")).await
}

async fn void(State(site): State<Site>, Path(ticket): Path<u64>, Form(fields): Fields) -> Result<Response, Problem> {
    let reason = optional(&fields, "reason").unwrap_or_default().to_owned();
    let order = Order::Tickets(Box::new(TicketOrder::Void { ticket: TicketId(ticket), reason }));
    done(&site, FIRST, &fields, Ok(order), &format!("{PAGE}/{ticket}")).await
}

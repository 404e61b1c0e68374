//! What an hour brings by feed, drawn, with its table.

use crate::render::json::HourView;
use crate::render::plot::{ByName, Named};
use maud::{Markup, html};
use rust_decimal::Decimal;

/// Nothing where no feed has a figure.
pub fn pay_by_feed(report: &HourView) -> Markup {
    let number = |text: &String| text.parse::<Decimal>().ok();
    let row = |feed: &crate::render::json::FeedHourView| {
        let adds = feed.adds_per_hour.as_ref();
        let interval = adds.and_then(|adds| Some((number(adds.low.as_ref()?)?, number(adds.high.as_ref()?)?)));
        let words = adds.map_or("no figure".to_owned(), |adds| adds.value.clone());
        Named { name: feed.feed.clone(), value: adds.and_then(|adds| number(&adds.value)), interval, words }
    };
    let floor = number(&report.floor_per_hour).filter(|floor| !floor.is_zero());
    let plot = ByName {
        id: "pay".into(),
        title: "What taking apart adds an hour, by feed".into(),
        about:
            "A bar for each feed, and across its end the interval that holds the figure with 95 % where four lots or more are \
                closed; the table below has the same figures."
                .into(),
        unit: format!("{} an hour", report.currency),
        rows: report.feeds.iter().map(row).collect(),
        line: floor.map(|floor| (floor, "what an hour must bring".to_owned())),
    };
    if report.feeds.iter().all(|feed| feed.adds_per_hour.is_none()) {
        return html! {};
    }
    html! {
        section aria-labelledby="by-feed" {
            h2 #by-feed { "What taking apart adds an hour" }
            figure.plot { (plot.draw()) }
            table.report {
                thead { tr {
                    th { "Feed" } th.figure { (report.currency) " an hour" } th.figure { "from" } th.figure { "to" } th.figure { "Closed lots" }
                } }
                tbody { @for feed in &report.feeds { tr {
                    th scope="row" { (feed.feed) }
                    @match &feed.adds_per_hour {
                        Some(adds) => {
                            td.figure { (adds.value) }
                            td.figure { (adds.low.as_deref().unwrap_or("–")) } td.figure { (adds.high.as_deref().unwrap_or("–")) }
                        },
                        None => { td.figure { "no figure" } td {} td {} },
                    }
                    td.figure { (feed.closed_lots) }
                } } }
            }
        }
    }
}

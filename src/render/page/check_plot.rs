//! A scale's error over time, drawn for each load that was laid on, within what its class may err by.

use crate::render::json::{CheckView, ScaleChecksView};
use crate::render::plot::{Band, OverDays, Point, Series, Shape, Size};
use jiff::civil::Date;
use maud::{Markup, html};
use rust_decimal::Decimal;

/// One for each load, the heaviest first; nothing where no check was kept.
pub fn errors_over_time(scale: &ScaleChecksView, index: usize) -> Markup {
    let mut loads: Vec<(Decimal, &str)> =
        scale.checks.iter().filter_map(|check| Some((grams(&check.nominal.grams)?, check.nominal.grams.as_str()))).collect();
    loads.sort();
    loads.dedup();
    html! {
        div.plots {
            @for (at, (_, load)) in loads.iter().rev().enumerate() {
                (one(scale, &format!("error{index}-{at}"), load))
            }
        }
    }
}

fn grams(text: &str) -> Option<Decimal> {
    text.parse().ok()
}

fn day(check: &CheckView) -> Option<Date> {
    check.at.time.get(..10)?.parse().ok()
}

fn one(scale: &ScaleChecksView, id: &str, load: &str) -> Markup {
    // They come newest first.
    let checks: Vec<(Date, &CheckView)> = scale
        .checks
        .iter()
        .rev()
        .filter(|check| check.nominal.grams == load)
        .filter_map(|check| Some((day(check)?, check)))
        .collect();
    let days = || checks.iter().map(|(day, _)| *day);
    let (Some(from), Some(to)) = (days().min(), days().max()) else { return html! {} };
    let point = |(day, check): &(Date, &CheckView)| {
        let value = grams(&check.error.grams)?;
        let within = check.uncertainty.as_ref().and_then(|mass| grams(&mass.grams));
        let interval = within.and_then(|within| Some((value.checked_sub(within)?, value.checked_add(within)?)));
        Some(Point { day: *day, value, interval, note: format!("{day}: {} g", check.error.grams) })
    };
    // What held at one check holds until the next.
    let until = days().skip(1).chain([to]);
    let band = |((day, check), until): (&(Date, &CheckView), Date)| {
        let most = grams(&check.tolerance.as_ref()?.grams)?;
        Some(Band { from: *day, to: until, low: -most, high: most })
    };
    let bands: Vec<Band> = checks.iter().zip(until).filter_map(band).collect();
    let held =
        if bands.is_empty() { "no class is named that it could be held to" } else { "the band is what its class may err by" };
    let plot = OverDays {
        id: id.to_owned(),
        title: format!("Error at {load} g over time"),
        about: format!(
            "Shown less {load} g in grams at each check, with its uncertainty; {held}. The table below has the figures."
        ),
        unit: format!("at {load} g: error, g"),
        from,
        to,
        series: vec![Series {
            name: format!("{load} g"),
            shape: Shape::Points,
            points: checks.iter().filter_map(point).collect(),
        }],
        bands,
        marks: Vec::new(),
        size: Size::Small,
        reach: Some(Decimal::ZERO),
    };
    html! { figure.plot { (plot.draw()) } }
}

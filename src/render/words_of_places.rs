//! The words of the report on places, in English.

use super::figures::kilograms;
use crate::economy::place::{Missing, PlaceVerdict, Turn};
use crate::measure::Span;
use crate::query::{LEAST_DAYS, LOOKED_BACK, PlaceLine, PlacesReport};
use rust_decimal::Decimal;

/// The code of a verdict.
pub const fn code(verdict: &PlaceVerdict) -> &'static str {
    match verdict {
        PlaceVerdict::Earns { .. } => "keep-apart",
        PlaceVerdict::NoPlaceLeft { .. } => "when-a-place-is-free",
        PlaceVerdict::GoesIn => "goes-in",
        PlaceVerdict::CannotTell(_) => "cannot-tell",
    }
}

/// What a verdict's code says.
pub fn verdict(code: &str, coarser: Option<&str>) -> String {
    match (code, coarser) {
        ("keep-apart", _) => "Keep it apart".into(),
        ("when-a-place-is-free", _) => "Keep it apart when a place is free".into(),
        ("goes-in", Some(coarser)) => format!("Let it go in with {coarser}"),
        ("goes-in", None) => "Let it go in".into(),
        ("coarse", _) => "Others go in with it".into(),
        _ => "Cannot say".into(),
    }
}

/// The reason, in one line.
pub fn reason(report: &PlacesReport, line: &PlaceLine) -> String {
    let coarser = line.coarser.as_deref().unwrap_or("a coarser grade");
    let gain = line.judged.gain.map(|gain| format!("{:.2} {}", gain.amount, gain.currency)).unwrap_or_default();
    let sorting = match line.sorting {
        Some(span) if span > Span::ZERO => format!(", {} minutes of sorting paid", minutes(span)),
        _ => String::new(),
    };
    match &line.judged.verdict {
        PlaceVerdict::Earns { .. } => format!("a month it brings {gain} more than in {coarser}{sorting}"),
        PlaceVerdict::NoPlaceLeft { .. } => {
            let places = report.places.unwrap_or_default();
            format!("a month it would bring {gain} more than in {coarser}{sorting}, and better ones fill the {places} places")
        }
        PlaceVerdict::GoesIn if line.under_minimum => {
            format!("one trip's worth is under everybody's smallest lot, so it is paid as {coarser}")
        }
        PlaceVerdict::GoesIn if line.own <= line.coarser_price => {
            format!("a kilogram brings no more by itself than in {coarser}")
        }
        PlaceVerdict::GoesIn if line.month.is_some_and(crate::measure::Mass::is_zero) => "none of it collects".into(),
        PlaceVerdict::GoesIn => {
            format!("sorting it out costs what it brings more than in {coarser}, or more: {gain} a month")
        }
        PlaceVerdict::CannotTell(missing) => missing.iter().map(|what| lacks(line, *what)).collect::<Vec<_>>().join("; "),
    }
}

fn lacks(line: &PlaceLine, what: Missing) -> String {
    match what {
        Missing::Coarser => "nobody has said which coarser grade it can go in with".into(),
        Missing::Kilograms => match line.days {
            0 => "too little data: none of it was weighed yet".into(),
            days => format!("too little data: {days} days of the {LEAST_DAYS} that it takes"),
        },
        Missing::OwnPrice => "nobody has a quote for it".into(),
        Missing::FallbackPrice => "nobody has a quote for the coarser grade".into(),
        Missing::SameBuyer => "no buyer has a quote for it and for the coarser grade too".into(),
        Missing::Sorting => "it would bring more by itself, and nobody has said what sorting it out takes".into(),
        Missing::Floor => "it would bring more by itself, and nobody has said what an hour of sorting must bring".into(),
        Missing::TooLarge => "the figures are too large to be reckoned exactly".into(),
    }
}

/// What would change it, each alone and the rest as it is.
pub fn turns(report: &PlacesReport, line: &PlaceLine) -> Vec<String> {
    let turn = |turn: &Turn| match turn {
        Turn::OwnPrice(price) => format!("{:.2} {} a kilogram of its own", price, report.currency),
        Turn::Month(month) => format!("{} kg a month", kilograms(*month)),
        Turn::Sorting(span) => format!("{} minutes of sorting a month", minutes(*span)),
    };
    line.judged.turns.iter().map(turn).collect()
}

/// Minutes, to the whole one.
fn minutes(span: Span) -> Decimal {
    (Decimal::from(span.as_seconds()) / Decimal::from(60)).round()
}

/// What the report says of itself.
pub fn notes(report: &PlacesReport) -> Vec<String> {
    let mut notes = vec![
        format!(
            "A month is a twelfth of 365.25 days; what collects in it is told over at most {LOOKED_BACK} days and no less than \
             {LEAST_DAYS}."
        ),
        "Both prices are of one buyer and one trip, after minimum lots, quantity breaks and what is taken off the weight: a trip \
         brings a full bin where that is known, else what collects in a month, and in the coarser grade it goes on top of \
         what there is."
            .to_owned(),
        "A wrong piece is taken to cost the difference over the whole bin, since a buyer may pay it all as the coarser grade: \
         the worst that it can cost."
            .to_owned(),
        "Days to fill are learned from the taps \"this bin is full\", of several the one in the middle; nobody knows the litres."
            .to_owned(),
    ];
    let told = report.lines.iter().chain(&report.coarse).filter(|line| line.coarser_told);
    let told: Vec<String> = told.filter_map(|line| Some(format!("{} with {}", line.name, line.coarser.as_deref()?))).collect();
    if !told.is_empty() {
        notes.push(format!("What goes in with what is what you told of the grade: {}.", told.join(", ")));
    }
    match report.places {
        Some(places) if report.reserved > 0 => {
            notes.push(format!("Of {places} places, {} hold grades that others go in with.", report.reserved));
        }
        Some(_) => {}
        None => notes.push("You have not said how many places the bench has, so none is wanting.".into()),
    }
    if report.floor.is_none() {
        notes.push("You have not said what an hour must bring, so time for sorting has no price.".into());
    }
    if report.empty_taps > 0 {
        notes.push(format!(
            "Taps \"this bin is full\" on a bin that held nothing by the books: {}. Nothing is learned from them.",
            report.empty_taps
        ));
    }
    if !report.undated.is_zero() {
        notes.push(format!("{} kg came while no clock could be trusted and are in no month.", kilograms(report.undated)));
    }
    notes
}

//! The words of the report on when to go, in English.

use super::figures::kilograms;
use crate::haul::when::{Ends, FARTHEST, LEAST_WEEKS};
use crate::query::{Due, GoBy, TripFrom, WhenReport};
use jiff::civil::Date;

pub fn code(go: &GoBy) -> &'static str {
    match go {
        GoBy::Days(_) => "days",
        GoBy::NoTrip => "no-trip",
        GoBy::TooFewWeeks => "too-few-weeks",
        GoBy::NoFullBin => "no-full-bin",
    }
}

/// The answer, in a sentence.
pub fn says(report: &WhenReport) -> String {
    match &report.go {
        GoBy::Days(Ends { slow: None, middle: None, fast: None }) => {
            "Waiting costs no more than it brings within a year: no full bin loses as much as the trip costs.".into()
        }
        GoBy::Days(days) => {
            let middle = days.middle.map_or("not within a year".to_owned(), |day| on(report, day));
            let early = days.fast.map_or("never".to_owned(), |day| on(report, day));
            let late = days.slow.map_or("not within a year".to_owned(), |day| on(report, day));
            format!("From {middle} on waiting costs more than it brings (if it fills fast from {early}, if slowly {late}).")
        }
        GoBy::NoTrip => "Nobody has said what a trip costs: say it above, or with the next run.".into(),
        GoBy::TooFewWeeks => format!("Too little data: no grade has {LEAST_WEEKS} whole weeks yet."),
        GoBy::NoFullBin => {
            "Without full bins waiting never costs more than it brings. No bin has a price, four weeks, and word of what it holds \
             when it is full: tap \"This bin is full\" when one is."
                .into()
        }
    }
}

fn on(report: &WhenReport, day: Date) -> String {
    if day == report.day { "today".into() } else { day.to_string() }
}

fn due(report: &WhenReport, due: Due) -> String {
    match due {
        Due::On(day) => format!("from {day} on"),
        Due::Holding { mass, on: Ends { slow: None, middle: None, fast: None } } => {
            format!("from {} kg on, which are not expected within a year, or not to be told by so few weeks", kilograms(mass))
        }
        Due::Holding { mass, on: days } => {
            let told = |day: Option<Date>| day.map_or("not within a year".to_owned(), |day| on(report, day));
            let [slow, middle, fast] = [days.slow, days.middle, days.fast].map(told);
            format!("from {} kg on: {middle} (if it fills fast {fast}, if slowly {slow})", kilograms(mass))
        }
    }
}

/// What the figures stand on.
pub fn notes(report: &WhenReport) -> Vec<String> {
    let mut notes = Vec::new();
    notes.push(match &report.trip {
        None => "What a trip costs is not known, so no share is shown.".into(),
        Some(trip) => {
            let time = format!("{:.2} of it for the time at what an hour must bring", trip.time);
            let said = match &trip.from {
                TripFrom::Asked => "as you asked".to_owned(),
                TripFrom::Yard(buyer) => format!("there and back to {buyer}, {time}"),
                TripFrom::Run(day) => format!("as the run of {day} did, {time}"),
            };
            format!("A trip costs {:.2} {}: {said}.", trip.amount, report.currency)
        }
    });
    if let Some(since) = report.since {
        notes.push(format!("The last trip, or the first thing that lies here, was on {since}."));
    }
    for deadline in &report.deadlines {
        notes.push(format!("{} is held for a price, and goes anyway {}.", deadline.grade, due(report, deadline.due)));
    }
    let of = |what: &dyn Fn(&crate::query::GradeFill) -> bool| {
        report.grades.iter().filter(|grade| what(grade)).map(|grade| grade.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let few = of(&|grade| grade.pace.is_none());
    if !few.is_empty() {
        notes.push(format!(
            "Too little data, under {LEAST_WEEKS} whole weeks: {few}. What lies there counts, and nothing more of it."
        ));
    }
    let unpriced = of(&|grade| grade.price.is_none());
    if !unpriced.is_empty() {
        notes.push(format!("Without a price and so in no value: {unpriced}."));
    }
    let stale = of(&|grade| grade.stale);
    if !stale.is_empty() {
        notes.push(format!("By a stale quote: {stale}."));
    }
    let unknown = of(&|grade| grade.full_bin.is_none());
    if !unknown.is_empty() {
        notes.push(format!("Nobody has tapped or said what a full bin holds: {unknown}."));
    }
    notes.push(format!(
        "Slow and fast hold what comes in of a grade with 95 % each, by Student's t over the whole weeks until yesterday (at most \
         thirteen), if weeks are alike; all grades slow, or all fast, is rarer. A kilogram that finds no room loses its price, or what \
         it brings less in the coarser grade. Prices are today's and not foretold; money that waits costs nothing here. Beyond \
         {FARTHEST} days nothing is told."
    ));
    notes
}

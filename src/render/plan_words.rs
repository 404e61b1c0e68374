//! The words about what to load and where to drive, in English.

use super::figures::kilograms;
use super::json::plan_price as price;
use super::text::counted;
use crate::haul::plan::Rule;
use crate::measure::Currency;
use crate::query::{
    Beyond, BrokenRule, Drive, HeldGrade, HoldState, HomeWhy, Missing, Outcome, PlanReport, WaitUnknown, Waiting,
};
use rust_decimal::Decimal;

/// The code of the whole answer.
pub fn verdict(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Planned(planned) if planned.drive.stops.is_empty() => "stay",
        Outcome::Planned(_) => "drive",
        Outcome::Infeasible(_) => "impossible",
        Outcome::NoneFound { .. } => "not-found",
        Outcome::NothingThere => "nothing-there",
        Outcome::NowhereToGo => "nowhere-to-go",
    }
}

/// The whole answer in one sentence.
pub fn says(report: &PlanReport) -> String {
    match &report.outcome {
        Outcome::Planned(planned) if planned.drive.stops.is_empty() => {
            format!(
                "Nothing is worth driving for on {}: every drive brings less than it costs, or than a rule allows.",
                report.day
            )
        }
        Outcome::Planned(planned) => format!(
            "On {} drive to {}: that brings {} {} after the trip{}.",
            report.day,
            way(&planned.drive),
            planned.drive.net.amount,
            report.currency,
            better_waited(planned.waiting.as_ref().ok(), report.currency)
        ),
        Outcome::Infeasible(_) => format!("No drive on {} keeps every rule.", report.day),
        Outcome::NoneFound { .. } => {
            "The search was cut before it found a drive: search longer, or decide about some bins yourself.".into()
        }
        Outcome::NothingThere => "No bin of a known grade holds anything.".into(),
        Outcome::NowhereToGo => {
            "There is nowhere to drive to: tell where a buyer is who has a quote by weight for something that lies here.".into()
        }
    }
}

/// The best of the drives of one day may still be one drive too many: whoever reads one sentence must know.
fn better_waited(waiting: Option<&Waiting>, currency: Currency) -> String {
    let lost = waiting.map(|known| -known.over().amount).filter(|lost| *lost > Decimal::ZERO);
    lost.map_or_else(String::new, |lost| format!("; going a week later instead would bring {lost} {currency} more"))
}

fn way(drive: &Drive) -> String {
    let names: Vec<&str> = drive.stops.iter().map(|stop| stop.name.as_str()).collect();
    names.join(", then to ")
}

/// A rule that stands in the way, and what to do about it.
pub fn rule(broken: BrokenRule) -> String {
    let bin = broken.bin.map_or_else(|| "a bin".to_owned(), |number| format!("bin {number}"));
    match broken.rule {
        Rule::NoBuyer(_) => format!("You said that {bin} must go, and nobody who can be driven to has a quote for it."),
        Rule::OpeningDays => "Somebody is closed on that day: on a day when everybody is open it could be done.".into(),
        Rule::Holds => "A bin must go, and nobody pays what its grade is held for.".into(),
        Rule::MinimumLots => "A bin must go, and what there is of its grade is less than its buyer takes.".into(),
        Rule::Payload => "The bins that must go are heavier than what the vehicle bears.".into(),
        Rule::Room => "The bins that must go need more room than the vehicle has.".into(),
        Rule::BinCount => "More bins must go than the vehicle has places for.".into(),
        Rule::Pins => "The bins that must go cannot all go at once, whichever other rule is dropped.".into(),
    }
}

/// What another plan is.
pub fn other(what: &str, drive: Option<&Drive>) -> String {
    match (what, drive) {
        ("nearest", None) => "No drive to the nearest buyer alone keeps every rule and brings anything.".into(),
        ("nearest", Some(drive)) => {
            format!("With all that they take to the nearest buyer alone, {}: {}.", way(drive), loaded(drive))
        }
        (_, None) => "No other loading keeps every rule.".into(),
        (_, Some(drive)) if drive.stops.is_empty() => "The second-best is to stay at home.".into(),
        (_, Some(drive)) => format!("The second-best drives to {}: {}.", way(drive), loaded(drive)),
    }
}

fn loaded(drive: &Drive) -> String {
    let mut bins: Vec<u32> = drive.bins().map(|bin| bin.number).collect();
    bins.sort_unstable();
    let numbers: Vec<String> = bins.iter().map(u32::to_string).collect();
    if numbers.len() == 1 { format!("bin {}", numbers[0]) } else { format!("bins {}", numbers.join(", ")) }
}

/// What staying at home means.
pub fn staying(allowed: bool) -> String {
    if allowed { "Staying at home brings nothing and costs nothing." } else { "A bin must go, so staying is no choice." }.into()
}

/// What waiting would be, and how it is meant.
pub fn waiting(waiting: &Result<Waiting, WaitUnknown>) -> String {
    match waiting {
        Ok(known) => format!(
            "Waiting a week: until {} about {} kg more come, as in a usual week of the last ones. Going once then with all of it \
             brings {}; going now, and then with the rest, brings {}. Prices and rules as they stand now; nothing is forecast.",
            known.day,
            kilograms(known.comes),
            known.once.amount,
            known.twice.amount
        ),
        Err(WaitUnknown::TooFewDays { days, of }) => {
            format!("Waiting a week: too little data, {days} days of the {of} that it takes to know a usual week.")
        }
        Err(WaitUnknown::NoPlanThen) => "Waiting a week: no drive was found for then that keeps every rule.".into(),
    }
}

/// Why a bin stays, as a code and in words.
pub const fn home(why: HomeWhy) -> (&'static str, &'static str) {
    match why {
        HomeWhy::NoGrade => ("no-grade", "has no grade yet"),
        HomeWhy::Pinned => ("pinned", "stays because you said so"),
        HomeWhy::NoQuote => ("no-quote", "nobody who can be driven to on that day has a quote for it"),
        HomeWhy::Held => ("held", "waits for its price"),
        HomeWhy::NotWorth => ("not-worth", "brings more if it stays: for its price, the room, or a lot that is too small"),
    }
}

/// Why a buyer is in no plan, as a code and in words.
pub const fn beyond(why: Beyond) -> (&'static str, &'static str) {
    match why {
        Beyond::NoYard => ("no-yard", "cannot be planned: nobody has told where it is"),
        Beyond::Closed => ("closed", "is closed on that day"),
        Beyond::NoQuote => ("no-quote", "has no quote by weight for anything that lies here"),
        Beyond::TooMany => ("too-many", "is left out: more buyers than are planned at once, and it is among the farthest"),
    }
}

pub const fn hold_code(state: HoldState) -> &'static str {
    match state {
        HoldState::Waits => "waits",
        HoldState::Reached => "reached",
        HoldState::Day => "day",
        HoldState::Weight => "weight",
    }
}

/// How a held grade stands.
pub fn hold(held: &HeldGrade) -> String {
    let at = price(held.hold.at);
    let most = match &held.best {
        Some((buyer, best)) => format!("{buyer} pays most, {}", price(*best)),
        None => "nobody has a quote for it that can be compared".to_owned(),
    };
    match held.state {
        HoldState::Waits => format!("Held for {at} or above: {most}."),
        HoldState::Reached => format!("Held for {at} or above, and that is reached: {most}."),
        HoldState::Day => format!("Held for {at}, and goes anyway: its day has come."),
        HoldState::Weight => format!("Held for {at}, and goes anyway: there is as much of it as you said."),
    }
}

/// What nobody has told, and how the plan stands without it.
pub fn notes(report: &PlanReport) -> Vec<String> {
    let mut lines: Vec<String> = report.missing.iter().map(missing).collect();
    if report.by_expected {
        lines.push(
            "You asked for it: where tickets tell, this plan stands on what a buyer will likely pay, and not on the quote."
                .into(),
        );
    }
    if !report.unassigned.is_zero() {
        lines.push(format!("{} kg lie in no bin yet, and are in no plan.", kilograms(report.unassigned)));
    }
    lines.push(
        "A bin goes whole or not at all. A line is priced by what is brought of its grade to one buyer, with steps, least lots and \
         what comes off the weight, and rounded once. The best is chosen by the exact difference."
            .into(),
    );
    lines
}

fn missing(what: &Missing) -> String {
    let bins = |bins: &[u32]| {
        let numbers: Vec<String> = bins.iter().map(u32::to_string).collect();
        format!("{} ({})", counted(bins.len(), "bin"), numbers.join(", "))
    };
    match what {
        Missing::Payload => "Nobody has told what the vehicle bears: no weight is too much here. Do not overload it.".into(),
        Missing::Room => "Nobody has told how much room the vehicle has: none is too little here.".into(),
        Missing::Running { told: None } => "Nobody has told what a kilometre costs: driving costs nothing here.".into(),
        Missing::Running { told: Some(money) } => {
            format!("What driving costs was told in {}: it is not counted here.", money.currency)
        }
        Missing::Floor { told: None } => "Nobody has told what an hour must bring: hours cost nothing here.".into(),
        Missing::Floor { told: Some(money) } => {
            format!("What an hour must bring was told in {}: it is not counted here.", money.currency)
        }
        Missing::OpenDays { buyer } => format!("Nobody has told on which days {buyer} is open: taken as open."),
        Missing::Litres { bins: numbers } => {
            format!("Room is not told for {}: counted as none.", bins(numbers))
        }
        Missing::EmptyWeight { bins: numbers } => {
            format!("The empty weight of {} is not known: counted without the vessel.", bins(numbers))
        }
        Missing::Stale { buyer, grade, day } => {
            format!("The quote of {buyer} for {grade} is of {day} and stale: ask again before you drive.")
        }
        Missing::NotByWeight { buyer, grade } => {
            format!("{buyer} pays {grade} by the piece: that is in no plan.")
        }
        Missing::OtherCurrency { buyer, grade, currency } => {
            format!("{buyer} quotes {grade} in {currency}: currencies are never mixed, and that is in no plan.")
        }
        Missing::HoldElsewhere { grade, at } => {
            format!("{grade} is held for a price in {}: it holds nothing back here.", at.currency)
        }
        Missing::Road { one, other } => {
            format!(
                "Nobody has told of a road from {one} to {other}: counted as the shortest of the ways that are told, by home where there is no other."
            )
        }
    }
}

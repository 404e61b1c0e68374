//! The words of the report on wire, in English.

use super::hour_words::cut;
use super::text::counted;
use crate::economy::ratio::LOTS_FOR_INTERVAL;
use crate::economy::wire::{BadSample, Stripping, WireVerdict};
use crate::query::{WireKind, WireReport, WireUnpriced};
use rust_decimal::Decimal;

/// The code of a verdict.
pub fn code(kind: &WireKind) -> &'static str {
    match kind.stripping.map(|known| known.verdict) {
        Some(WireVerdict::Strip) => "strip",
        Some(WireVerdict::SellAsIs) => "sell-as-it-is",
        Some(WireVerdict::CannotTell) => "cannot-tell",
        Some(WireVerdict::TimeIt) => "time-it",
        None => "no-price",
    }
}

/// What a verdict's code says.
pub fn verdict(code: &str) -> &'static str {
    match code {
        "strip" => "Strip it",
        "sell-as-it-is" => "Sell it as it is",
        "time-it" => "Time it first",
        "cannot-tell" => "Cannot say",
        _ => "No price for both",
    }
}

/// The reason of the verdict, in one line.
pub fn reason(report: &WireReport, kind: &WireKind) -> String {
    let currency = report.currency;
    let Some(known) = &kind.stripping else { return unpriced(report, kind) };
    let floor = report.floor.filter(|floor| *floor > Decimal::ZERO);
    let asked = floor.map_or("anything".to_owned(), |floor| format!("the {floor:.2} {currency} that you ask"));
    match (known.verdict, known.per_hour) {
        (WireVerdict::Strip, Some(hour)) => {
            format!("an hour of stripping surely brings {asked}: {:.2} {currency} more than the wire as it is", hour.gain)
        }
        (WireVerdict::SellAsIs, Some(hour)) => match floor {
            Some(_) => format!(
                "an hour of stripping brings {:.2} {currency} over the wire as it is, surely less than {asked}",
                hour.gain
            ),
            None => format!("stripping loses: {:.2} {currency} an hour against the wire as it is", hour.gain),
        },
        (WireVerdict::CannotTell, Some(_)) => {
            format!(
                "whether an hour brings {asked} cannot be told from {}: more samples would tell",
                counted(kind.samples, "sample")
            )
        }
        (WireVerdict::CannotTell, None) | (WireVerdict::Strip, None) => format!(
            "whether a kilogram gains anything cannot be told from {}: more samples would tell",
            counted(kind.samples, "sample")
        ),
        (WireVerdict::SellAsIs, None) => {
            format!("a kilogram brings {:.2} {currency} less stripped than as it is, whatever the time", -known.per_kilogram)
        }
        (WireVerdict::TimeIt, _) => {
            format!("a kilogram gains {:.2} {currency}; nobody has timed it: time one sample", known.per_kilogram)
        }
    }
}

fn unpriced(report: &WireReport, kind: &WireKind) -> String {
    match (&kind.recovery, &kind.prices) {
        (Err(BadSample::TooLarge), _) => "the figures are too large to be reckoned exactly".into(),
        (Err(_), _) => "its samples do not fit together".into(),
        (_, Err(WireUnpriced::NoMetal)) => format!("nobody has a quote for {} in {}", kind.metal, report.currency),
        (_, Err(WireUnpriced::NoWire)) => format!(
            "no buyer of {} has a quote for a grade named \"{}\" too, and you have not said that you would have left the wire",
            kind.metal, kind.feed
        ),
        (_, Ok(_)) => "the figures are too large to be reckoned exactly".into(),
    }
}

/// What would change the verdict.
pub fn turns(kind: &WireKind, known: &Stripping) -> Vec<String> {
    let mut turns = Vec::new();
    match known.least_recovery {
        Some(least) if least <= Decimal::ONE => {
            let percent = (least * Decimal::ONE_HUNDRED).round_dp(1);
            let time = if kind.pace.is_some() { "with the time that it takes, " } else { "" };
            turns.push(format!("{time}it pays from {percent} % of metal on"));
        }
        Some(_) | None => turns.push("at these prices no share of metal makes it pay".into()),
    }
    turns
}

/// What must be known beside the figures of one kind.
pub fn says(report: &WireReport, kind: &WireKind) -> Vec<String> {
    let mut lines = Vec::new();
    if kind.samples < LOTS_FOR_INTERVAL {
        lines.push(format!(
            "{}: how far samples differ is known from {LOTS_FOR_INTERVAL} on, so ± is the weighing alone",
            counted(kind.samples, "sample")
        ));
    }
    let share = kind.recovery.as_ref().ok().and_then(|known| known.samples.part());
    lines.extend(cut(share.map(|share| ("metal", share)).as_slice()));
    if kind.timed > 0 && kind.timed < kind.samples {
        lines.push(format!("the time is that of {}", counted(kind.timed, "timed sample")));
    }
    if let Ok(prices) = &kind.prices {
        if prices.insulated.is_none() {
            lines.push("against leaving the wire, as you said".into());
        }
        if prices.stale {
            lines.push("a price is stale".into());
        }
    }
    if report.disposal.is_none() {
        lines.push("nothing is counted for being rid of the insulation: nobody has said what it costs".into());
    }
    lines
}

/// What the report says of itself.
pub fn notes(report: &WireReport) -> Vec<String> {
    let mut notes = vec![
        "The share of metal is all metal over all wire of the samples. ± is twice its standard uncertainty: the larger of what \
         the scale's division leaves open and of how the samples differ (JCGM 100:2008, 5.1.3 and 4.3.10)."
            .to_owned(),
        "What a kilogram gains is its metal at the buyer's price, less the wire as it is at the same buyer's price, less what \
         being rid of the insulation costs. First prices, without quantity breaks and minimum lots; that prices move is \
         outside it."
            .to_owned(),
    ];
    if report.floor.is_none() {
        notes.push("You have not said what an hour must bring, so anything above nothing counts.".into());
    }
    notes
}

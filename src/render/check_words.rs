//! The words of check weights, in English.

use super::figures::{expanded_kilograms, grams, kilograms};
use crate::command::CheckRefusal;
use crate::economy::check_weight::{CheckVerdict, Due, divisions_needed};
use crate::economy::coins::{COINS, Coin, Maker};
use crate::facts::Disturbance;
use crate::facts::books::CheckUse;
use crate::measure::{Mass, Span, Variance};
use crate::query::YardRun;

/// A load that is to be a check weight, or that is one.
pub fn announced(check: &CheckUse) -> Option<String> {
    match (&check.lies, &check.asked) {
        (Some(lying), _) => {
            let laid = &lying.laid;
            let error = laid.shown - laid.weight.nominal;
            let (nominal, shown) = (grams(laid.weight.nominal), grams(laid.shown));
            let sign = if error.is_negative() { "" } else { "+" };
            Some(format!("Check weight of {nominal} g: the scale showed {shown} g, error {sign}{} g. Take it off.", grams(error)))
        }
        (None, Some(weight)) => {
            Some(format!("The next load of about {} g is a check weight ({})", grams(weight.nominal), weight.source))
        }
        (None, None) => None,
    }
}

/// A coin in a person's words.
pub fn coin(coin: Coin) -> &'static str {
    match coin.code {
        "us-cent" => "US cent",
        "us-nickel" => "US nickel",
        "us-dime" => "US dime",
        "us-quarter" => "US quarter",
        "us-half-dollar" => "US half dollar",
        "eur-50-cent" => "50 euro cent",
        "eur-1" => "1 euro",
        "eur-2" => "2 euro",
        other => other,
    }
}

pub const fn coin_source(maker: Maker) -> &'static str {
    match maker {
        Maker::UnitedStates => "the mint's page \"Coin Specifications\", usmint.gov",
        Maker::EuroArea => "Council Regulation (EC) No 975/98 as EUR-Lex sums it up",
    }
}

pub const COINS_BOUND_NOTHING: &str = "Nobody says how far a worn coin is off, so coins show a gross error and bound nothing.";

/// What the record of a check with coins says of them.
pub fn coins(of: Coin, count: u32) -> String {
    format!("{count} × {} of {} g: {}", coin(of), grams(of.times(1)), coin_source(of.maker))
}

pub fn unknown_coin(code: &str) -> String {
    let known: Vec<&str> = COINS.iter().map(|coin| coin.code).collect();
    format!("{code:?} is no coin whose published mass is known here: {}", known.join(", "))
}

pub const fn disturbance_code(how: Disturbance) -> &'static str {
    match how {
        Disturbance::Moved => "moved",
        Disturbance::Mended => "mended",
        Disturbance::Exchanged => "exchanged",
    }
}

pub fn disturbance_of(code: &str) -> Option<Disturbance> {
    [Disturbance::Moved, Disturbance::Mended, Disturbance::Exchanged].into_iter().find(|how| disturbance_code(*how) == code)
}

pub fn refusal(refusal: CheckRefusal) -> String {
    match refusal {
        CheckRefusal::NoCheck => "no load was to be a check weight".into(),
        CheckRefusal::CheckLies => "a check weight lies on the scale: take it off first".into(),
        CheckRefusal::NoDivision { entry } => {
            format!("the scale's stretch in which drop {entry} was weighed is over: name the division that it had then")
        }
        CheckRefusal::NotShownHere { entry } => {
            format!("drop {entry} is no load that the scale of this bench showed, so it says nothing of that scale")
        }
    }
}

pub const fn refusal_code(refusal: CheckRefusal) -> &'static str {
    match refusal {
        CheckRefusal::NoCheck => "no-check",
        CheckRefusal::CheckLies => "check-lies",
        CheckRefusal::NoDivision { .. } => "no-division",
        CheckRefusal::NotShownHere { .. } => "not-shown-here",
    }
}

/// How a check is made, and what it is good for.
pub const CHECK_HOW: &str = "Let the scale warm up, zero it, and lay a known mass on it alone: a test weight of a class, or \
     coins whose mass a mint publishes. Say what it is and who says so. Without how far the weight itself may be off it is \
     kept, and bounds nothing. Announce it first and it makes no drop, whatever stands on the scale; a drop that it made is put \
     right here.";

pub const fn verdict_code(verdict: CheckVerdict) -> &'static str {
    match verdict {
        CheckVerdict::Within => "within",
        CheckVerdict::Outside => "outside",
        CheckVerdict::CannotTell => "cannot-tell",
        CheckVerdict::WeightUnknown => "weight-unknown",
        CheckVerdict::NoTolerance => "no-tolerance",
    }
}

pub const fn verdict(verdict: CheckVerdict) -> &'static str {
    match verdict {
        CheckVerdict::Within => "within the tolerance",
        CheckVerdict::Outside => "outside the tolerance: have the scale adjusted",
        CheckVerdict::CannotTell => "cannot tell: the tolerance lies inside the uncertainty",
        CheckVerdict::WeightUnknown => "the weight or the division is not known well enough to judge",
        CheckVerdict::NoTolerance => "no tolerance: no class is named for the scale, or it has none for this load",
    }
}

/// The code of what a check asks.
pub const fn due_code(due: Due) -> &'static str {
    match due {
        Due::Never => "never",
        Due::In { .. } => "not-yet",
        Due::Overdue { .. } => "overdue",
        Due::Disturbed { .. } => "disturbed",
    }
}

pub fn due(due: Due) -> String {
    match due {
        Due::Never => "This scale has never been checked with a known weight.".into(),
        Due::In { days: 0 } => "The next check is due today.".into(),
        Due::In { days } => format!("The next check is due in {}.", days_of(days)),
        Due::Overdue { days } => format!("A check with a known weight is overdue by {}.", days_of(days)),
        Due::Disturbed { on } => {
            format!("The scale was moved, mended or exchanged on {on}, after the last check: check it again.")
        }
    }
}

fn days_of(days: i64) -> String {
    if days == 1 { "1 day".into() } else { format!("{days} days") }
}

/// What calibration is known to.
pub fn bound(ppm: Option<u32>) -> String {
    let Some(ppm) = ppm else {
        return "No check bounds the scale's own error: it comes on top of every ± and is not known.".into();
    };
    // The best that resolution alone lets any check reach is known beforehand (JCGM 100:2008, F.2.2.1).
    let needed = divisions_needed(1000, true).unwrap_or_default();
    let more = if ppm > 1000 {
        format!(" A heavier weight bounds it better: 0.1 % takes one of at least {needed} divisions.")
    } else {
        String::new()
    };
    format!("The scale's own error is known to lie within {} % of the load.{more}", percent(ppm))
}

/// What stands behind the ± of a total: the readings, and the scales' own errors.
pub fn own_error(report: &YardRun) -> String {
    let own = &report.own_error;
    let weighing = format!("± {} kg from weighing", expanded_kilograms(report.variance));
    let known = format!(
        "± {} kg from the scale's own error, together ± {} kg",
        expanded_kilograms(own.variance),
        expanded_kilograms(own.whole)
    );
    let unbounded = kilograms(own.unbounded);
    match (own.unbounded.is_zero(), own.variance == Variance::ZERO) {
        (true, _) => format!("{weighing}, {known}."),
        (false, false) => format!("{weighing}, {known}; no check bounds the scale's own error in {unbounded} kg of it."),
        (false, true) if own.ever_checked => {
            format!("{weighing}; no check bounds the scale's own error, which comes on top and is not known.")
        }
        (false, true) => {
            format!("{weighing}; the scale has never been checked: its own error comes on top and is not known.")
        }
    }
}

/// Parts per million as per cent, exact: `0.0789`.
pub fn percent(ppm: u32) -> String {
    let text = format!("{}.{:04}", ppm / 10_000, ppm % 10_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The scale was switched on or zeroed a short while ago.
pub fn warming(span: Span) -> String {
    format!(
        "Its present stretch began {} min ago: a scale drifts until it is warm, half an hour commonly and longer in a cold \
         shed. What the maker says goes before.",
        span.as_seconds() / 60
    )
}

/// Why the weight that the scale shows now is not taken for a check.
pub fn not_this_weight(shown: Mass, nominal: Mass) -> String {
    format!(
        "the scale shows {} g and the weight is {} g: more than a tenth apart. Zero the scale and lay the weight on alone, or \
         name what it shows",
        grams(shown),
        grams(nominal)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_per_million_as_per_cent() {
        for (ppm, expected) in [(789, "0.0789"), (1000, "0.1"), (10_000, "1"), (123_456, "12.3456"), (0, "0")] {
            assert_eq!(percent(ppm), expected);
        }
        assert!(bound(Some(2000)).contains("817 divisions"), "{}", bound(Some(2000)));
    }
}

//! The words of the report on what an hour is worth, in English.

use super::figures::{clock, kilograms};
use super::text::counted;
use crate::economy::interval::Cut;
use crate::economy::pay::NoPay;
use crate::economy::ratio::{Cannot, LOTS_FOR_INTERVAL, Ratio};
use crate::economy::yields::LossVerdict;
use crate::measure::{Mass, Money, Span};
use crate::query::{FeedHour, HourReport, WholeSaid};

/// Which prices the figures stand on.
pub fn prices(report: &HourReport) -> String {
    let (day, currency) = (report.day, report.currency);
    match &report.buyer {
        Some(buyer) => format!("quotes of {buyer} in force on {day}, in {currency}"),
        None => format!("the best quote for each grade in force on {day}, in {currency}"),
    }
}

/// What is in no figure of the report.
pub fn left_out(report: &HourReport) -> Vec<String> {
    let mut lines = Vec::new();
    let apart = &report.apart;
    if apart.drops > 0 {
        lines.push(format!(
            "{} of {} kg that came out of mixed work, outside any stretch, or of something that was not weighed before",
            counted(apart.drops, "drop"),
            kilograms(apart.mass)
        ));
    }
    if apart.lots_without_feed > 0 {
        lines.push(format!("{} of which nobody has said what it is", counted(apart.lots_without_feed, "lot")));
    }
    let open: usize = report.feeds.iter().map(|feed| feed.open_lots).sum();
    if open > 0 {
        let still = if open == 1 { "that is" } else { "that are" };
        lines.push(format!("{} {still} still being worked on", counted(open, "lot")));
    }
    lines
}

/// What must be known beside the figures of a feed.
pub fn says(feed: &FeedHour) -> Vec<String> {
    let mut lines = Vec::new();
    if feed.closed_lots == 0 {
        return vec!["too little data: no lot is worked off yet".into()];
    }
    match &feed.pay {
        Err(why) => lines.push(no_pay(*why)),
        Ok(pay) => {
            if let Ratio::Cannot(why) = &pay.hands_on {
                lines.push(cannot(*why).into());
            }
            let not_counted: Mass = feed.grades.iter().map(|grade| grade.not_counted).sum();
            let without_quote = pay.without_quote - not_counted;
            if !without_quote.is_zero() {
                lines.push(format!("without {} kg that have no quote", kilograms(without_quote)));
            }
            for grade in feed.grades.iter().filter(|grade| !grade.not_counted.is_zero()) {
                lines.push(format!(
                    "without {} kg of {}, which is paid by the piece: count what lies in its bin",
                    kilograms(grade.not_counted),
                    grade.name.as_deref().unwrap_or("no grade")
                ));
            }
            if let Ratio::Pooled(pooled) = &pay.hands_on
                && pooled.jackknife.is_none_or(|jackknife| !jackknife.agrees)
            {
                lines.push("one lot rules the figure: its interval says little".into());
            }
        }
    }
    if feed.closed_lots < LOTS_FOR_INTERVAL {
        lines.push(format!(
            "too little data for an interval: {}, and it takes {LOTS_FOR_INTERVAL}",
            counted(feed.closed_lots, "closed lot")
        ));
    }
    let parts = feed.grades.iter().map(|grade| (grade.name.as_deref().unwrap_or("no grade"), &grade.recovery.ratio));
    let missing = feed.yields.iter().map(|yields| ("what is missing", &yields.loss.ratio));
    let known: Vec<(&str, Cut)> = parts.chain(missing).filter_map(|(of, ratio)| Some((of, ratio.part()?))).collect();
    lines.extend(cut(&known));
    match &feed.whole {
        WholeSaid::Quoted(price) => {
            let stale = if price.stale { ", which is stale" } else { "" };
            lines.push(format!("sold whole: {} from {}{stale}, by {}", price.rate, price.day, price.buyer));
            if price.per_piece().is_some() && matches!(feed.pay, Err(NoPay::WholeUnknown { .. })) {
                lines.push("the whole thing is paid by the piece, and not every lot was counted".into());
            }
        }
        WholeSaid::Left => lines.push("against leaving it, as you said".into()),
        WholeSaid::Unknown => lines.push(
            "whole value not known: nobody has a quote for a grade of this name, and you have not said that you would have \
             left it"
                .into(),
        ),
    }
    if feed.counted_lots > 0 {
        lines.push(format!(
            "{} only counted and not weighed: in the pay, and in no percentage",
            was_were(feed.counted_lots, "closed lot")
        ));
    }
    for cost in &feed.other_costs {
        lines.push(format!("without {:.2} {} of its costs, which are in another currency", cost.amount, cost.currency));
    }
    match feed.yields.as_ref().map_or(LossVerdict::Missing, |yields| yields.loss.verdict) {
        LossVerdict::Surplus => lines.push("more came out than went in: an intake or a drop is booked wrongly".into()),
        LossVerdict::Balanced => lines.push("in and out agree within what the scale may err by".into()),
        LossVerdict::Missing => {}
    }
    if feed.grades.iter().any(|grade| grade.price.as_ref().is_some_and(|price| price.stale)) {
        lines.push("a price is stale".into());
    }
    if feed.untold > Span::ZERO {
        lines.push(format!(
            "nothing moved for {} (h:mm:ss) of it, and nobody has said whether you were working",
            clock(feed.untold)
        ));
    }
    if !feed.clock_sure {
        lines.push("the clock of these hours is not certain".into());
    }
    if !feed.taken_out.is_zero() {
        lines.push(format!("{} kg were taken out of bins meanwhile and are not taken off", kilograms(feed.taken_out)));
    }
    lines
}

/// That intervals of shares were cut: of what, and where.
pub fn cut(parts: &[(&str, Cut)]) -> Vec<String> {
    let at = |end: fn(&Cut) -> bool, where_to: &str| {
        let of: Vec<&str> = parts.iter().filter(|(_, cut)| end(cut)).map(|(of, _)| *of).collect();
        (!of.is_empty()).then(|| format!("intervals cut {where_to} cannot be: {}", of.join(", ")))
    };
    let ends = [at(|cut| cut.low, "at 0 %, since less than nothing"), at(|cut| cut.high, "at 100 %, since more than all of it")];
    ends.into_iter().flatten().collect()
}

pub fn no_pay(why: NoPay) -> String {
    match why {
        NoPay::NoClosedLot => "too little data: no lot is worked off yet".into(),
        NoPay::WholeUnknown { .. } => "what an hour adds cannot be told without the whole value".into(),
        NoPay::MixedBasis => "the prices are of different days or buyers".into(),
        NoPay::MixedCurrencies => "the prices are in different currencies".into(),
        NoPay::NothingHasAQuote => "nothing that came out has a quote".into(),
        NoPay::NoHours => cannot(Cannot::NothingBelow).into(),
        NoPay::TooLarge => cannot(Cannot::TooLarge).into(),
    }
}

const fn cannot(why: Cannot) -> &'static str {
    match why {
        Cannot::NoLot => "too little data: no lot is worked off yet",
        Cannot::NothingBelow => "no hands-on time is known for it: start a stretch on it, or tell the minutes",
        Cannot::NegativeBelow { .. } => "a lot took less than no time: its clock is wrong",
        Cannot::TooLarge => "the figures are too large to be reckoned exactly",
    }
}

/// What the report says of itself.
pub fn notes(report: &HourReport) -> Vec<String> {
    let mut notes = vec![
        "What taking apart adds an hour is the value of what came out, less what it would have brought whole, over the \
         hands-on hours, less the consumables and the disposal that were told of the lots. What soaked or was heated is not \
         hands-on."
            .into(),
        "Only lots that are worked off count, total over total. The interval holds 95 % and is shown from four lots on; that \
         prices move until the sale is outside it."
            .into(),
        "Each quote is taken at its first price with its deduction, without quantity breaks and minimum lots. Where nobody pays \
         by weight, a price by the piece is taken, as long as the count in the bin holds; a lot has its share of the pieces by \
         weight. What a buyer charges for taking a thing is a cost of being rid of it."
            .into(),
        "This scale is not legal for trade: the buyer's inspected scale settles the price.".into(),
    ];
    if report.floor_told {
        notes.push(format!("An hour must bring {:.2} {}, as you told it.", report.floor, report.currency));
    }
    if let Some(floor) = report.floor_elsewhere {
        notes.push(another_currency(floor));
    }
    notes
}

/// Of a floor that is not compared.
pub fn another_currency(floor: Money) -> String {
    format!(
        "What you ask of an hour, {:.2} {}, is in another currency than these prices and is not compared.",
        floor.amount, floor.currency
    )
}

fn was_were(count: usize, what: &str) -> String {
    format!("{} {}", counted(count, what), if count == 1 { "was" } else { "were" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::economy::interval::Interval;

    #[test]
    fn what_was_cut_is_told_by_end() {
        let interval = Interval { low: rust_decimal::Decimal::ZERO, high: rust_decimal::Decimal::ONE };
        let cut_at = |low, high| Cut { interval, low, high };
        let parts = [("copper", cut_at(true, false)), ("brass", cut_at(false, false)), ("what is missing", cut_at(true, true))];
        assert_eq!(
            cut(&parts),
            [
                "intervals cut at 0 %, since less than nothing cannot be: copper, what is missing",
                "intervals cut at 100 %, since more than all of it cannot be: what is missing"
            ]
        );
        assert_eq!(cut(&parts[1..2]), Vec::<String>::new());
    }
}

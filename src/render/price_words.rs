//! The words of prices, grades, buyers' words and tables of quotes.

use super::words;
use crate::command::price_table::{BadBreak, BadCell, TableFault};
use crate::command::{PriceRefusal, Refusal};
use crate::facts::Payout;
use crate::query::PriceHistory;

/// How a buyer pays out in cash, in a few words.
pub const fn payout(payout: Payout) -> &'static str {
    match payout {
        Payout::Exact => "to the cent",
        Payout::NearestFive => "to the nearest five cents",
        Payout::DownFive => "down to five cents",
        Payout::NearestTen => "to the nearest ten cents",
    }
}

/// One sentence: what is wrong, and what to do.
pub fn refusal(refusal: &PriceRefusal) -> String {
    match refusal {
        PriceRefusal::At { place, refusal } => format!("quote {} of those sent: {}", place + 1, words::refusal(refusal)),
        PriceRefusal::TooMany { most } => format!("one order keeps {most} quotes at most: send them in parts"),
        PriceRefusal::NothingToKeep => "there is no quote in it to be kept".into(),
        PriceRefusal::DeductionOnPieces => {
            "a deduction comes off the weight, and this is paid by the piece: leave the deduction out".into()
        }
        PriceRefusal::BreakAtNothing => "a step of a quote begins at more than nothing, as in 100kg=4.20".into(),
        PriceRefusal::NothingQuoted { buyer } => {
            format!("no quote of {buyer} is in force that could stay the same: give the prices first")
        }
        PriceRefusal::FallbackCircle { through } => {
            format!("that would lead back to the same grade: {}; a grade is folded into a coarser one", through.join(" into "))
        }
        PriceRefusal::BlankWord => "a buyer's word needs at least one letter".into(),
        PriceRefusal::BlankSpecification => "a specification's word needs at least one letter; null takes it back".into(),
        PriceRefusal::WordTaken { word, grade } => {
            format!("this buyer means {grade} by \"{word}\" already: take that back first, then say it anew")
        }
        PriceRefusal::UnknownWord { word } => format!("this buyer has no word \"{word}\" that could be taken back"),
    }
}

/// The stable code of a refusal.
pub fn code(refusal: &PriceRefusal) -> &'static str {
    match refusal {
        PriceRefusal::At { refusal, .. } => words::code(refusal),
        PriceRefusal::TooMany { .. } => "too-many-quotes",
        PriceRefusal::NothingToKeep => "nothing-to-keep",
        PriceRefusal::DeductionOnPieces => "deduction-on-pieces",
        PriceRefusal::BreakAtNothing => "break-at-nothing",
        PriceRefusal::NothingQuoted { .. } => "nothing-quoted",
        PriceRefusal::FallbackCircle { .. } => "fallback-circle",
        PriceRefusal::BlankWord => "blank-word",
        PriceRefusal::BlankSpecification => "blank-specification",
        PriceRefusal::WordTaken { .. } => "word-taken",
        PriceRefusal::UnknownWord { .. } => "unknown-word",
    }
}

/// The field of a quote that a refusal is about, by its key in a request.
pub fn field(refusal: &Refusal) -> Option<&'static str> {
    use crate::command::NamedKind;
    match refusal {
        Refusal::Prices(PriceRefusal::At { refusal, .. }) => field(refusal),
        Refusal::UnknownName { what: NamedKind::Buyer, .. } => Some("buyer"),
        Refusal::UnknownName { what: NamedKind::Grade, .. } => Some("grade"),
        Refusal::BreaksOutOfOrder | Refusal::Prices(PriceRefusal::BreakAtNothing) => Some("breaks"),
        Refusal::DeductionOutOfRange | Refusal::Prices(PriceRefusal::DeductionOnPieces) => Some("deduction_percent"),
        Refusal::Prices(PriceRefusal::FallbackCircle { .. }) => Some("fallback"),
        Refusal::Prices(PriceRefusal::BlankSpecification) => Some("specification"),
        Refusal::Prices(PriceRefusal::BlankWord | PriceRefusal::WordTaken { .. } | PriceRefusal::UnknownWord { .. }) => {
            Some("word")
        }
        Refusal::Trips(refusal) => super::trip_words::field(*refusal),
        _ => None,
    }
}

/// What is wrong with a list of steps.
pub fn steps(fault: &BadBreak) -> String {
    match fault {
        BadBreak::Shape(text) => format!("{text:?} is not a step such as 100kg=4.20; several are parted by semicolons"),
        BadBreak::Weight(text, fault) => format!("the weight {text:?} of a step: {fault}"),
        BadBreak::Amount(fault) => format!("the amount of a step: {fault}"),
    }
}

/// What is wrong with a cell of a table, or with its line.
pub fn cell(fault: &TableFault) -> String {
    let column = fault.column.map_or("", |column| column.name());
    match &fault.what {
        BadCell::NoRows => "there is no quote in it: a line of column names first, then a line a quote".into(),
        BadCell::MissingColumn => format!("the column {column} is missing; buyer, grade and price must be there"),
        BadCell::UnknownColumn(name) if name.contains(';') => {
            "the columns are parted by semicolons: save the table with commas".into()
        }
        BadCell::UnknownColumn(name) => format!(
            "{name:?} is no column; there are buyer, grade, price, currency, day, stale_after_days, breaks, minimum, \
             deduction_percent"
        ),
        BadCell::ColumnTwice => format!("the column {column} stands there twice"),
        BadCell::Cells { wanted, found } => {
            format!("this line has {found} cells and the head has {wanted}; a text with a comma in it stands in double quotes")
        }
        BadCell::Unreadable => "from here on it cannot be read: is it text in UTF-8, with its double quotes closed?".into(),
        BadCell::TooLong { most } => format!("a table has {most} quotes at most: import it in parts"),
        BadCell::Empty => format!("the {column} is empty"),
        BadCell::Price(fault) => fault.to_string(),
        BadCell::Currency(text) => format!("{text:?} is not a currency of three capital letters, as in EUR"),
        BadCell::TwoCurrencies { price, column } => {
            format!("the price is in {price} and the column says {column}: say it once, or the same twice")
        }
        BadCell::Day(text) => format!("{text:?} is not a day such as 2026-03-01"),
        BadCell::Days(text) => format!("{text:?} is not a number of days such as 14"),
        BadCell::Percent(text) => format!("{text:?} is not a share in per cent such as 2.5"),
        BadCell::Weight(text, fault) => format!("{text:?}: {fault}"),
        BadCell::Break(fault) => steps(fault),
        BadCell::Twice { line } => {
            format!("line {line} says what the same buyer gives for the same grade on the same day already")
        }
        BadCell::Refused(refusal) => words::refusal(refusal),
    }
}

/// What the price history says of itself.
pub fn history(history: &PriceHistory) -> Vec<String> {
    let mut lines = Vec::new();
    let points = || history.series.iter().flat_map(|series| series.points.iter().map(move |point| (series, point)));
    if points().any(|(series, point)| point.rate.per() != series.per) {
        lines.push(
            "A price that was given in another unit is converted by the exact sizes of both (NIST Handbook 44, Appendix C); \
             what does not end is rounded at the sixth decimal, half to even, and marked ≈."
                .to_owned(),
        );
    }
    if history.series.iter().any(|series| series.points.last().is_some_and(|point| point.stale_from.is_some())) {
        lines.push("A price in force is stale: ask again.".to_owned());
    }
    let counted = [
        (history.series.iter().map(|series| series.replaced).sum(), "replaced on the same day"),
        (history.withdrawn, "withdrawn"),
        (history.to_come, "from a later day on"),
    ];
    for (count, what) in counted.into_iter().filter(|(count, _)| *count > 0) {
        lines.push(format!("Not in it: {} {what}.", super::text::counted(count, "quote")));
    }
    lines
}

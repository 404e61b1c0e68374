//! Every price that a buyer has given for a grade, day by day, each series in one currency and one unit.

use super::days_between;
use crate::economy::quotes::{Converted, converted};
use crate::facts::books::Quote;
use crate::facts::{Books, Break, BuyerId, GradeId, QuoteId};
use crate::measure::{Currency, Mass, Per, PriceUnit, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

#[derive(Debug, Clone, Copy)]
pub struct PricesQuestion {
    pub today: Date,
    /// The quotes that hold from this day or an earlier one; none means today. What was withdrawn since is not in it.
    pub as_of: Option<Date>,
    /// Days after which a quote is called stale unless it says otherwise itself.
    pub stale_after: u16,
    pub grade: Option<GradeId>,
    pub buyer: Option<BuyerId>,
    /// In which every price by weight is shown; none means that of the last quote of each series.
    pub unit: Option<PriceUnit>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct PriceHistory {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    /// By grade, buyer and currency; by weight before by the piece.
    pub series: Vec<PriceSeries>,
    /// Quotes that were withdrawn: they are in no series.
    pub withdrawn: usize,
    /// Quotes that hold from a later day only.
    pub to_come: usize,
}

#[derive(Debug, Clone, PartialEq)]
pub struct PriceSeries {
    pub grade: String,
    pub buyer: String,
    pub currency: Currency,
    pub per: Per,
    /// By day; of one day the last given.
    pub points: Vec<PricePoint>,
    /// Given and replaced on the same day.
    pub replaced: usize,
}

/// The quotes of one series, by the day from which they hold.
type ByDay<'a> = BTreeMap<Date, Vec<(QuoteId, &'a Quote)>>;

#[derive(Debug, Clone, PartialEq)]
pub struct PricePoint {
    pub quote: QuoteId,
    pub day: Date,
    /// The first day on which another quote held; none for the one in force.
    pub until: Option<Date>,
    /// The first day on which it was stale, where that came before another did.
    pub stale_from: Option<Date>,
    /// As it was given.
    pub rate: Rate,
    /// In the unit of the series; none beyond what can be reckoned.
    pub shown: Option<Converted>,
    pub age_days: i64,
    pub breaks: Vec<Break>,
    pub minimum: Option<Mass>,
    pub deduction: Option<Decimal>,
}

pub fn price_history(books: &Books, question: &PricesQuestion) -> PriceHistory {
    let day = question.as_of.unwrap_or(question.today);
    let asked = |quote: &Quote| {
        question.grade.is_none_or(|grade| grade == quote.grade) && question.buyer.is_none_or(|buyer| buyer == quote.buyer)
    };
    let quotes: Vec<(QuoteId, &Quote)> =
        books.quotes.iter().filter(|(_, quote)| asked(quote)).map(|(id, quote)| (*id, quote)).collect();
    let standing = || quotes.iter().filter(|(_, quote)| !quote.withdrawn);
    let mut groups: BTreeMap<(GradeId, BuyerId, Currency), ByDay<'_>> = BTreeMap::new();
    for (id, quote) in standing().filter(|(_, quote)| quote.day <= day) {
        let key = (quote.grade, quote.buyer, quote.rate.currency());
        groups.entry(key).or_default().entry(quote.day).or_default().push((*id, quote));
    }
    let mut series: Vec<PriceSeries> =
        groups.iter().flat_map(|(key, days)| series_of(books, question, day, *key, days)).collect();
    series.sort_by_key(|series| {
        (series.grade.to_lowercase(), series.buyer.to_lowercase(), series.currency, series.per == Per::Piece)
    });
    PriceHistory {
        seq: books.seq,
        day,
        series,
        withdrawn: quotes.iter().filter(|(_, quote)| quote.withdrawn).count(),
        to_come: standing().filter(|(_, quote)| quote.day > day).count(),
    }
}

fn series_of(
    books: &Books,
    question: &PricesQuestion,
    day: Date,
    (grade, buyer, currency): (GradeId, BuyerId, Currency),
    days: &BTreeMap<Date, Vec<(QuoteId, &Quote)>>,
) -> Vec<PriceSeries> {
    let last: Vec<(QuoteId, &Quote)> = days.values().filter_map(|given| given.last().copied()).collect();
    let nexts = last.iter().skip(1).map(|(_, next)| Some(next.day)).chain([None]);
    let held: Vec<(QuoteId, &Quote, Option<Date>)> =
        last.iter().zip(nexts).map(|((id, quote), next)| (*id, *quote, next)).collect();
    let one = |pieces: bool| {
        let of = |rate: &Rate| matches!(rate, Rate::Piece(_)) == pieces;
        let mine: Vec<_> = held.iter().filter(|(_, quote, _)| of(&quote.rate)).collect();
        let per = match (mine.last()?.1.rate.per(), question.unit) {
            (Per::Weight(_), Some(unit)) => Per::Weight(unit),
            (own, _) => own,
        };
        let point = |(id, quote, until): &&(QuoteId, &Quote, Option<Date>)| {
            let good = quote.stale_after.unwrap_or(question.stale_after);
            let stale_from = quote.day.saturating_add(jiff::Span::new().days(i64::from(good) + 1));
            PricePoint {
                quote: *id,
                day: quote.day,
                until: *until,
                stale_from: Some(stale_from).filter(|from| *from <= day && until.is_none_or(|until| *from < until)),
                rate: quote.rate,
                shown: converted(&quote.rate, per),
                age_days: days_between(quote.day, day),
                breaks: quote.breaks.clone(),
                minimum: quote.minimum,
                deduction: quote.deduction,
            }
        };
        let given = days.values().flatten().filter(|(_, quote)| of(&quote.rate)).count();
        Some(PriceSeries {
            grade: books.grades.get(&grade).map(|named| named.name.clone()).unwrap_or_default(),
            buyer: books.buyers.get(&buyer).map(|named| named.name.clone()).unwrap_or_default(),
            currency,
            per,
            replaced: given.saturating_sub(mine.len()),
            points: mine.iter().map(point).collect(),
        })
    };
    [false, true].into_iter().filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::books::Named;
    use crate::measure::Notation;
    use jiff::civil::date;
    use proptest::prelude::*;

    fn books(given: &[(Date, String, bool)]) -> Books {
        let mut books = Books::default();
        let named = |name: &str| Named { name: name.into(), retired: false, changed: 1 };
        books.grades.insert(GradeId(1), named("copper"));
        books.buyers.insert(BuyerId(2), named("Quayside"));
        for (at, (day, rate, withdrawn)) in given.iter().enumerate() {
            let quote = Quote {
                buyer: BuyerId(2),
                grade: GradeId(1),
                rate: Notation::parse(rate).unwrap().rate(Currency::parse("EUR").unwrap()),
                day: *day,
                stale_after: Some(10),
                breaks: Vec::new(),
                minimum: None,
                deduction: None,
                withdrawn: *withdrawn,
            };
            books.quotes.insert(QuoteId(10 + at as u64), quote);
        }
        books
    }

    fn question(day: Date, unit: Option<PriceUnit>) -> PricesQuestion {
        PricesQuestion { today: day, as_of: Some(day), stale_after: 30, grade: None, buyer: None, unit }
    }

    fn march(day: i8, rate: &str) -> (Date, String, bool) {
        (date(2026, 3, day), rate.to_owned(), false)
    }

    #[test]
    fn each_holds_until_the_next_and_goes_stale_in_between() {
        let mut given =
            vec![march(1, "4.00/lb"), march(5, "9.25/kg"), march(5, "4.20/lb"), march(25, "0.35/piece"), march(30, "5/lb")];
        given[1].2 = true;
        let books = books(&given);
        let history = price_history(&books, &question(date(2026, 3, 26), None));
        assert_eq!((history.series.len(), history.withdrawn, history.to_come), (2, 1, 1));
        let weight = &history.series[0];
        let days: Vec<_> = weight.points.iter().map(|point| (point.day, point.until, point.stale_from)).collect();
        let third = |day| date(2026, 3, day);
        assert_eq!(days, [(third(1), Some(third(5)), None), (third(5), Some(third(25)), Some(third(16)))]);
        assert_eq!((history.series[1].per, history.series[1].points[0].until), (Per::Piece, None));
        // As of an earlier day the later ones are not there, and what has come to be stale since is not.
        let early = price_history(&books, &question(third(15), None));
        assert_eq!(early.series.len(), 1);
        assert_eq!(early.series[0].points[1].until, None);
        assert_eq!(early.series[0].points[1].stale_from, None);
    }

    #[test]
    fn a_series_has_the_unit_of_its_last_quote_and_says_what_it_rounded() {
        let books = books(&[march(1, "9.25/kg"), march(2, "310/gross ton"), march(3, "4.00/lb")]);
        let shown = |unit| {
            let history = price_history(&books, &question(date(2026, 3, 4), unit));
            let of = |point: &PricePoint| point.shown.map(|shown| (shown.amount.to_string(), shown.exact)).unwrap();
            history.series[0].points.iter().map(of).collect::<Vec<_>>()
        };
        let text = |pairs: [(&str, bool); 3]| pairs.map(|(text, exact)| (text.to_owned(), exact)).to_vec();
        assert_eq!(shown(None), text([("4.195729", false), ("0.138393", false), ("4.00", true)]));
        // 310 a long ton is 310 / 1.12 a short one: exact figures of check against NIST Handbook 44, Appendix C.
        assert_eq!(shown(Some(PriceUnit::ShortTon)), text([("8391.458845", true), ("276.785714", false), ("8000", true)]));
    }

    proptest! {
        /// The unit of a quote changes what is shown by no more than its rounding: the price of one mass is the same.
        #[test]
        fn the_unit_changes_no_price(cents in 1_i64..100_000, quarters in 1_i64..40) {
            // 2.5 kg a unit: exact both ways.
            let kilogram = Decimal::new(cents, 2);
            let tonne = kilogram * Decimal::from(1000);
            let unit = |rate: String| {
                let books = books(&[march(1, &rate), march(1 + (quarters % 20) as i8, &rate)]);
                let history = price_history(&books, &question(date(2026, 3, 28), Some(PriceUnit::Pound)));
                history.series[0].points.iter().map(|point| (point.day, point.shown)).collect::<Vec<_>>()
            };
            prop_assert_eq!(unit(format!("{kilogram}/kg")), unit(format!("{tonne}/tonne")));
        }
    }
}

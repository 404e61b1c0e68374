//! What each buyer pays for each grade now, and what is told of grades and buyers beside their names.

use super::days_between;
use crate::economy::quotes::{InForce, Terms, in_force};
use crate::facts::books::Quote;
use crate::facts::{Books, Break, BuyerId, GradeId, Payout, QuoteId};
use crate::measure::{Currency, Mass, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// What is asked of the prices of a day.
#[derive(Debug, Clone, Copy)]
pub struct GridQuestion {
    pub day: Date,
    /// In which a grade without a quote would be quoted.
    pub currency: Currency,
    /// Days after which a quote is called stale unless it says otherwise itself.
    pub stale_after: u16,
}

/// The prices of one buyer.
#[derive(Debug, Clone, PartialEq)]
pub struct BuyerPrices {
    pub buyer: BuyerId,
    pub name: String,
    /// A line for each grade in use, by name; a grade with quotes in two currencies has two.
    pub lines: Vec<GridLine>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct GridLine {
    pub grade: GradeId,
    pub name: String,
    /// The buyer's own words for it.
    pub words: Vec<String>,
    pub currency: Currency,
    pub held: Option<Held>,
}

/// The quote that is in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    pub quote: QuoteId,
    pub rate: Rate,
    pub day: Date,
    pub age_days: i64,
    pub stale: bool,
    pub stale_after: Option<u16>,
    pub breaks: Vec<Break>,
    pub minimum: Option<Mass>,
    pub deduction: Option<Decimal>,
}

/// Every buyer in use, by name.
pub fn price_grid(books: &Books, question: &GridQuestion) -> Vec<BuyerPrices> {
    let held = in_force(books.quotes.iter().map(|(id, quote)| (*id, quote)), question.day);
    let mut grades: Vec<(GradeId, &str)> =
        books.grades.iter().filter(|(_, grade)| !grade.retired).map(|(id, grade)| (*id, grade.name.as_str())).collect();
    grades.sort_by_key(|(_, name)| name.to_lowercase());
    let of = |(id, buyer): (&BuyerId, &crate::facts::books::Named)| BuyerPrices {
        buyer: *id,
        name: buyer.name.clone(),
        lines: grades.iter().flat_map(|(grade, name)| lines(books, question, &held, *id, *grade, name)).collect(),
    };
    let mut buyers: Vec<BuyerPrices> = books.buyers.iter().filter(|(_, buyer)| !buyer.retired).map(of).collect();
    buyers.sort_by_key(|buyer| buyer.name.to_lowercase());
    buyers
}

fn lines(books: &Books, question: &GridQuestion, held: &InForce, buyer: BuyerId, grade: GradeId, name: &str) -> Vec<GridLine> {
    let line = |currency, held| GridLine {
        grade,
        name: name.to_owned(),
        words: words_for(books, grade).into_iter().filter(|(of, _)| *of == buyer).map(|(_, word)| word).collect(),
        currency,
        held,
    };
    let mine = held.iter().filter(|((of, by, _), _)| *of == grade && *by == buyer);
    let quoted: Vec<GridLine> =
        mine.map(|((_, _, currency), (id, quote))| line(*currency, Some(standing(question, *id, quote)))).collect();
    if quoted.is_empty() { vec![line(question.currency, None)] } else { quoted }
}

fn standing(question: &GridQuestion, id: QuoteId, quote: &Quote) -> Held {
    Held {
        quote: id,
        rate: quote.rate,
        day: quote.day,
        age_days: days_between(quote.day, question.day),
        stale: Terms::from(quote).is_stale(question.day, question.stale_after),
        stale_after: quote.stale_after,
        breaks: quote.breaks.clone(),
        minimum: quote.minimum,
        deduction: quote.deduction,
    }
}

/// The words of every buyer for a grade.
fn words_for(books: &Books, grade: GradeId) -> Vec<(BuyerId, String)> {
    books.words.iter().filter(|(_, word)| word.grade == grade).map(|((buyer, _), word)| (*buyer, word.text.clone())).collect()
}

/// What is told of a grade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GradeLine {
    pub grade: GradeId,
    pub name: String,
    pub retired: bool,
    pub fallback: Option<String>,
    pub specification: Option<String>,
    /// Buyers' words for it: the buyer's name, and the word.
    pub words: Vec<(String, String)>,
    /// What an edit of fallback and specification is checked against; nothing where nothing was told yet.
    pub version: u64,
}

/// Every grade, by name; retired ones come last.
pub fn grade_lines(books: &Books) -> Vec<GradeLine> {
    let name = |grade: GradeId| books.grades.get(&grade).map(|named| named.name.clone());
    let line = |(id, named): (&GradeId, &crate::facts::books::Named)| {
        let note = books.grade_notes.get(id).cloned().unwrap_or_default();
        let by = |buyer: BuyerId| books.buyers.get(&buyer).map(|buyer| buyer.name.clone()).unwrap_or_default();
        GradeLine {
            grade: *id,
            name: named.name.clone(),
            retired: named.retired,
            fallback: note.fallback.and_then(name),
            specification: note.specification,
            words: words_for(books, *id).into_iter().map(|(buyer, word)| (by(buyer), word)).collect(),
            version: note.changed,
        }
    };
    let mut lines: Vec<GradeLine> = books.grades.iter().map(line).collect();
    lines.sort_by_key(|line| (line.retired, line.name.to_lowercase()));
    lines
}

/// What is told of a buyer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuyerLine {
    pub buyer: BuyerId,
    pub name: String,
    pub retired: bool,
    pub payout: Payout,
    pub version: u64,
}

/// Every buyer, by name; retired ones come last.
pub fn buyer_lines(books: &Books) -> Vec<BuyerLine> {
    let line = |(id, named): (&BuyerId, &crate::facts::books::Named)| {
        let note = books.buyer_notes.get(id).copied().unwrap_or_default();
        let (name, retired) = (named.name.clone(), named.retired);
        BuyerLine { buyer: *id, name, retired, payout: note.payout, version: note.changed }
    };
    let mut lines: Vec<BuyerLine> = books.buyers.iter().map(line).collect();
    lines.sort_by_key(|line| (line.retired, line.name.to_lowercase()));
    lines
}

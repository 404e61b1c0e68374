//! What goes on board for a drive: stop by stop what to ask for, and in which order it is loaded.

use crate::economy::quotes::{Brought, Offer, Terms, Total, in_force, total};
use crate::facts::books::{Bin, Fill, Quote};
use crate::facts::{BinId, Books, BuyerId, GradeId};
use crate::measure::{Currency, Mass, Per, PriceUnit, Rate, Unit};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// What is asked: which bins go to whom, in the order of driving. A bin stands in it once.
#[derive(Debug, Clone)]
pub struct SheetQuestion {
    /// The day of the drive: its quotes hold.
    pub day: Date,
    pub stale_after: u16,
    /// Taken before any other where a buyer has quotes in two.
    pub currency: Currency,
    pub stops: Vec<(BuyerId, Vec<BinId>)>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct LoadSheet {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    /// In the order of driving.
    pub stops: Vec<SheetStop>,
    /// The last stop goes in first, and of one stop the heaviest bin.
    pub loading: Vec<Boarding>,
    pub mass: Mass,
    /// Bins and all; none where the weight of any empty bin is not known.
    pub gross: Option<Mass>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SheetStop {
    pub buyer: String,
    /// A line a grade, in the order in which they were named.
    pub lines: Vec<SheetLine>,
    /// In the currency of its first line with a price; none where no line has one.
    pub total: Option<Total>,
}

/// All of one grade that goes to one buyer.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLine {
    /// None where nobody has said what it is.
    pub grade: Option<String>,
    /// What this buyer calls it.
    pub words: Vec<String>,
    pub bins: Vec<SheetBin>,
    pub mass: Mass,
    /// In which this buyer weighs, by what the price is per.
    pub unit: Unit,
    /// None without a quote.
    pub offer: Option<Offer>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SheetBin {
    pub bin: BinId,
    pub number: u32,
    pub name: Option<String>,
    pub mass: Mass,
    /// With its container; none where nobody knows what that weighs.
    pub gross: Option<Mass>,
}

/// A bin on its way into the bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Boarding {
    pub number: u32,
    pub gross: Option<Mass>,
    /// From 1.
    pub stop: usize,
    /// The unit of the line that it belongs to.
    pub unit: Unit,
}

pub fn load_sheet(books: &Books, question: &SheetQuestion) -> LoadSheet {
    let held = in_force(books.quotes.iter().map(|(id, quote)| (*id, quote)), question.day);
    let quote = |grade: GradeId, buyer: BuyerId| {
        let of = held.iter().filter(|((of, by, _), _)| (*of, *by) == (grade, buyer));
        let usual_first = of.min_by_key(|((_, _, currency), _)| (*currency != question.currency, *currency));
        usual_first.map(|(_, (_, quote))| *quote)
    };
    let usual_unit = |buyer: BuyerId| {
        let rates = held.iter().filter(|((_, by, _), _)| *by == buyer).map(|(_, (_, quote))| quote.rate);
        rates.filter_map(|rate| weighed_in(&rate)).next().unwrap_or(Unit::Kilogram)
    };
    let stops: Vec<SheetStop> = question
        .stops
        .iter()
        .map(|(buyer, bins)| {
            let lines = by_grade(books, bins).into_iter().map(|(grade, bins)| {
                let known = grade.and_then(|grade| quote(grade, *buyer));
                let unit = known.and_then(|quote| weighed_in(&quote.rate)).unwrap_or_else(|| usual_unit(*buyer));
                line(books, question, (*buyer, grade), &bins, known, unit)
            });
            let lines: Vec<SheetLine> = lines.collect();
            let buyer = books.buyers.get(buyer).map(|buyer| buyer.name.clone()).unwrap_or_default();
            SheetStop { buyer, total: worth(&lines), lines }
        })
        .collect();
    let all = || stops.iter().flat_map(|stop| &stop.lines).flat_map(|line| &line.bins);
    LoadSheet {
        seq: books.seq,
        day: question.day,
        loading: loading(&stops),
        mass: all().map(|bin| bin.mass).sum(),
        gross: all().map(|bin| bin.gross).sum(),
        stops,
    }
}

/// Bins with their fills by grade, in the order in which the grades come first.
type OfGrade<'a> = Vec<(Option<GradeId>, Vec<(BinId, &'a Bin, &'a Fill)>)>;

fn by_grade<'a>(books: &'a Books, bins: &[BinId]) -> OfGrade<'a> {
    let mut grades: OfGrade<'a> = Vec::new();
    for id in bins {
        let Some(bin) = books.bins.get(id) else { continue };
        let Some(fill) = books.fills.get(&bin.fill) else { continue };
        match grades.iter_mut().find(|(grade, _)| *grade == fill.grade) {
            Some((_, known)) => known.push((*id, bin, fill)),
            None => grades.push((fill.grade, vec![(*id, bin, fill)])),
        }
    }
    grades
}

fn line(
    books: &Books,
    question: &SheetQuestion,
    (buyer, grade): (BuyerId, Option<GradeId>),
    bins: &[(BinId, &Bin, &Fill)],
    quote: Option<&Quote>,
    unit: Unit,
) -> SheetLine {
    let mass: Mass = bins.iter().map(|(_, _, fill)| fill.mass).sum();
    // A count of another mass is not a count of what lies there.
    let count = |fill: &Fill| fill.counts.last().filter(|count| count.mass == fill.mass).map(|count| count.pieces);
    let pieces = bins.iter().try_fold(0_u32, |sum, (_, _, fill)| sum.checked_add(count(fill)?));
    let words: BTreeMap<&String, &String> = books
        .words
        .iter()
        .filter(|((of, _), word)| *of == buyer && Some(word.grade) == grade)
        .map(|((_, plain), word)| (plain, &word.text))
        .collect();
    SheetLine {
        grade: grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
        words: words.into_values().cloned().collect(),
        bins: bins
            .iter()
            .map(|(id, bin, fill)| SheetBin {
                bin: *id,
                number: bin.number,
                name: bin.name.clone(),
                mass: fill.mass,
                gross: gross(bin, fill),
            })
            .collect(),
        mass,
        unit,
        offer: quote.map(|quote| Terms::from(quote).offer(Brought { mass, pieces }, question.day, question.stale_after)),
    }
}

fn worth(lines: &[SheetLine]) -> Option<Total> {
    let currency = lines.iter().find_map(|line| line.offer)?.rate.currency();
    let line = |line: &SheetLine| {
        let offer = line.offer.as_ref();
        (line.mass, offer.and_then(|offer| offer.worth.money()), offer.is_some_and(|offer| offer.stale))
    };
    Some(total(currency, lines.iter().map(line)))
}

/// What a bin weighs with all that is in it: its empty weight and the content, else what the scale last showed of it.
pub fn gross(bin: &Bin, fill: &Fill) -> Option<Mass> {
    bin.tare.map(|tare| tare + fill.mass).or_else(|| bin.last_gross.filter(|gross| *gross >= fill.mass))
}

fn loading(stops: &[SheetStop]) -> Vec<Boarding> {
    let mut order = Vec::new();
    for (at, stop) in stops.iter().enumerate().rev() {
        let bins = stop.lines.iter().flat_map(|line| line.bins.iter().map(|bin| (bin, line.unit)));
        let mut bins: Vec<(&SheetBin, Unit)> = bins.collect();
        bins.sort_by_key(|(bin, _)| (std::cmp::Reverse(bin.gross.unwrap_or(bin.mass)), bin.number));
        order.extend(bins.into_iter().map(|(bin, unit)| Boarding { number: bin.number, gross: bin.gross, stop: at + 1, unit }));
    }
    order
}

/// The unit in which who pays per this unit weighs; none for what is paid by the piece.
fn weighed_in(rate: &Rate) -> Option<Unit> {
    let Per::Weight(unit) = rate.per() else { return None };
    Some(match unit {
        PriceUnit::Gram => Unit::Gram,
        PriceUnit::Kilogram | PriceUnit::Tonne => Unit::Kilogram,
        PriceUnit::Ounce => Unit::Ounce,
        PriceUnit::TroyOunce => Unit::TroyOunce,
        PriceUnit::Pound
        | PriceUnit::ShortHundredweight
        | PriceUnit::LongHundredweight
        | PriceUnit::ShortTon
        | PriceUnit::LongTon => Unit::Pound,
    })
}

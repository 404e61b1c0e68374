//! A table of quotes as text (CSV, RFC 4180), read whole before anything of it is kept: every fault by line and column.

use super::prices::{self, QUOTES_MAX};
use super::{NameRef, Quoting, Refusal};
use crate::facts::books::plain_word;
use crate::facts::{Books, Break, BuyerId, GradeId};
use crate::measure::{BadPrice, BadWritten, Currency, Notation, Price, Written};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// The columns of the table. The first three must be there; an empty cell of another says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Column {
    Buyer,
    /// A grade by its name, or by the buyer's own word for it.
    Grade,
    Price,
    Currency,
    Day,
    StaleAfter,
    Breaks,
    Minimum,
    Deduction,
}

impl Column {
    pub const ALL: [Column; 9] = [
        Column::Buyer,
        Column::Grade,
        Column::Price,
        Column::Currency,
        Column::Day,
        Column::StaleAfter,
        Column::Breaks,
        Column::Minimum,
        Column::Deduction,
    ];
    const NEEDED: [Column; 3] = [Column::Buyer, Column::Grade, Column::Price];

    /// As it stands in the head of the table.
    pub const fn name(self) -> &'static str {
        match self {
            Column::Buyer => "buyer",
            Column::Grade => "grade",
            Column::Price => "price",
            Column::Currency => "currency",
            Column::Day => "day",
            Column::StaleAfter => "stale_after_days",
            Column::Breaks => "breaks",
            Column::Minimum => "minimum",
            Column::Deduction => "deduction_percent",
        }
    }
}

/// What a table says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    pub rows: Vec<TableRow>,
    /// By line, and in a line by column.
    pub faults: Vec<TableFault>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct TableRow {
    /// Of the text, from 1.
    pub line: u64,
    pub quoting: Quoting,
    /// The buyer's own word by which the grade was named.
    pub word: Option<String>,
    /// Just this stands in the books already.
    pub already: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct TableFault {
    pub line: u64,
    /// None where the line as a whole is wrong.
    pub column: Option<Column>,
    pub what: BadCell,
}

#[derive(Debug, Clone, PartialEq)]
pub enum BadCell {
    /// There is no head, or nothing below it.
    NoRows,
    MissingColumn,
    UnknownColumn(String),
    ColumnTwice,
    /// The line has another number of cells than the head.
    Cells {
        wanted: u64,
        found: u64,
    },
    /// It is no CSV in UTF-8.
    Unreadable,
    TooLong {
        most: usize,
    },
    Empty,
    Price(BadPrice),
    Currency(String),
    /// The price names another currency than its column does.
    TwoCurrencies {
        price: Currency,
        column: Currency,
    },
    Day(String),
    Days(String),
    Percent(String),
    Weight(String, BadWritten),
    Break(BadBreak),
    /// The same buyer, grade, currency and day stand in an earlier line.
    Twice {
        line: u64,
    },
    Refused(Refusal),
}

/// Why a text is no list of steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BadBreak {
    Shape(String),
    Weight(String, BadWritten),
    Amount(BadPrice),
}

/// Reads `100kg=4.20; 500kg=4.50`: another amount from a quantity on. Nothing is no step.
pub fn breaks(text: &str) -> Result<Vec<Break>, BadBreak> {
    let one = |part: &str| {
        let (from, amount) = part.split_once('=').ok_or_else(|| BadBreak::Shape(part.trim().to_owned()))?;
        let from = Written::parse(from).map_err(|fault| BadBreak::Weight(from.trim().to_owned(), fault))?.mass;
        Ok(Break { from, amount: Price::signed(amount.trim()).map_err(BadBreak::Amount)? })
    };
    text.split(';').filter(|part| !part.trim().is_empty()).map(one).collect()
}

/// Steps as [`breaks`] reads them.
pub fn written_breaks(steps: &[Break]) -> String {
    let one = |step: &Break| format!("{}={}", Written::shortest(step.from), step.amount);
    steps.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// Reads a table over the books. A price without a currency is in `usual`, a line without a day holds from `today`.
pub fn read(books: &Books, text: &str, usual: Currency, today: Date) -> Table {
    let mut table = Table::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let mut records = reader.records();
    let Some(Ok(head)) = records.next() else {
        table.faults.push(TableFault { line: 1, column: None, what: BadCell::NoRows });
        return table;
    };
    let columns = columns(&head, &mut table);
    if !table.faults.is_empty() {
        return table;
    }
    let mut seen: BTreeMap<(GradeId, BuyerId, Currency, Date), u64> = BTreeMap::new();
    let mut count = 0;
    for record in records {
        count += 1;
        let line = |record: &csv::StringRecord| record.position().map_or(0, csv::Position::line);
        let Ok(record) = record else {
            table.faults.push(TableFault { line: count + 1, column: None, what: BadCell::Unreadable });
            break;
        };
        let line = line(&record);
        if count > QUOTES_MAX as u64 {
            table.faults.push(TableFault { line, column: None, what: BadCell::TooLong { most: QUOTES_MAX } });
            break;
        }
        if record.len() != head.len() {
            let (wanted, found) = (head.len() as u64, record.len() as u64);
            table.faults.push(TableFault { line, column: None, what: BadCell::Cells { wanted, found } });
            continue;
        }
        let cells = Cells { record: &record, columns: &columns, line, faults: Vec::new() };
        match row(books, cells, usual, today) {
            Ok((row, key)) => match seen.insert(key, line) {
                None => table.rows.push(row),
                Some(first) => {
                    seen.insert(key, first);
                    table.faults.push(TableFault { line, column: None, what: BadCell::Twice { line: first } });
                }
            },
            Err(mut faults) => {
                faults.sort_by_key(|fault| fault.column);
                table.faults.append(&mut faults);
            }
        }
    }
    if count == 0 {
        table.faults.push(TableFault { line: 1, column: None, what: BadCell::NoRows });
    }
    table
}

fn columns(head: &csv::StringRecord, table: &mut Table) -> BTreeMap<Column, usize> {
    let mut columns = BTreeMap::new();
    let mut fault = |column, what| table.faults.push(TableFault { line: 1, column, what });
    for (at, name) in head.iter().enumerate() {
        match Column::ALL.into_iter().find(|column| column.name() == plain_word(name)) {
            None => fault(None, BadCell::UnknownColumn(name.to_owned())),
            Some(column) => {
                if columns.insert(column, at).is_some() {
                    fault(Some(column), BadCell::ColumnTwice);
                }
            }
        }
    }
    for column in Column::NEEDED {
        if !columns.contains_key(&column) {
            fault(Some(column), BadCell::MissingColumn);
        }
    }
    columns
}

/// The cells of one line, and what was found wrong in them.
struct Cells<'a> {
    record: &'a csv::StringRecord,
    columns: &'a BTreeMap<Column, usize>,
    line: u64,
    faults: Vec<TableFault>,
}

impl<'a> Cells<'a> {
    /// None where the cell is empty, or the column is not there.
    fn text(&self, column: Column) -> Option<&'a str> {
        self.record.get(*self.columns.get(&column)?).filter(|text| !text.is_empty())
    }

    fn fault(&mut self, column: Column, what: BadCell) {
        self.faults.push(TableFault { line: self.line, column: Some(column), what });
    }

    fn needed(&mut self, column: Column) -> Option<&'a str> {
        let text = self.text(column);
        if text.is_none() {
            self.fault(column, BadCell::Empty);
        }
        text
    }

    /// What the cell says; none where it is empty, and where it was wrong, which is noted.
    fn read<T>(&mut self, column: Column, parse: impl FnOnce(&str) -> Result<T, BadCell>) -> Option<T> {
        match parse(self.text(column)?) {
            Ok(value) => Some(value),
            Err(what) => {
                self.fault(column, what);
                None
            }
        }
    }
}

type Key = (GradeId, BuyerId, Currency, Date);

fn row(books: &Books, mut cells: Cells, usual: Currency, today: Date) -> Result<(TableRow, Key), Vec<TableFault>> {
    let buyer = cells.needed(Column::Buyer).and_then(|name| {
        let found = super::decide::find_name(&books.buyers, super::NamedKind::Buyer, &NameRef(name.to_owned()));
        found.map_err(|refusal| cells.fault(Column::Buyer, BadCell::Refused(refusal))).ok()
    });
    let grade = cells.needed(Column::Grade).zip(buyer).and_then(|(name, buyer)| {
        // The buyer's own word goes first: it is told of just this buyer.
        let in_use = |grade: &GradeId| books.grades.get(grade).is_some_and(|grade| !grade.retired);
        if let Some(grade) = books.meant_by(buyer, name).filter(in_use) {
            return Some((grade, Some(name.to_owned())));
        }
        let found = super::decide::find_name(&books.grades, super::NamedKind::Grade, &NameRef(name.to_owned()));
        found.map(|grade| (grade, None)).map_err(|refusal| cells.fault(Column::Grade, BadCell::Refused(refusal))).ok()
    });
    let currency = cells.read(Column::Currency, |text| Currency::parse(text).ok_or_else(|| BadCell::Currency(text.to_owned())));
    let typed =
        cells.needed(Column::Price).and_then(|_| cells.read(Column::Price, |text| Notation::parse(text).map_err(BadCell::Price)));
    if let Some((price, column)) = typed.and_then(|typed| typed.currency).zip(currency).filter(|(price, column)| price != column)
    {
        cells.fault(Column::Currency, BadCell::TwoCurrencies { price, column });
    }
    let day = cells.read(Column::Day, |text| text.parse::<Date>().map_err(|_| BadCell::Day(text.to_owned())));
    let stale_after = cells.read(Column::StaleAfter, |text| text.parse::<u16>().map_err(|_| BadCell::Days(text.to_owned())));
    let steps = cells.read(Column::Breaks, |text| breaks(text).map_err(BadCell::Break)).unwrap_or_default();
    let minimum = cells.read(Column::Minimum, |text| {
        let written = Written::parse(text).map_err(|fault| BadCell::Weight(text.to_owned(), fault))?;
        super::decide::positive(written.mass).map_err(BadCell::Refused)?;
        Ok(written.mass)
    });
    let deduction = cells.read(Column::Deduction, |text| {
        let percent = Price::amount(text).map_err(|_| BadCell::Percent(text.to_owned()))?;
        if percent > Decimal::ONE_HUNDRED { Err(BadCell::Refused(Refusal::DeductionOutOfRange)) } else { Ok(percent) }
    });
    let (Some(buyer), Some((grade, word)), Some(typed), true) = (buyer, grade, typed, cells.faults.is_empty()) else {
        return Err(cells.faults);
    };
    let named = |named: Option<&crate::facts::books::Named>| NameRef(named.map(|named| named.name.clone()).unwrap_or_default());
    let rate = typed.rate(currency.unwrap_or(usual));
    let quoting = Quoting {
        buyer: named(books.buyers.get(&buyer)),
        grade: named(books.grades.get(&grade)),
        rate,
        day: day.unwrap_or(today),
        stale_after,
        breaks: steps,
        minimum,
        deduction,
    };
    if let Err(refusal) = prices::quote(books, &quoting) {
        cells.fault(place_of(&refusal), BadCell::Refused(refusal));
        return Err(cells.faults);
    }
    let already = prices::stands(books, &quoting);
    let key = (grade, buyer, rate.currency(), quoting.day);
    Ok((TableRow { line: cells.line, quoting, word, already }, key))
}

/// The column that a refusal of a whole quote is about.
fn place_of(refusal: &Refusal) -> Column {
    use super::PriceRefusal;
    match refusal {
        Refusal::BreaksOutOfOrder | Refusal::Prices(PriceRefusal::BreakAtNothing) => Column::Breaks,
        Refusal::DeductionOutOfRange | Refusal::Prices(PriceRefusal::DeductionOnPieces) => Column::Deduction,
        Refusal::NotPositive { .. } => Column::Minimum,
        _ => Column::Price,
    }
}

//! What a kilogram of two grades brings at one buyer on one day: both sides of a comparison from the same.

use crate::economy::place::PerKilogram;
use crate::economy::quotes::{InForce, Terms, in_force};
use crate::facts::books::Quote;
use crate::facts::{Books, BuyerId, GradeId};
use crate::measure::{Currency, Mass, PriceUnit};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// The quotes in force on a day, in one currency.
pub struct Market<'a> {
    books: &'a Books,
    held: InForce<'a>,
    pub currency: Currency,
    pub day: Date,
    stale_after: u16,
    /// The prices of this buyer alone.
    only: Option<BuyerId>,
}

impl<'a> Market<'a> {
    /// In the usual currency where any quote is in it, else in the first by its letters.
    pub fn of(books: &'a Books, day: Date, usual: Currency, stale_after: u16, only: Option<BuyerId>) -> Market<'a> {
        let in_use = |quote: &Quote| books.buyers.get(&quote.buyer).is_some_and(|buyer| !buyer.retired);
        let held = in_force(books.quotes.iter().filter(|(_, quote)| in_use(quote)).map(|(id, quote)| (*id, quote)), day);
        let known = held.keys().any(|(_, _, currency)| *currency == usual);
        let first = held.keys().map(|(_, _, currency)| *currency).min();
        let currency = if known { usual } else { first.unwrap_or(usual) };
        Market { books, held, currency, day, stale_after, only }
    }

    /// Every buyer who has any quote in this currency.
    pub fn buyers(&self) -> BTreeSet<BuyerId> {
        let ours = self
            .held
            .keys()
            .filter(|(_, buyer, currency)| *currency == self.currency && self.only.is_none_or(|only| only == *buyer));
        ours.map(|(_, buyer, _)| *buyer).collect()
    }

    fn quote(&self, grade: GradeId, buyer: BuyerId) -> Option<&'a Quote> {
        let wanted = self.only.is_none_or(|only| only == buyer);
        self.held.get(&(grade, buyer, self.currency)).filter(|_| wanted).map(|(_, quote)| *quote)
    }

    /// A kilogram where one trip brings so much, after minimum lots, quantity breaks and deductions.
    pub fn on_a_trip(&self, grade: GradeId, buyer: BuyerId, trip: Mass) -> Option<PerKilogram> {
        PerKilogram::at(&Terms::from(self.quote(grade, buyer)?), buyer, trip)
    }

    /// A kilogram at the first price, whatever is brought.
    pub fn first_price(&self, grade: GradeId, buyer: BuyerId) -> Option<PerKilogram> {
        let terms = Terms { breaks: Vec::new(), minimum: None, ..Terms::from(self.quote(grade, buyer)?) };
        PerKilogram::at(&terms, buyer, PriceUnit::Kilogram.mass())
    }

    /// The quote behind a price is stale.
    pub fn is_stale(&self, grade: GradeId, buyer: BuyerId) -> bool {
        self.quote(grade, buyer).is_some_and(|quote| Terms::from(quote).is_stale(self.day, self.stale_after))
    }

    pub const fn books(&self) -> &'a Books {
        self.books
    }

    pub fn buyer_name(&self, buyer: BuyerId) -> String {
        self.books.buyers.get(&buyer).map(|buyer| buyer.name.clone()).unwrap_or_default()
    }
}

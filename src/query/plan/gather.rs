//! The books as a problem of the haul, with what is not in it and why.

use super::PlanQuestion;
use super::home::{HomeBin, HomeWhy};
use super::missing::{Beyond, BeyondBuyer, Missing};
use crate::economy::quotes::{InForce, Terms, in_force};
use crate::facts::books::Quote;
use crate::facts::{Books, BuyerId, GradeId, Hold, QuoteId, Way};
use crate::haul::buyers::ExpectedPrice;
use crate::haul::plan::{Item, PLACES_MAX, Place, Problem, Reach, Vehicle};
use crate::measure::{Currency, Mass, Money, Price, Rate, Rounding};
use crate::query::{TicketQuestion, buyers};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Days within which somebody who is open is looked for.
const DAYS_AHEAD: i64 = 14;

/// Decimals of a price that is expected.
const EXPECTED_PLACES: u32 = 4;

/// A bin beside its item.
pub(super) struct Standing {
    pub number: u32,
    pub name: Option<String>,
    pub capacity: Option<Mass>,
    /// The empty weight is known.
    pub weighed: bool,
}

/// The problem with the names of what is in it.
pub(super) struct Gathered<'a> {
    pub books: &'a Books,
    pub problem: Problem,
    pub day: Date,
    pub stale_after: u16,
    pub floor: Option<Decimal>,
    /// By place.
    pub buyers: Vec<BuyerId>,
    /// By item.
    pub bins: Vec<Standing>,
    /// Bins of a known grade with nothing in them.
    pub empty: Vec<(Item, Standing)>,
    pub quotes: BTreeMap<(GradeId, usize), (QuoteId, &'a Quote)>,
    pub expected: BTreeMap<(GradeId, usize), ExpectedPrice>,
    pub in_force: InForce<'a>,
    /// Bins that are no item.
    pub out: Vec<HomeBin>,
    pub beyond: Vec<BeyondBuyer>,
    pub missing: Vec<Missing>,
}

pub(super) fn gather<'a>(books: &'a Books, question: &PlanQuestion) -> Gathered<'a> {
    let currency = currency(books, question);
    let (full, empty, out) = bins(books);
    let grades: BTreeSet<GradeId> = full.iter().map(|(item, _)| item.grade).collect();
    let day = question.day.unwrap_or_else(|| next_open(books, question, currency, &grades));
    let held = quotes_on(books, day);
    let by_weight = |(grade, _, in_what): &(GradeId, BuyerId, Currency), quote: &Quote| {
        *in_what == currency && grades.contains(grade) && matches!(quote.rate, Rate::Weight(_))
    };
    let sells = |buyer: BuyerId| held.iter().any(|(key, (_, quote))| key.1 == buyer && by_weight(key, quote));
    let (buyers, beyond) = buyers_of(books, day, sells);
    let mut missing = untold(books, currency, &full, &buyers);
    if question.floor.is_none() && amount(books.limits.floor, currency).is_none() {
        missing.push(Missing::Floor { told: books.limits.floor });
    }
    let mut quotes = BTreeMap::new();
    for ((grade, buyer, in_what), (id, quote)) in &held {
        let Some(place) = buyers.iter().position(|known| known == buyer) else { continue };
        if *in_what == currency && matches!(quote.rate, Rate::Weight(_)) {
            quotes.insert((*grade, place), (*id, *quote));
        }
        if grades.contains(grade) {
            missing.extend(unusual(books, question, day, currency, quote));
        }
    }
    let expected = expected(books, question, currency, &buyers, &quotes);
    let (items, standing): (Vec<Item>, Vec<Standing>) = full.into_iter().unzip();
    let holds = holds(books, &items, day, currency, &mut missing);
    let floor = question.floor.or(amount(books.limits.floor, currency));
    let problem = Problem {
        currency,
        items,
        places: buyers.iter().filter_map(|buyer| place(books, *buyer, day)).collect(),
        between: between(books, &buyers),
        offers: offers(&quotes, &expected, question.by_expected),
        holds,
        vehicle: vehicle(books, currency),
        floor: floor.unwrap_or_default(),
    };
    let stale_after = question.stale_after;
    let bins = standing;
    let in_force = held;
    Gathered { books, problem, day, stale_after, floor, buyers, bins, empty, quotes, expected, in_force, out, beyond, missing }
}

/// What was not told of the vehicle, the bins and the yards, as far as it matters here.
fn untold(books: &Books, currency: Currency, full: &Bins, buyers: &[BuyerId]) -> Vec<Missing> {
    let vehicle = books.vehicle;
    let without = |lacks: &dyn Fn(&(Item, Standing)) -> bool| {
        full.iter().filter(|bin| lacks(bin)).map(|(_, bin)| bin.number).collect::<Vec<u32>>()
    };
    let litres = without(&|(item, _)| vehicle.litres.is_some() && item.litres.is_none());
    let tare = without(&|(_, bin)| vehicle.payload.is_some() && !bin.weighed);
    let running = vehicle.running.map(|running| running.money);
    let always = [
        (vehicle.payload.is_none(), Missing::Payload),
        (vehicle.litres.is_none(), Missing::Room),
        (amount(running, currency).is_none(), Missing::Running { told: running }),
        (!litres.is_empty(), Missing::Litres { bins: litres }),
        (!tare.is_empty(), Missing::EmptyWeight { bins: tare }),
    ];
    let days = buyers.iter().filter(|buyer| books.yard(**buyer).is_some_and(|yard| yard.open.is_none()));
    let days = days.map(|buyer| Missing::OpenDays { buyer: name(books, *buyer) });
    always.into_iter().filter(|(is, _)| *is).map(|(_, what)| what).chain(days).collect()
}

/// A quote that is in no plan, or is old.
fn unusual(books: &Books, question: &PlanQuestion, day: Date, currency: Currency, quote: &Quote) -> Option<Missing> {
    let (buyer, grade) = (name(books, quote.buyer), grade_name(books, quote.grade));
    match quote.rate {
        rate if rate.currency() != currency => Some(Missing::OtherCurrency { buyer, grade, currency: rate.currency() }),
        Rate::Piece(_) => Some(Missing::NotByWeight { buyer, grade }),
        Rate::Weight(_) => {
            let stale = Terms::from(quote).is_stale(day, question.stale_after);
            stale.then_some(Missing::Stale { buyer, grade, day: quote.day })
        }
    }
}

fn between(books: &Books, buyers: &[BuyerId]) -> BTreeMap<(usize, usize), Reach> {
    let mut between = BTreeMap::new();
    for (one, from) in buyers.iter().enumerate() {
        for (other, to) in buyers.iter().enumerate().skip(one + 1) {
            between.extend(books.road(*from, *to).map(|way| ((one, other), reach(way))));
        }
    }
    between
}

fn offers(
    quotes: &BTreeMap<(GradeId, usize), (QuoteId, &Quote)>,
    expected: &BTreeMap<(GradeId, usize), ExpectedPrice>,
    by_expected: bool,
) -> BTreeMap<(GradeId, usize), Terms> {
    let offer = |(key, (_, quote)): (&(GradeId, usize), &(QuoteId, &Quote))| {
        let terms = Terms::from(*quote);
        match expected.get(key).filter(|_| by_expected) {
            Some(known) => (*key, as_expected(&terms, known)),
            None => (*key, terms),
        }
    };
    quotes.iter().map(offer).collect()
}

fn vehicle(books: &Books, currency: Currency) -> Vehicle {
    let told = books.vehicle;
    let running = told.running.filter(|running| running.money.currency == currency);
    let per_km = running.map(|running| running.per_km()).unwrap_or_default();
    Vehicle { payload: told.payload, litres: told.litres, bins: told.bins, per_km }
}

/// In the usual currency where any quote is in it, else in the first by its letters.
fn currency(books: &Books, question: &PlanQuestion) -> Currency {
    let held = quotes_on(books, question.day.unwrap_or(question.today));
    let known: BTreeSet<Currency> = held.keys().map(|(_, _, currency)| *currency).collect();
    if known.contains(&question.currency) { question.currency } else { known.first().copied().unwrap_or(question.currency) }
}

/// The quotes in force on a day of the buyers who are in use.
pub(super) fn quotes_on(books: &Books, day: Date) -> InForce<'_> {
    let in_use = |quote: &Quote| books.buyers.get(&quote.buyer).is_some_and(|buyer| !buyer.retired);
    in_force(books.quotes.iter().filter(|(_, quote)| in_use(quote)).map(|(id, quote)| (*id, quote)), day)
}

pub(super) type Bins = Vec<(Item, Standing)>;

/// What holds something of a known grade, what would, and what cannot be planned; each by its number.
pub(super) fn bins(books: &Books) -> (Bins, Bins, Vec<HomeBin>) {
    let (mut full, mut empty, mut out) = (Vec::new(), Vec::new(), Vec::new());
    for (id, bin) in books.bins.iter().filter(|(_, bin)| !bin.retired) {
        let Some(fill) = books.fills.get(&bin.fill) else { continue };
        let mass = fill.mass.max(Mass::ZERO);
        let (number, name) = (bin.number, bin.name.clone());
        let Some(grade) = fill.grade else {
            if !mass.is_zero() {
                out.push(HomeBin { bin: *id, number, name, grade: None, mass, why: HomeWhy::NoGrade });
            }
            continue;
        };
        let told = bin.tare.map(|tare| tare + mass);
        // The limit of an axle: of two weights the greater.
        let gross = told.max(bin.last_gross).unwrap_or(mass).max(mass);
        let pin = books.pin(bin.fill);
        let item = Item { bin: *id, grade, mass, gross, litres: bin.litres, pin };
        let standing = Standing { number, name, capacity: bin.capacity, weighed: told.or(bin.last_gross).is_some() };
        if mass.is_zero() { empty.push((item, standing)) } else { full.push((item, standing)) }
    }
    full.sort_by_key(|(_, bin)| bin.number);
    (full, empty, out)
}

/// The first day on which anybody is open whose yard is told and who quotes something that lies here; else today.
fn next_open(books: &Books, question: &PlanQuestion, currency: Currency, grades: &BTreeSet<GradeId>) -> Date {
    let held = quotes_on(books, question.today);
    let quoted =
        |buyer: &BuyerId| held.keys().any(|(grade, of, in_what)| of == buyer && *in_what == currency && grades.contains(grade));
    let yards: Vec<_> = books.yards.keys().filter(|buyer| quoted(buyer)).filter_map(|buyer| books.yard(*buyer)).collect();
    let days = (0..DAYS_AHEAD).filter_map(|ahead| question.today.checked_add(jiff::Span::new().days(ahead)).ok());
    days.into_iter().find(|day| yards.iter().any(|yard| yard.is_open(*day))).unwrap_or(question.today)
}

/// Whom a plan may drive to, and everybody who is in none with the reason. Those who are closed or have no quote are in the
/// problem all the same: so it can be said what a closed day costs, and a road may lead by them.
fn buyers_of(books: &Books, day: Date, sells: impl Fn(BuyerId) -> bool) -> (Vec<BuyerId>, Vec<BeyondBuyer>) {
    let (mut known, mut beyond) = (Vec::new(), Vec::new());
    for (id, buyer) in books.buyers.iter().filter(|(_, buyer)| !buyer.retired) {
        let why = match books.yard(*id) {
            None => Some(Beyond::NoYard),
            Some(_) if !sells(*id) => Some(Beyond::NoQuote),
            Some(yard) if !yard.is_open(day) => Some(Beyond::Closed),
            Some(_) => None,
        };
        let km = books.yard(*id).map(|yard| yard.way.distance.km());
        known.extend(km.map(|km| (why == Some(Beyond::NoQuote), why.is_some(), km, *id)));
        beyond.extend(why.map(|why| (*id, BeyondBuyer { name: buyer.name.clone(), why })));
    }
    known.sort_unstable();
    for (no_quote, _, _, id) in known.split_off(known.len().min(PLACES_MAX)) {
        if !no_quote {
            beyond.retain(|(other, _)| *other != id);
            beyond.push((id, BeyondBuyer { name: name(books, id), why: Beyond::TooMany }));
        }
    }
    let mut buyers: Vec<BuyerId> = known.into_iter().map(|(.., id)| id).collect();
    buyers.sort_unstable();
    let mut beyond: Vec<BeyondBuyer> = beyond.into_iter().map(|(_, buyer)| buyer).collect();
    beyond.sort_by(|a, b| a.name.cmp(&b.name));
    (buyers, beyond)
}

fn place(books: &Books, buyer: BuyerId, day: Date) -> Option<Place> {
    let yard = books.yard(buyer)?;
    Some(Place { from_home: reach(yard.way), minutes_there: yard.minutes_there, open: yard.is_open(day) })
}

fn reach(way: Way) -> Reach {
    Reach { km: way.distance.km(), minutes: way.minutes }
}

/// What each buyer will likely pay for what they quote, where their tickets tell.
fn expected(
    books: &Books,
    question: &PlanQuestion,
    currency: Currency,
    planned: &[BuyerId],
    quotes: &BTreeMap<(GradeId, usize), (QuoteId, &Quote)>,
) -> BTreeMap<(GradeId, usize), ExpectedPrice> {
    let asked = TicketQuestion { today: question.today, zone: question.zone.clone() };
    let mut known = BTreeMap::new();
    for answer in buyers(books, &asked).buyers {
        let Some(place) = planned.iter().position(|buyer| *buyer == answer.buyer) else { continue };
        for paid in answer.prices {
            let priced = paid.expected.filter(|price| price.quoted.currency == currency && !price.quoted.amount.is_zero());
            if let Some(price) = priced.filter(|_| quotes.contains_key(&(paid.grade, place))) {
                known.insert((paid.grade, place), price);
            }
        }
    }
    known
}

/// The terms with every amount as it will likely be paid: the quote's own to four decimals, its steps by the same share.
fn as_expected(terms: &Terms, known: &ExpectedPrice) -> Terms {
    let share = |amount: Decimal| match terms.rate {
        Rate::Weight(price) if price == known.quoted && amount == price.amount => known.expected.amount,
        _ => {
            let paid = amount.checked_mul(known.expected.amount).and_then(|paid| paid.checked_div(known.quoted.amount));
            paid.map_or(amount, |paid| Rounding::HalfEven.decimal(paid, EXPECTED_PLACES))
        }
    };
    let mut expected = terms.clone();
    expected.rate = terms.rate.with_amount(share(terms.rate.amount()));
    expected.breaks.iter_mut().for_each(|step| step.amount = share(step.amount));
    expected
}

/// The holds that hold on a day, in the currency.
pub(super) fn holds(
    books: &Books,
    items: &[Item],
    day: Date,
    currency: Currency,
    missing: &mut Vec<Missing>,
) -> BTreeMap<GradeId, Price> {
    let mut holds = BTreeMap::new();
    for grade in books.grades.keys() {
        let Some(hold) = books.hold(*grade).filter(|hold| goes_anyway(hold, day, there(items, *grade)).is_none()) else {
            continue;
        };
        match hold.at.currency == currency {
            true => _ = holds.insert(*grade, hold.at),
            false => missing.push(Missing::HoldElsewhere { grade: grade_name(books, *grade), at: hold.at }),
        }
    }
    holds
}

/// What lies in all bins of a grade.
pub(super) fn there(items: &[Item], grade: GradeId) -> Mass {
    items.iter().filter(|item| item.grade == grade).map(|item| item.mass).sum()
}

/// Why a grade goes whatever is paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anyway {
    Day,
    Weight,
}

pub(super) fn goes_anyway(hold: &Hold, day: Date, there: Mass) -> Option<Anyway> {
    if hold.by.is_some_and(|by| day >= by) {
        return Some(Anyway::Day);
    }
    hold.from.is_some_and(|from| there >= from).then_some(Anyway::Weight)
}

fn amount(told: Option<Money>, currency: Currency) -> Option<Decimal> {
    told.filter(|money| money.currency == currency).map(|money| money.amount)
}

pub(super) fn name(books: &Books, buyer: BuyerId) -> String {
    books.buyers.get(&buyer).map(|buyer| buyer.name.clone()).unwrap_or_default()
}

pub(super) fn grade_name(books: &Books, grade: GradeId) -> String {
    books.grades.get(&grade).map(|grade| grade.name.clone()).unwrap_or_default()
}

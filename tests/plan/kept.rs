//! The same problem as somebody would have told it, event by event.

use crate::case::{Case, Offer};
use bismar::facts::{
    BenchId, BinChange, BinId, BinPinned, Books, Break, BuyerId, Event, Fact, FillId, GradeId, Hold, HoldTold, LimitsTold,
    OpenDays, RateQuoted, RoadTold, SCHEMA, Set, Source, StoreId, VehicleTold, Way, Yard, YardTold,
};
use bismar::measure::{BootId, Currency, Distance, DistanceUnit, Mass, Moment, Money, Price, PriceUnit, Rate, Running};
use jiff::civil::{Date, date};
use rust_decimal::Decimal;

/// The day of the plan.
pub const DAY: Date = date(2026, 3, 2);

/// Books that grow by facts.
#[derive(Default)]
pub struct Kept {
    pub books: Books,
    /// Days before the day of the plan on which the next facts are kept.
    pub ago: i64,
}

impl Kept {
    pub fn keep(&mut self, fact: Fact) -> u64 {
        let noon: jiff::Timestamp = "2026-03-02T12:00:00Z".parse().unwrap();
        let (wall, seq) = (noon - jiff::SignedDuration::from_hours(24 * self.ago), self.books.seq + 1);
        let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
        let event = Event { store, seq, schema: SCHEMA, boot, mono, wall, sure: true, bench, epoch: 0, cause: None, fact };
        self.books.apply(&event).unwrap();
        seq
    }

    pub fn weigh(&mut self, bin: BinId, grams: i64) {
        let fill = self.books.bins[&bin].fill;
        let (bin, fill, source) = (Some(bin), Some(fill), Source::Label { division: Mass::grams(1) });
        let mass = Mass::grams(grams);
        self.keep(Fact::WeightEntered { bin, fill, session: None, mass, source, reason: "as told".into() });
    }
}

pub fn eur() -> Currency {
    Currency::parse("EUR").unwrap()
}

fn cents(cents: i64) -> Money {
    Money { amount: Decimal::new(cents, 2), currency: eur() }
}

fn way(km: i64, minutes: i64) -> Way {
    let distance = Distance { amount: Decimal::from(km), unit: DistanceUnit::Kilometre };
    Way { distance, minutes: minutes as u32 }
}

/// Bins by their number from 1, buyers and grades in the order of the case.
pub fn kept(case: &Case) -> Kept {
    let mut kept = Kept { ago: 0, ..Kept::default() };
    kept.keep(Fact::StoreFounded { program: String::new() });
    let most = case.bins.iter().map(|bin| bin.grade).chain(case.offers.iter().map(|offer| offer.grade)).max().unwrap();
    let grades: Vec<GradeId> =
        (0..=most).map(|grade| GradeId(kept.keep(Fact::GradeMade { name: format!("grade {grade}") }))).collect();
    let buyers: Vec<BuyerId> =
        (0..case.buyers.len()).map(|buyer| BuyerId(kept.keep(Fact::BuyerMade { name: format!("buyer {buyer}") }))).collect();
    for (buyer, &(km, minutes, there, open)) in buyers.iter().zip(&case.buyers) {
        // One whose days were told, and who is closed by the day alone.
        let days = OpenDays::of(["mon", "tue"]);
        let closed = if open { Vec::new() } else { vec![DAY] };
        let yard = Yard { way: way(km, minutes), minutes_there: there as u32, open: days, closed };
        kept.keep(Fact::YardTold(Box::new(YardTold { buyer: *buyer, yard: Some(yard) })));
    }
    for &(one, other, km, minutes) in &case.between {
        let (one, other) = (buyers[one].min(buyers[other]), buyers[one].max(buyers[other]));
        kept.keep(Fact::RoadTold(RoadTold { one, other, way: Some(way(km, minutes)) }));
    }
    for offer in &case.offers {
        kept.keep(quote(offer, buyers[offer.place], grades[offer.grade as usize]));
    }
    for (grade, least) in &case.holds {
        let at = Price { amount: Decimal::new(*least, 2), currency: eur(), per: PriceUnit::Kilogram };
        let Some(grade) = grades.get(*grade as usize) else { continue };
        kept.keep(Fact::HoldTold(HoldTold { grade: *grade, hold: Some(Hold { at, by: None, from: None }) }));
    }
    kept.keep(Fact::VehicleTold(VehicleTold {
        payload: Set::To(case.payload.map(Mass::grams)),
        litres: Set::To(case.litres),
        bins: Set::To(case.count),
        running: Set::To(Some(Running { money: cents(case.per_km), per: DistanceUnit::Kilometre })),
    }));
    kept.keep(Fact::LimitsTold(LimitsTold { floor: Set::To(Some(cents(60 * case.per_minute))), places: Set::Keep }));
    for (at, bin) in case.bins.iter().enumerate() {
        let (grade, tare) = (Some(grades[bin.grade as usize]), Some(Mass::grams(bin.gross - bin.grams)));
        let made = Fact::BinMade { number: at as u32 + 1, name: None, grade, tare, capacity: None };
        let id = BinId(kept.keep(made));
        let change = BinChange { litres: Set::To(Some(bin.litres)), ..BinChange::default() };
        kept.keep(Fact::BinChanged { bin: id, change });
        kept.weigh(id, bin.grams);
        if bin.pin.is_some() {
            kept.keep(Fact::BinPinned(BinPinned { bin: id, fill: FillId(id.0), pin: bin.pin }));
        }
    }
    kept
}

fn quote(offer: &Offer, buyer: BuyerId, grade: GradeId) -> Fact {
    let price = Price { amount: Decimal::new(offer.steps[0].1, 2), currency: eur(), per: PriceUnit::Kilogram };
    let step = |(from, cents): &(i64, i64)| Break { from: Mass::grams(*from), amount: Decimal::new(*cents, 2) };
    Fact::RateQuoted(Box::new(RateQuoted {
        buyer,
        grade,
        rate: Rate::Weight(price),
        day: DAY,
        stale_after: None,
        breaks: offer.steps[1..].iter().map(step).collect(),
        minimum: (offer.minimum > 0).then(|| Mass::grams(offer.minimum)),
        deduction: (offer.deduction > 0).then(|| Decimal::from(offer.deduction)),
    }))
}

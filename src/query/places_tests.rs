use super::*;
use crate::economy::place::{DaysToFill, Missing, PlaceVerdict};
use crate::facts::{
    BenchId, BinFull, BinId, Event, Fact, FillId, LimitsTold, RecordVoided, SCHEMA, Set, SortingTold, Source, StoreId,
};
use crate::measure::{BootId, Moment, Price, PriceUnit};
use jiff::civil::date;

const BRIGHT: GradeId = GradeId(2);
const MIXED: GradeId = GradeId(3);
const YARD: BuyerId = BuyerId(4);
/// Bright wire, made by event 6.
const BIN: BinId = BinId(6);

/// Grades bright and mixed, two buyers, and a bin for the bright, made on the first of January.
struct Kept(Books, BTreeMap<GradeId, GradeId>);

impl Kept {
    fn new() -> Kept {
        let mut kept = Kept(Books::default(), BTreeMap::new());
        kept.keep(0, Fact::StoreFounded { program: String::new() });
        for name in ["bright", "mixed"] {
            kept.keep(0, Fact::GradeMade { name: name.into() });
        }
        for name in ["yard", "other"] {
            kept.keep(0, Fact::BuyerMade { name: name.into() });
        }
        kept.keep(0, Fact::BinMade { number: 1, name: None, grade: Some(BRIGHT), tare: None, capacity: None });
        kept
    }

    fn on(&mut self, day: i64, sure: bool, fact: Fact) -> u64 {
        let noon: jiff::Timestamp = "2026-01-01T12:00:00Z".parse().unwrap();
        let (wall, seq) = (noon + jiff::SignedDuration::from_hours(24 * day), self.0.seq + 1);
        let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
        self.0.apply(&Event { store, seq, schema: SCHEMA, boot, mono, wall, sure, bench, epoch: 0, cause: None, fact }).unwrap();
        seq
    }

    fn keep(&mut self, day: i64, fact: Fact) -> u64 {
        self.on(day, true, fact)
    }

    fn fill(&self) -> FillId {
        self.0.bins[&BIN].fill
    }

    fn weigh(&mut self, day: i64, grams: i64) {
        let (bin, fill, source) = (Some(BIN), Some(self.fill()), Source::Label { division: Mass::grams(1) });
        let mass = Mass::grams(grams);
        self.keep(day, Fact::WeightEntered { bin, fill, session: None, mass, source, reason: String::new() });
    }

    fn quote(&mut self, buyer: BuyerId, grade: GradeId, cents: i64, minimum: Option<i64>) {
        let price = Price { amount: Decimal::new(cents, 2), currency: eur(), per: PriceUnit::Kilogram };
        let minimum = minimum.map(Mass::grams);
        let (day, stale_after, breaks, deduction) = (date(2026, 1, 1), None, Vec::new(), None);
        self.keep(0, Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks, minimum, deduction });
    }

    /// Bright goes in with mixed, at so many minutes of sorting a month.
    fn fold(&mut self, minutes: Option<u64>) {
        self.1.insert(BRIGHT, MIXED);
        let a_month = minutes.map(|minutes| Span::seconds(60 * minutes));
        self.keep(0, Fact::SortingTold(SortingTold { grade: BRIGHT, a_month }));
    }

    fn full_and_emptied(&mut self, full: i64, emptied: i64) -> u64 {
        let (bin, fill) = (BIN, self.fill());
        let tap = self.keep(full, Fact::BinFull(BinFull { bin, fill }));
        self.keep(emptied, Fact::BinEmptied { bin, fill, reason: String::new() });
        tap
    }

    fn asked(&self, day: i64, floor: i64, bench: Option<u32>) -> PlacesReport {
        let day = date(2026, 1, 1) + jiff::Span::new().days(day);
        let (zone, currency, stale_after) = (TimeZone::UTC, eur(), 9999);
        let (buyer, floor) = (None, Some(Decimal::from(floor)));
        places(
            &self.0,
            &PlacesQuestion { day, zone, stale_after, currency, buyer, floor, places: bench, coarser: self.1.clone() },
        )
    }

    fn bright(&self, day: i64) -> PlaceLine {
        self.asked(day, 12, Some(3)).lines.into_iter().find(|line| line.grade == BRIGHT).unwrap()
    }
}

fn eur() -> Currency {
    Currency::parse("EUR").unwrap()
}

#[test]
fn a_month_is_a_twelfth_of_a_year_and_takes_four_weeks() {
    let mut kept = Kept::new();
    kept.weigh(0, 2800);
    // Day 26 is the 27th.
    assert_eq!((kept.bright(26).days, kept.bright(26).month), (27, None));
    let line = kept.bright(27);
    // 2.8 kg in 28 days are 0.1 kg a day, and 365.25 / 12 days a month.
    assert_eq!((line.days, line.month), (28, Some(Mass::parse_grams("3043.75").unwrap())));
    // Beyond thirteen weeks the first day is out.
    kept.weigh(100, 910);
    assert_eq!((kept.bright(100).days, kept.bright(100).collected), (91, Mass::grams(910)));
    let none = kept.asked(27, 12, Some(3));
    let lost = none.lines.iter().find(|line| line.grade == BRIGHT).unwrap();
    assert_eq!(lost.judged.verdict, PlaceVerdict::CannotTell(vec![Missing::Coarser, Missing::OwnPrice]));
}

#[test]
fn kept_apart_at_one_buyer_after_sorting() {
    let mut kept = Kept::new();
    kept.weigh(0, 2800);
    kept.fold(Some(15));
    kept.quote(YARD, BRIGHT, 800, None);
    kept.quote(YARD, MIXED, 600, None);
    // Another pays more for the bright, and takes no mixed.
    kept.quote(BuyerId(5), BRIGHT, 900, None);
    let line = kept.bright(27);
    // 3.04375 kg × 2.00 − a quarter of an hour at 12.00.
    assert_eq!(line.judged.gain.unwrap().amount, Decimal::new(309, 2));
    assert_eq!((line.buyer.as_deref(), line.judged.verdict.clone()), (Some("yard"), PlaceVerdict::Earns { rank: 1 }));
    let report = kept.asked(27, 12, Some(1));
    // Mixed stands there anyway and takes the one place.
    assert_eq!((report.reserved, report.coarse[0].grade), (1, MIXED));
    assert_eq!(report.lines[0].judged.verdict, PlaceVerdict::NoPlaceLeft { rank: 1 });
    kept.fold(Some(40));
    assert_eq!(kept.bright(27).judged.verdict, PlaceVerdict::GoesIn);
    kept.fold(None);
    assert_eq!(kept.bright(27).judged.verdict, PlaceVerdict::CannotTell(vec![Missing::Sorting]));
}

#[test]
fn under_everybody_s_smallest_lot_it_is_paid_as_the_coarser() {
    let mut kept = Kept::new();
    kept.weigh(0, 2800);
    kept.fold(Some(0));
    kept.quote(YARD, BRIGHT, 800, Some(5000));
    kept.quote(YARD, MIXED, 600, None);
    let line = kept.bright(27);
    assert_eq!((line.under_minimum, line.judged.verdict), (true, PlaceVerdict::GoesIn));
    // A bin that holds more than the smallest lot changes it.
    let change = crate::facts::BinChange { capacity: Set::To(Some(Mass::grams(6000))), ..Default::default() };
    kept.keep(0, Fact::BinChanged { bin: BIN, change });
    let line = kept.bright(27);
    assert_eq!((line.under_minimum, line.judged.verdict), (false, PlaceVerdict::Earns { rank: 1 }));
    assert_eq!((line.full_bin, line.full_learned), (Some(Mass::grams(6000)), false));
    assert_eq!(line.judged.full_bin_value.unwrap().amount, Decimal::new(4800, 2));
    assert_eq!(line.judged.wrong_piece.unwrap().amount, Decimal::new(1200, 2));
}

#[test]
fn days_to_fill_are_learned_from_the_first_tap_of_each_fill() {
    let mut kept = Kept::new();
    for (from, full, grams) in [(0, 10, 5000), (11, 31, 7000), (32, 62, 6000)] {
        kept.weigh(from, grams);
        kept.full_and_emptied(full, full + 1);
    }
    let line = kept.bright(70);
    // The second fill began on day 11, the third on day 32.
    assert_eq!(line.judged.days_to_fill, Some(DaysToFill { median: 20, shortest: 10, longest: 30, taps: 3 }));
    assert_eq!((line.full_bin, line.full_learned), (Some(Mass::grams(6000)), true));
    // Opening stock says nothing of the days, and a tap that is taken back says nothing at all.
    let (bin, fill, source) = (BIN, kept.fill(), Source::Label { division: Mass::grams(1) });
    let stock = Fact::OpeningStock { bin, fill, mass: Mass::grams(9000), source, reason: String::new() };
    kept.keep(63, stock);
    let tap = kept.full_and_emptied(64, 65);
    assert_eq!(kept.bright(70).judged.days_to_fill.unwrap().taps, 3);
    assert_eq!(kept.bright(70).full_bin, Some(Mass::grams(6000)), "of an even number the lower of the two in the middle");
    kept.keep(66, Fact::RecordVoided(RecordVoided { record: tap, reason: String::new() }));
    assert_eq!(kept.bright(70).full_bin, Some(Mass::grams(6000)));
    assert_eq!(kept.bright(40).judged.days_to_fill.unwrap().taps, 2, "as of a day");
}

#[test]
fn a_tap_on_an_empty_bin_teaches_nothing() {
    let mut kept = Kept::new();
    kept.full_and_emptied(1, 2);
    let line = kept.bright(70);
    assert_eq!((line.full_bin, line.judged.days_to_fill, line.full_learned), (None, None, false));
    // A slip on the next fill too, and then its real tap.
    let (bin, fill) = (BIN, kept.fill());
    kept.keep(3, Fact::BinFull(BinFull { bin, fill }));
    kept.weigh(4, 5000);
    kept.full_and_emptied(12, 13);
    let report = kept.asked(70, 0, None);
    let line = kept.bright(70);
    assert_eq!(line.judged.days_to_fill, Some(DaysToFill { median: 10, shortest: 10, longest: 10, taps: 1 }));
    assert_eq!((line.full_bin, line.full_learned), (Some(Mass::grams(5000)), true));
    assert_eq!(report.empty_taps, 2);
}

#[test]
fn limits_that_were_told_hold_where_none_is_asked() {
    let mut kept = Kept::new();
    let floor = Money { amount: Decimal::from(9), currency: eur() };
    kept.keep(0, Fact::LimitsTold(LimitsTold { floor: Set::To(Some(floor)), places: Set::To(Some(4)) }));
    kept.quote(YARD, BRIGHT, 800, None);
    let question = |currency, floor| PlacesQuestion {
        day: date(2026, 2, 1),
        zone: TimeZone::UTC,
        stale_after: 14,
        currency,
        buyer: None,
        floor,
        places: None,
        coarser: BTreeMap::new(),
    };
    let told = places(&kept.0, &question(eur(), None));
    assert_eq!((told.floor, told.places), (Some(Decimal::from(9)), Some(4)));
    assert_eq!(places(&kept.0, &question(eur(), Some(Decimal::TEN))).floor, Some(Decimal::TEN));
}

/// Either way the same report, but for the word on where it comes from; what is asked goes before what was told.
#[test]
fn what_was_told_of_a_grade_is_what_it_goes_in_with() {
    let told = |grade, other| {
        let (fallback, specification) = (Set::To(Some(other)), Set::Keep);
        Fact::GradeTold(crate::facts::GradeTold { grade, fallback, specification })
    };
    let mut kept = Kept::new();
    kept.weigh(0, 2800);
    kept.quote(YARD, BRIGHT, 800, None);
    kept.quote(YARD, MIXED, 600, None);
    kept.keep(0, Fact::SortingTold(SortingTold { grade: BRIGHT, a_month: Some(Span::seconds(900)) }));
    kept.keep(0, told(BRIGHT, MIXED));
    let told_of_it = kept.asked(27, 12, Some(3));
    kept.1.insert(BRIGHT, MIXED);
    let mut asked = kept.asked(27, 12, Some(3));
    assert_eq!((told_of_it.lines[0].coarser_told, asked.lines[0].coarser_told), (true, false));
    assert_eq!(told_of_it.lines[0].judged.verdict, PlaceVerdict::Earns { rank: 1 });
    asked.lines[0].coarser_told = true;
    assert_eq!(told_of_it, asked);
    // Bright goes in with mixed because it is asked so, and mixed with what was told of it.
    kept.keep(0, told(BRIGHT, BRIGHT));
    let third = GradeId(kept.keep(0, Fact::GradeMade { name: "heap".into() }));
    kept.keep(0, told(MIXED, third));
    let both = kept.asked(27, 12, Some(3));
    let pairs: Vec<_> = both.lines.iter().map(|line| (line.grade, line.coarser.as_deref(), line.coarser_told)).collect();
    assert_eq!(pairs, [(BRIGHT, Some("mixed"), false), (MIXED, Some("heap"), true)]);
    // A grade that is in use no more takes nothing in.
    let change = crate::facts::NameChange { name: None, retired: Some(true) };
    kept.keep(0, Fact::GradeChanged { grade: third, change });
    assert!(kept.asked(27, 12, Some(3)).coarse.iter().any(|line| line.grade == MIXED && !line.coarser_told));
}

#[test]
fn what_has_no_day_is_in_no_month() {
    let mut kept = Kept::new();
    kept.weigh(0, 2800);
    let (bin, fill, source) = (Some(BIN), Some(kept.fill()), Source::Label { division: Mass::grams(1) });
    let (mass, reason) = (Mass::grams(500), String::new());
    kept.on(1, false, Fact::WeightEntered { bin, fill, session: None, mass, source, reason });
    let report = kept.asked(27, 12, None);
    assert_eq!((report.undated, report.lines[0].collected), (Mass::grams(500), Mass::grams(2800)));
}

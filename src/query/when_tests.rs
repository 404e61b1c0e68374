use super::*;
use crate::facts::{
    BenchId, BinFull, BuyerId, Event, FillId, GradeTold, Hold, HoldTold, RunSetOut, SCHEMA, Set, Source, StoreId, VehicleTold,
    Way, Yard, YardTold,
};
use crate::measure::{BootId, Distance, DistanceUnit, Moment, Price, PriceUnit, Running};
use jiff::civil::date;

const FINE: GradeId = GradeId(2);
const COARSE: GradeId = GradeId(3);
const YARD: BuyerId = BuyerId(4);

fn eur() -> Currency {
    Currency::parse("EUR").unwrap()
}

/// Grades fine and coarse at 6 and 2 a kilogram, a yard, and bins 1 and 2 for the fine, on days counted from the first of January.
struct Kept(Books);

impl Kept {
    fn new() -> Kept {
        let mut kept = Kept(Books::default());
        kept.keep(0, Fact::StoreFounded { program: String::new() });
        for name in ["fine", "coarse"] {
            kept.keep(0, Fact::GradeMade { name: name.into() });
        }
        kept.keep(0, Fact::BuyerMade { name: "yard".into() });
        for (grade, amount) in [(FINE, 6), (COARSE, 2)] {
            let price = Price { amount: Decimal::from(amount), currency: eur(), per: PriceUnit::Kilogram };
            let (buyer, day) = (YARD, date(2026, 1, 1));
            let (stale_after, breaks, minimum, deduction) = (None, Vec::new(), None, None);
            kept.keep(0, Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks, minimum, deduction });
        }
        for number in [1, 2] {
            kept.keep(0, Fact::BinMade { number, name: None, grade: Some(FINE), tare: None, capacity: None });
        }
        kept
    }

    fn keep(&mut self, day: i64, fact: Fact) -> u64 {
        let noon: jiff::Timestamp = "2026-01-01T12:00:00Z".parse().unwrap();
        let (wall, seq) = (noon + jiff::SignedDuration::from_hours(24 * day), self.0.seq + 1);
        let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
        let event = Event { store, seq, schema: SCHEMA, boot, mono, wall, sure: true, bench, epoch: 0, cause: None, fact };
        self.0.apply(&event).unwrap();
        seq
    }

    fn bin(&self, number: u32) -> (BinId, FillId) {
        let (id, bin) = self.0.bin_by_number(number).unwrap();
        (id, bin.fill)
    }

    fn weigh(&mut self, day: i64, number: u32, kilograms: i64) {
        let (bin, fill) = self.bin(number);
        let (source, mass, reason) = (Source::Label { division: Mass::grams(1) }, Mass::grams(1000 * kilograms), String::new());
        self.keep(day, Fact::WeightEntered { bin: Some(bin), fill: Some(fill), session: None, mass, source, reason });
    }

    /// Seven kilograms a week into bin 1, from the first day on.
    fn weeks(&mut self, count: i64) {
        (0..count).for_each(|week| self.weigh(7 * week, 1, 7));
    }

    /// A full bin of the fine grade held so much, as its capacity says.
    fn takes(&mut self, kilograms: i64) {
        for number in [1, 2] {
            let (bin, _) = self.bin(number);
            let capacity = Set::To(Some(Mass::grams(1000 * kilograms)));
            let change = crate::facts::BinChange { capacity, ..crate::facts::BinChange::default() };
            self.keep(0, Fact::BinChanged { bin, change });
        }
    }

    fn asked(&self, day: i64, trip: Option<i64>) -> WhenReport {
        let question = WhenQuestion {
            day: date(2026, 1, 1) + jiff::Span::new().days(day),
            zone: TimeZone::UTC,
            stale_after: 9999,
            currency: eur(),
            trip: trip.map(Decimal::from),
            days: 14,
        };
        when(&self.0, &question)
    }
}

fn january(day: i8) -> Date {
    date(2026, 1, day)
}

fn all(day: Option<Date>) -> Ends<Option<Date>> {
    Ends { slow: day, middle: day, fast: day }
}

#[test]
fn whole_weeks_until_yesterday_and_under_four_nothing() {
    let mut kept = Kept::new();
    kept.weeks(4);
    let weeks = |day| kept.asked(day, Some(10)).grades[0].weeks;
    // The first drop lies on the first of January: its week is whole once seven days have passed.
    assert_eq!([weeks(6), weeks(7), weeks(13), weeks(21), weeks(28)], [0, 1, 1, 3, 4]);
    let report = kept.asked(27, Some(10));
    assert_eq!((report.grades[0].pace, &report.go), (None, &GoBy::TooFewWeeks));
    assert_eq!(report.by_day[14].value, all_of(168), "28 kg at 6.00, and nothing is said to come");
    let report = kept.asked(28, Some(10));
    assert_eq!(report.grades[0].pace.unwrap().mean, Decimal::from(7));
    assert_eq!((report.by_day[0].value, report.by_day[7].value), (all_of(168), all_of(210)), "a week more is 7 kg at 6.00");
    // 10 of 168 are 5.952 %, of 210 4.762 %.
    let tenth = |text: &str| text.parse::<Decimal>().unwrap();
    assert_eq!(report.by_day[0].share.unwrap().middle, tenth("6.0"));
    assert_eq!(report.by_day[7].share.unwrap().slow, tenth("4.8"));
    assert_eq!(report.go, GoBy::NoFullBin, "without full bins it never costs more");
    assert_eq!(kept.asked(28, None).go, GoBy::NoTrip);
}

fn all_of(amount: i64) -> Ends<Decimal> {
    let mut amount = Decimal::from(amount);
    amount.rescale(2);
    Ends { slow: amount, middle: amount, fast: amount }
}

/// A kilogram a day: 28 kg lie in bin 1, each of two bins takes 33, so there is room for 38 kg.
#[test]
fn bins_fill_one_after_the_other_and_then_it_costs() {
    let mut kept = Kept::new();
    kept.weeks(4);
    kept.takes(33);
    let report = kept.asked(28, Some(100));
    let [one, two] = &report.grades[0].bins[..] else { panic!("two bins") };
    let later = |days: i32| Some(january(29) + jiff::Span::new().days(days));
    assert_eq!((one.full_on, two.full_on), (all(later(5)), all(later(38))));
    // A cycle of 28 + 38 days brings 66 kg, at 6.00 lost: 396 and no more.
    assert_eq!(report.go, GoBy::Days(all(later(38))));
    assert_eq!(kept.asked(28, Some(396)).go, GoBy::Days(all(None)));
    // With the coarser grade to go in with, only the difference is lost: 4.00 of each.
    kept.keep(28, Fact::GradeTold(GradeTold { grade: FINE, fallback: Set::To(Some(COARSE)), specification: Set::Keep }));
    let report = kept.asked(28, Some(263));
    assert_eq!((report.grades[0].loses(), &report.go), (Some(Decimal::from(4)), &GoBy::Days(all(later(38)))));
    assert_eq!(kept.asked(28, Some(264)).go, GoBy::Days(all(None)));
    // A run begins another cycle; a tap fills a bin.
    let run = RunSetOut { day: january(22), stops: vec![YARD], loads: vec![], distance_km: None, span: None, cost: None };
    kept.keep(28, Fact::RunSetOut(Box::new(run)));
    let (bin, fill) = kept.bin(1);
    kept.keep(28, Fact::BinFull(BinFull { bin, fill }));
    let report = kept.asked(28, Some(139));
    // The tap says that a full bin holds 28 kg: bin 1 is full, and bin 2 takes as much. The cycle is seven days old.
    let [one, two] = &report.grades[0].bins[..] else { panic!("two bins") };
    assert_eq!((one.full_on, two.full_on), (all(later(0)), all(later(28))));
    assert_eq!((report.grades[0].full_bin, &report.go), (Some(Mass::grams(28_000)), &GoBy::Days(all(later(28)))));
    assert_eq!(kept.asked(28, Some(140)).go, GoBy::Days(all(None)), "35 kg at 4.00 are no more than the trip");
}

#[test]
fn what_a_trip_costs_and_what_goes_anyway() {
    let mut kept = Kept::new();
    kept.weeks(4);
    let money = |amount| Money { amount: Decimal::from(amount), currency: eur() };
    let run = |day: i8, cost| {
        let (stops, loads) = (vec![YARD], vec![]);
        let span = Some(Span::seconds(3600));
        Fact::RunSetOut(Box::new(RunSetOut { day: january(day), stops, loads, distance_km: None, span, cost }))
    };
    kept.keep(20, run(20, Some(money(9))));
    kept.keep(21, run(22, None));
    let trip = |kept: &Kept| kept.asked(28, None).trip.unwrap();
    assert_eq!((trip(&kept).amount, trip(&kept).from), (Decimal::from(9), TripFrom::Run(january(20))));
    assert_eq!(kept.asked(28, None).since, Some(january(22)));
    let floor = Set::To(Some(money(12)));
    kept.keep(22, Fact::LimitsTold(crate::facts::LimitsTold { floor, places: Set::Keep }));
    assert_eq!((trip(&kept).amount, trip(&kept).time), (Decimal::from(21), Decimal::from(12)), "an hour at what it must bring");
    let distance = Distance { amount: Decimal::from(20), unit: DistanceUnit::Kilometre };
    let yard = Yard { way: Way { distance, minutes: 25 }, minutes_there: 40, open: None, closed: vec![] };
    kept.keep(22, Fact::YardTold(Box::new(YardTold { buyer: YARD, yard: Some(yard) })));
    let running = Running { money: Money { amount: "0.30".parse().unwrap(), currency: eur() }, per: DistanceUnit::Kilometre };
    kept.keep(22, Fact::VehicleTold(VehicleTold { running: Set::To(Some(running)), ..VehicleTold::default() }));
    // 40 km at 0.30 and an hour and a half at 12.00.
    assert_eq!((trip(&kept).amount, trip(&kept).from), (Decimal::from(30), TripFrom::Yard("yard".into())));
    assert_eq!(kept.asked(28, Some(5)).trip.unwrap().from, TripFrom::Asked);
    let at = Price { amount: Decimal::from(9), currency: eur(), per: PriceUnit::Kilogram };
    let hold = Hold { at, by: Some(date(2026, 2, 20)), from: None };
    kept.keep(22, Fact::HoldTold(HoldTold { grade: FINE, hold: Some(hold) }));
    let by_day = Deadline { grade: "fine".into(), due: Due::On(date(2026, 2, 20)) };
    assert_eq!(kept.asked(28, None).deadlines, std::slice::from_ref(&by_day));
    // 28 kg lie there and a kilogram comes in a day.
    let later = |days: i32| Some(january(29) + jiff::Span::new().days(days));
    for (kilograms, on) in [(28, later(0)), (33, later(5)), (60, later(32)), (400, None)] {
        let mass = Mass::grams(1000 * kilograms);
        kept.keep(22, Fact::HoldTold(HoldTold { grade: FINE, hold: Some(Hold { from: Some(mass), ..hold }) }));
        let by_weight = Deadline { grade: "fine".into(), due: Due::Holding { mass, on: all(on) } };
        // The twentieth of February is 22 days ahead.
        let both = if kilograms < 50 { [by_weight, by_day.clone()] } else { [by_day.clone(), by_weight] };
        assert_eq!(kept.asked(28, None).deadlines, both);
    }
}

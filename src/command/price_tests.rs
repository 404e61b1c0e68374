//! Tables of quotes against the running core: what a dry run says is what an import does.

use super::decide::Decision;
use super::price_table::{BadCell, Column, breaks, read, written_breaks};
use super::{BenchSetup, Core, Effect, Input, Made, NameRef, Order, PriceOrder, PriceRefusal, Receipt, Refusal};
use crate::facts::{BenchId, Books, Break, Set, StoreId};
use crate::measure::{BootId, Currency, Displayed, Mass, Moment, Price, Stamp, Unit};
use crate::settle::Manner;
use jiff::civil::{Date, date};
use proptest::prelude::*;
use rust_decimal::Decimal;

struct Desk {
    core: Core,
}

impl Desk {
    /// Two buyers, three grades, one word.
    fn new() -> Desk {
        let at = Stamp { boot: BootId(1), mono: Moment(1), wall: jiff::Timestamp::UNIX_EPOCH, trusted: true };
        let setup = BenchSetup { id: BenchId(1), division: None, unit: None, manner: Manner::Heap, capacity: None };
        let (core, _) = Core::resume(Books::default(), StoreId(7), &[setup], at, "a test");
        let mut desk = Desk { core };
        for grade in ["copper", "brass", "yellow"] {
            desk.order(Order::MakeGrade { name: grade.into() }).unwrap();
        }
        for buyer in ["Quayside", "Hill"] {
            desk.order(Order::MakeBuyer { name: buyer.into() }).unwrap();
        }
        desk.word("Hill", "Yellow", Some("brass")).unwrap();
        desk
    }

    fn order(&mut self, order: Order) -> Result<Receipt, Refusal> {
        let at = Stamp { boot: BootId(1), mono: Moment(2), wall: jiff::Timestamp::UNIX_EPOCH, trusted: true };
        let input = Input::Order { bench: BenchId(1), key: None, order: Box::new(order), ticket: 0 };
        let effects = self.core.step(input, at);
        self.core.step(Input::Durable(self.core.books().seq), at);
        let answer = effects.into_iter().find_map(|effect| match effect {
            Effect::Answer { answer, .. } => Some(answer),
            Effect::Append(_) => None,
        });
        answer.expect("an order is answered")
    }

    fn prices(&mut self, order: PriceOrder) -> Result<Receipt, Refusal> {
        self.order(Order::Prices(order))
    }

    fn word(&mut self, buyer: &str, word: &str, grade: Option<&str>) -> Result<Receipt, Refusal> {
        let (buyer, grade) = (NameRef(buyer.into()), grade.map(|grade| NameRef(grade.into())));
        self.prices(PriceOrder::TellWord { buyer, word: word.into(), grade })
    }

    fn fold(&mut self, grade: &str, into: Option<&str>) -> Result<Receipt, Refusal> {
        self.prices(PriceOrder::TellGrade {
            grade: NameRef(grade.into()),
            fallback: Set::To(into.map(|into| NameRef(into.into()))),
            specification: Set::Keep,
            edit: super::Edit::default(),
        })
    }
}

fn eur() -> Currency {
    Currency::parse("EUR").unwrap()
}

fn today() -> Date {
    date(2026, 3, 10)
}

const HEAD: &str = "buyer,grade,price,currency,day,stale_after_days,breaks,minimum,deduction_percent\n";

#[test]
fn every_fault_has_its_line_and_column() {
    let desk = Desk::new();
    let table = format!(
        "{HEAD}Quayside,copper,8.00/kg,,,,,,\n\
         Nobody,copper,310/ton,euro,2026-13-01,soon,100kg,0kg,101\n\
         Quayside,lead,1.00/kg,,,,,,\n\
         Quayside,copper\n\
         quayside,COPPER,9.00/kg,,2026-03-10,,,,\n\
         Quayside,brass,0.35/piece,,,,,,2.5\n\
         Hill,brass,4 USD/lb,EUR,,,\"200kg=5; 100kg=6\",,\n\
         Hill,,,,,,,,\n"
    );
    let read = read(desk.core.books(), &table, eur(), today());
    let places: Vec<(u64, Option<&str>)> = read.faults.iter().map(|fault| (fault.line, fault.column.map(Column::name))).collect();
    let second = ["buyer", "price", "currency", "day", "stale_after_days", "breaks", "minimum", "deduction_percent"];
    let mut expected: Vec<(u64, Option<&str>)> = second.map(|column| (3, Some(column))).to_vec();
    expected.extend([
        (4, Some("grade")),
        (5, None),
        (6, None),
        (7, Some("deduction_percent")),
        (8, Some("currency")),
        (9, Some("grade")),
        (9, Some("price")),
    ]);
    assert_eq!(places, expected, "{:#?}", read.faults);
    assert!(matches!(read.faults[9].what, BadCell::Cells { wanted: 9, found: 2 }));
    assert!(matches!(read.faults[10].what, BadCell::Twice { line: 2 }));
    assert_eq!(read.rows.len(), 1);
}

#[test]
fn a_head_is_judged_before_anything_else() {
    let desk = Desk::new();
    let faults = |text: &str| {
        let read = read(desk.core.books(), text, eur(), today());
        assert!(read.rows.is_empty());
        read.faults.into_iter().map(|fault| fault.what).collect::<Vec<_>>()
    };
    assert_eq!(faults(""), [BadCell::NoRows]);
    assert_eq!(faults("buyer,grade,price\n"), [BadCell::NoRows]);
    let unknown = |name: &str| BadCell::UnknownColumn(name.into());
    let missing = BadCell::MissingColumn;
    assert_eq!(
        faults("buyer;grade;price\na;b;c\n"),
        [unknown("buyer;grade;price"), missing.clone(), missing.clone(), missing.clone()]
    );
    assert_eq!(faults("buyer,grade,grade,colour\n"), [BadCell::ColumnTwice, unknown("colour"), missing]);
}

#[test]
fn a_buyers_word_goes_before_our_own_name() {
    let mut desk = Desk::new();
    let named = |desk: &Desk, buyer: &str, grade: &str| {
        let read = read(desk.core.books(), &format!("\u{feff}price,buyer,grade\n2/kg,{buyer},{grade}\n"), eur(), today());
        assert_eq!(read.faults, []);
        (read.rows[0].quoting.grade.0.clone(), read.rows[0].word.clone())
    };
    assert_eq!(named(&desk, "Hill", "yellow"), ("brass".into(), Some("yellow".into())));
    assert_eq!(named(&desk, "Quayside", "yellow"), ("yellow".into(), None), "it is the word of one buyer only");
    let taken = desk.word("Hill", " yellow ", Some("copper"));
    assert_eq!(taken, Err(PriceRefusal::WordTaken { word: "yellow".into(), grade: "brass".into() }.into()));
    assert_eq!(desk.word("Hill", "YELLOW", Some("brass")).unwrap().made, Made::Before);
    desk.word("Hill", "yellow", None).unwrap();
    assert_eq!(named(&desk, "Hill", "yellow"), ("yellow".into(), None));
    assert_eq!(desk.word("Hill", "yellow", None), Err(PriceRefusal::UnknownWord { word: "yellow".into() }.into()));
}

#[test]
fn folding_never_leads_back() {
    let mut desk = Desk::new();
    let circle = |through: &[&str]| {
        let through = through.iter().map(|name| (*name).to_owned()).collect();
        Err(PriceRefusal::FallbackCircle { through }.into())
    };
    assert_eq!(desk.fold("brass", Some("brass")), circle(&["brass", "brass"]));
    desk.fold("yellow", Some("brass")).unwrap();
    desk.fold("brass", Some("copper")).unwrap();
    assert_eq!(desk.fold("copper", Some("yellow")), circle(&["copper", "yellow", "brass", "copper"]));
    desk.fold("brass", None).unwrap();
    desk.fold("copper", Some("yellow")).unwrap();
}

#[test]
fn all_the_same_today_is_said_once() {
    let mut desk = Desk::new();
    let table = "buyer,grade,price,day,breaks\nHill,brass,4/lb,2026-03-01,100lb=4.20\nHill,copper,-5/piece,2026-03-02,\n";
    let rows = read(desk.core.books(), table, eur(), today()).rows;
    desk.prices(PriceOrder::Keep(rows.into_iter().map(|row| row.quoting).collect())).unwrap();
    let same = |day| PriceOrder::SameToday { buyer: NameRef("hill".into()), day };
    assert_eq!(desk.prices(same(today())).unwrap().made, Made::Now);
    let quotes: Vec<_> = desk.core.books().quotes.values().cloned().collect();
    assert_eq!(quotes.len(), 4);
    let again = |of: usize| crate::facts::books::Quote { day: today(), ..quotes[of].clone() };
    assert!(quotes[2..].contains(&again(0)) && quotes[2..].contains(&again(1)), "every term is the same but the day");
    assert_eq!(desk.prices(same(today())).unwrap().made, Made::Before);
    let none = desk.prices(PriceOrder::SameToday { buyer: NameRef("Quayside".into()), day: today() });
    assert_eq!(none, Err(PriceRefusal::NothingQuoted { buyer: "Quayside".into() }.into()));
}

#[test]
fn one_wrong_quote_keeps_none() {
    let mut desk = Desk::new();
    let rows = read(desk.core.books(), "buyer,grade,price\nHill,brass,4/lb\nHill,copper,5/lb\n", eur(), today()).rows;
    let mut quotes: Vec<_> = rows.into_iter().map(|row| row.quoting).collect();
    quotes[1].deduction = Some(Decimal::ONE_HUNDRED + Decimal::ONE);
    let before = desk.core.books().seq;
    let refused = desk.prices(PriceOrder::Keep(quotes));
    assert_eq!(refused, Err(PriceRefusal::At { place: 1, refusal: Box::new(Refusal::DeductionOutOfRange) }.into()));
    assert_eq!(desk.core.books().seq, before);
}

fn cells() -> impl Strategy<Value = String> {
    let one = |good: &'static [&'static str], bad: &'static [&'static str]| prop_oneof![12 => proptest::sample::select(good), 1 => proptest::sample::select(bad)];
    (
        one(&["Quayside", "hill"], &["Nobody", ""]),
        one(&["copper", "brass", "Yellow"], &["lead", ""]),
        one(&["4.10/lb", "0.35 per piece", "-0.20/kg", "310 USD/gross ton", "8/kg"], &["310/ton", "4,1/lb", ""]),
        one(&["", "2026-03-01", "2026-03-02"], &["yesterday"]),
        one(&["", "100kg=4.20; 200kg=4.40"], &["200kg=1;100kg=2", "much"]),
        one(&["", "5kg", "10lb"], &["-1kg", "5"]),
        one(&["", "", "", "2.5"], &["101"]),
    )
        .prop_map(|(buyer, grade, price, day, steps, minimum, off)| {
            format!("{buyer},{grade},\"{price}\",{day},{steps},{minimum},{off}\n")
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_dry_run_says_what_an_import_does(lines in proptest::collection::vec(cells(), 1..8)) {
        let mut desk = Desk::new();
        let table = format!("buyer,grade,price,day,breaks,minimum,deduction_percent\n{}", lines.concat());
        let look = |desk: &Desk| read(desk.core.books(), &table, eur(), today());
        let dry = look(&desk);
        prop_assert!(dry.faults.iter().all(|fault| (2..=lines.len() as u64 + 1).contains(&fault.line)));
        let before = desk.core.books().quotes.len();
        if dry.faults.is_empty() {
            prop_assert_eq!(dry.rows.len(), lines.len());
            let quotes = |table: super::price_table::Table| table.rows.into_iter().map(|row| row.quoting).collect::<Vec<_>>();
            let kept = desk.prices(PriceOrder::Keep(quotes(dry))).unwrap();
            prop_assert_eq!(kept.made, Made::Now);
            prop_assert_eq!(desk.core.books().quotes.len() - before, lines.len());
            // The same table once more is nothing new.
            let again = look(&desk);
            prop_assert!(again.faults.is_empty() && again.rows.iter().all(|row| row.already));
            let decided = super::decide::decide(desk.core.books(), BenchId(1), &Order::Prices(PriceOrder::Keep(quotes(again))));
            prop_assert!(matches!(decided, Ok(Decision::Already(_))));
        } else {
            let faulty: std::collections::BTreeSet<u64> = dry.faults.iter().map(|fault| fault.line).collect();
            prop_assert_eq!(dry.rows.len() + faulty.len(), lines.len(), "each line is read or has a fault");
        }
    }

    #[test]
    fn steps_are_written_as_they_are_read(
        parts in proptest::collection::vec((1_i64..10_000_000, -3_i8..1, 0_usize..4, -100_000_i64..100_000), 0..5),
    ) {
        let units = [Unit::Gram, Unit::Kilogram, Unit::Pound, Unit::Ounce];
        let step = |(count, exponent, unit, cents): &(i64, i8, usize, i64)| Break {
            from: Mass::of(Displayed { count: *count, exponent: *exponent }, units[*unit]).unwrap(),
            amount: Decimal::new(*cents, 2),
        };
        let steps: Vec<Break> = parts.iter().map(step).collect();
        prop_assert_eq!(breaks(&written_breaks(&steps)).unwrap(), steps);
    }

    #[test]
    fn no_table_panics(text in "\\PC{0,80}") {
        let desk = Desk::new();
        _ = read(desk.core.books(), &format!("buyer,grade,price\n{text}"), eur(), today());
        _ = Price::signed(&text);
    }
}

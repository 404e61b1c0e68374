//! Samples of the facts of runs, tickets and payments.

use bismar::facts::{
    BackHome, BinId, BuyerId, EntryId, Fact, FillId, GradeId, LoadMoved, LoadWhy, PaperLine, PaperOff, PayMethod, PaymentCame,
    RunLoad, RunSetOut, RunTakenBack, Source, TicketId, TicketSettled, TicketTaken, TicketVoided, WeighedPart,
};
use bismar::measure::{Currency, Mass, Money, Price, Span};
use jiff::civil::date;
use rust_decimal::Decimal;

/// Of these facts; none of the others.
pub fn kind(fact: &Fact) -> Option<usize> {
    match fact {
        Fact::RunSetOut(_) => Some(85),
        Fact::TicketTaken(_) => Some(86),
        Fact::LoadMoved(_) => Some(87),
        Fact::TicketVoided(_) => Some(88),
        Fact::TicketSettled(_) => Some(89),
        Fact::PaymentCame(_) => Some(90),
        Fact::RunTakenBack(_) => Some(96),
        _ => None,
    }
}

pub fn facts() -> Vec<Fact> {
    let grams = Mass::grams;
    let usd = Currency::parse("USD").unwrap();
    let (buyer, bin, fill, ticket) = (BuyerId(2), BinId(4), FillId(4), TicketId(7));
    let bare = PaperLine {
        text: String::new(),
        grade: None,
        gross: None,
        tare: None,
        net: grams(500),
        digit: grams(10),
        off: None,
        off_percent: None,
        refused: None,
        price: None,
        amount: None,
    };
    let full = PaperLine {
        text: "#2 copper".to_owned(),
        grade: Some(GradeId(3)),
        gross: Some(grams(12_000)),
        tare: Some(grams(2000)),
        net: grams(10_000),
        off: Some(grams(100)),
        off_percent: Some(Decimal::ONE),
        refused: Some(grams(40)),
        price: Some(Price::parse("6.00/kg", usd).unwrap()),
        amount: Some(Decimal::new(5940, 2)),
        ..bare.clone()
    };
    let moved =
        |why, mass, ticket, line| LoadMoved { why, bin, fill, mass, ticket, line, whole: false, weighed: None, reason: None };
    let load = |moved: LoadMoved| Fact::LoadMoved(Box::new(moved));
    let part = WeighedPart { mass: grams(502), division: grams(1), here: true };
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::BuyerMade { name: "the yard".to_owned() },
        /* 3 */ Fact::GradeMade { name: "copper".to_owned() },
        /* 4 */ Fact::BinMade { number: 1, name: None, grade: Some(GradeId(3)), tare: None, capacity: None },
        /* 5 */
        Fact::RunSetOut(Box::new(RunSetOut {
            day: date(2026, 3, 2),
            stops: vec![buyer],
            loads: vec![
                RunLoad { bin, fill, whole: false, mass: Some(grams(500)) },
                RunLoad { bin, fill, whole: true, mass: None },
            ],
            distance_km: Some(Decimal::new(185, 1)),
            span: Some(Span::seconds(4800)),
            cost: Some(Money { amount: Decimal::new(900, 2), currency: usd }),
        })),
        /* 6 */
        Fact::RunSetOut(Box::new(RunSetOut {
            day: date(2026, 3, 3),
            stops: vec![],
            loads: vec![],
            distance_km: None,
            span: None,
            cost: None,
        })),
        /* 7 */
        Fact::TicketTaken(Box::new(TicketTaken {
            buyer,
            day: date(2026, 3, 2),
            number: Some("A 77".to_owned()),
            run: Some(5),
            currency: usd,
            passes: vec![grams(2_010_000), grams(2_000_000)],
            division: Some(grams(20)),
            lines: vec![full],
            off: vec![PaperOff { what: "weighing".to_owned(), amount: Decimal::new(100, 2) }],
            total: Some(Decimal::new(5840, 2)),
            due: Some(date(2026, 3, 16)),
        })),
        /* 8 */ load(LoadMoved { whole: true, ..moved(LoadWhy::Sold, grams(-10_000), Some(ticket), Some(1)) }),
        /* 9 */ load(LoadMoved { whole: true, ..moved(LoadWhy::ScaleDifference, grams(-20), Some(ticket), None) }),
        /* 10 */ load(LoadMoved { weighed: Some(part), ..moved(LoadWhy::Sold, grams(-500), Some(ticket), Some(1)) }),
        /* 11 */ load(moved(LoadWhy::BroughtHome, grams(40), Some(ticket), Some(1))),
        /* 12 */
        load(LoadMoved { reason: Some("for a tenner".to_owned()), ..moved(LoadWhy::SoldUnweighed, grams(-5), None, None) }),
        /* 13 */
        load(LoadMoved { reason: Some("to a neighbour".to_owned()), ..moved(LoadWhy::GivenAway, grams(-6), None, None) }),
        /* 14 */
        Fact::TicketTaken(Box::new(TicketTaken {
            buyer,
            day: date(2026, 3, 3),
            number: None,
            run: None,
            currency: usd,
            passes: vec![],
            division: None,
            lines: vec![bare],
            off: vec![],
            total: None,
            due: None,
        })),
        /* 15 */ Fact::TicketSettled(TicketSettled { ticket, reason: "asked them".to_owned() }),
        /* 16 */
        Fact::PaymentCame(PaymentCame {
            ticket,
            day: date(2026, 3, 9),
            method: PayMethod::Cheque,
            amount: Money { amount: Decimal::new(5000, 2), currency: usd },
            fee: Some(Decimal::new(50, 2)),
            held: false,
        }),
        /* 17 */
        Fact::PaymentCame(PaymentCame {
            ticket,
            day: date(2026, 4, 1),
            method: PayMethod::Cash,
            amount: Money { amount: Decimal::new(840, 2), currency: usd },
            fee: None,
            held: true,
        }),
        /* 18 */
        Fact::TicketVoided(TicketVoided { ticket, moves: vec![EntryId(8), EntryId(9)], reason: "another week's".to_owned() }),
    ]
}

/// A run that never was.
pub fn taken_back() -> Vec<Fact> {
    let (bin, fill) = (BinId(3), FillId(3));
    let load = RunLoad { bin, fill, whole: true, mass: None };
    let (day, stops) = (date(2026, 3, 2), vec![BuyerId(2)]);
    let run = RunSetOut { day, stops, loads: vec![load], distance_km: None, span: None, cost: None };
    let weight = |fill: FillId, grams: i64| Fact::WeightEntered {
        bin: Some(bin),
        fill: Some(fill),
        session: None,
        mass: Mass::grams(grams),
        source: Source::Label { division: Mass::grams(1) },
        reason: "weighed outside".to_owned(),
    };
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::BuyerMade { name: "the yard".to_owned() },
        /* 3 */ Fact::BinMade { number: 1, name: None, grade: None, tare: Some(Mass::grams(850)), capacity: None },
        /* 4 */ weight(fill, 500),
        /* 5 */ Fact::RunSetOut(Box::new(run)),
        /* 6 */ Fact::BinEmptied { bin, fill, reason: "on board".to_owned() },
        /* 7 */ weight(FillId(6), 40),
        /* 8 */
        Fact::RunTakenBack(RunTakenBack {
            run: 5,
            home: vec![BackHome { bin, fill, since: FillId(6) }],
            reason: "the van would not start".to_owned(),
        }),
    ]
}

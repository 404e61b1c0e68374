//! What is told of places, wire and the stock: the recorded samples of those facts.

use bismar::facts::{
    BackHome, BinFull, BinId, EmptyingTakenBack, Fact, FeedId, FeedMarked, FillId, GradeId, LimitsTold, Mark, Marks, Seen, Set,
    SortingTold, Source, StockFollowed, StockSeen, WireSampled,
};
use bismar::measure::{Currency, Mass, Money, Span};
use jiff::civil::date;
use rust_decimal::Decimal;

/// Of these facts; none of the others.
pub fn kind(fact: &Fact) -> Option<usize> {
    match fact {
        Fact::FeedMarked(_) => Some(73),
        Fact::BinFull(_) => Some(74),
        Fact::SortingTold(_) => Some(75),
        Fact::LimitsTold(_) => Some(76),
        Fact::WireSampled(_) => Some(77),
        Fact::StockSeen(_) => Some(78),
        Fact::StockFollowed(_) => Some(79),
        Fact::EmptyingTakenBack(_) => Some(97),
        _ => None,
    }
}

pub fn facts() -> Vec<Fact> {
    let grams = Mass::grams;
    let (feed, grade, bin, fill) = (FeedId(2), GradeId(3), BinId(4), FillId(4));
    let floor = Money { amount: Decimal::new(1250, 2), currency: Currency::parse("USD").unwrap() };
    let wire = |span| WireSampled {
        feed,
        metal: grade,
        insulated: grams(412),
        bare: grams(255),
        division: grams(1),
        span,
        day: date(2026, 3, 2),
    };
    let look = |seen| Fact::StockSeen(StockSeen { bin, fill, booked: grams(8000), seen });
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::FeedMade { name: "house wire".to_owned() },
        /* 3 */ Fact::GradeMade { name: "bright wire".to_owned() },
        /* 4 */ Fact::BinMade { number: 1, name: None, grade: Some(grade), tare: None, capacity: None },
        /* 5 */
        Fact::WeightEntered {
            bin: Some(bin),
            fill: Some(fill),
            session: None,
            mass: grams(8000),
            source: Source::HangingScale { division: grams(10) },
            reason: "too heavy".to_owned(),
        },
        /* 6 */
        Fact::FeedMarked(Box::new(FeedMarked {
            feed,
            marks: Marks { strain: Mark::Much, mess: Mark::Some, space: Mark::None, veto: Some("my \"wrist\"".to_owned()) },
        })),
        /* 7 */ Fact::FeedMarked(Box::new(FeedMarked { feed, marks: Marks::default() })),
        /* 8 */ Fact::BinFull(BinFull { bin, fill }),
        /* 9 */ Fact::SortingTold(SortingTold { grade, a_month: Some(Span::seconds(1800)) }),
        /* 10 */ Fact::SortingTold(SortingTold { grade, a_month: None }),
        /* 11 */ Fact::LimitsTold(LimitsTold { floor: Set::To(Some(floor)), places: Set::Keep }),
        /* 12 */ Fact::LimitsTold(LimitsTold { floor: Set::To(None), places: Set::To(Some(9)) }),
        /* 13 */ Fact::WireSampled(Box::new(wire(Some(Span::seconds(540))))),
        /* 14 */ Fact::WireSampled(Box::new(wire(None))),
        /* 15 */ look(Seen::Right),
        /* 16 */ look(Seen::ThreeQuarters),
        /* 17 */ look(Seen::Half),
        /* 18 */ look(Seen::Quarter),
        /* 19 */
        Fact::StockFollowed(StockFollowed { look: 18, bin, fill, gone: grams(6000), low: grams(5000), high: grams(7000) }),
        /* 20 */ look(Seen::Emptied),
    ]
}

/// A tip that never was.
pub fn emptyings() -> Vec<Fact> {
    let weight = |bin: u64, fill: u64, grams: i64| Fact::WeightEntered {
        bin: Some(BinId(bin)),
        fill: Some(FillId(fill)),
        session: None,
        mass: Mass::grams(grams),
        source: Source::Label { division: Mass::grams(1) },
        reason: "weighed outside".to_owned(),
    };
    let bin = |number| Fact::BinMade { number, name: None, grade: None, tare: None, capacity: None };
    let (from, to, reason) = (BinId(2), BinId(3), "full".to_owned());
    let (from_fill, to_fill, mass) = (FillId(2), FillId(3), Mass::grams(500));
    let home = BackHome { bin: from, fill: from_fill, since: FillId(5) };
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ bin(1),
        /* 3 */ bin(2),
        /* 4 */ weight(2, 2, 500),
        /* 5 */ Fact::BinTipped { from, from_fill, to, to_fill, mass, reason },
        /* 6 */ weight(2, 5, 40),
        /* 7 */ Fact::EmptyingTakenBack(EmptyingTakenBack { home, reason: "it was another bin".to_owned() }),
    ]
}

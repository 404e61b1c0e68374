//! What a drive is planned from: the recorded samples of those facts.

use bismar::facts::{
    BinChange, BinId, BinPinned, BuyerId, Fact, FillId, GradeId, Hold, HoldTold, OpenDays, Pin, RoadTold, Set, VehicleTold, Way,
    Yard, YardTold,
};
use bismar::measure::{Currency, Distance, DistanceUnit, Mass, Money, Price, PriceUnit, Running};
use jiff::civil::date;
use rust_decimal::Decimal;

/// Of these facts; none of the others.
pub fn kind(fact: &Fact) -> Option<usize> {
    match fact {
        Fact::YardTold(_) => Some(91),
        Fact::RoadTold(_) => Some(92),
        Fact::VehicleTold(_) => Some(93),
        Fact::HoldTold(_) => Some(94),
        Fact::BinPinned(_) => Some(95),
        _ => None,
    }
}

pub fn facts() -> Vec<Fact> {
    let usd = Currency::parse("USD").unwrap();
    let (one, other, grade, bin, fill) = (BuyerId(2), BuyerId(3), GradeId(4), BinId(5), FillId(5));
    let way = |tenths, unit, minutes| Way { distance: Distance { amount: Decimal::new(tenths, 1), unit }, minutes };
    let yard = |yard| Fact::YardTold(Box::new(YardTold { buyer: one, yard }));
    let road = |way| Fact::RoadTold(RoadTold { one, other, way });
    let running = |per| Set::To(Some(Running { money: Money { amount: Decimal::new(67, 2), currency: usd }, per }));
    let hold = |hold| Fact::HoldTold(HoldTold { grade, hold });
    let at = Price { amount: Decimal::new(400, 2), currency: usd, per: PriceUnit::Pound };
    let pin = |pin| Fact::BinPinned(BinPinned { bin, fill, pin });
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::BuyerMade { name: "the yard".to_owned() },
        /* 3 */ Fact::BuyerMade { name: "the other".to_owned() },
        /* 4 */ Fact::GradeMade { name: "bright wire".to_owned() },
        /* 5 */ Fact::BinMade { number: 1, name: None, grade: Some(grade), tare: None, capacity: None },
        /* 6 */
        yard(Some(Yard {
            way: way(125, DistanceUnit::Kilometre, 20),
            minutes_there: 25,
            open: OpenDays::of(["mon", "sat"]),
            closed: vec![date(2026, 12, 24), date(2026, 12, 26)],
        })),
        /* 7 */
        yard(Some(Yard { way: way(80, DistanceUnit::Mile, 0), minutes_there: 0, open: None, closed: Vec::new() })),
        /* 8 */ yard(None),
        /* 9 */ road(Some(way(33, DistanceUnit::Kilometre, 7))),
        /* 10 */ road(None),
        /* 11 */
        Fact::VehicleTold(VehicleTold {
            payload: Set::To(Some(Mass::grams(450_000))),
            litres: Set::Keep,
            bins: Set::To(Some(12)),
            running: running(DistanceUnit::Mile),
        }),
        /* 12 */
        Fact::VehicleTold(VehicleTold {
            payload: Set::To(None),
            litres: Set::To(Some(900)),
            bins: Set::To(None),
            running: running(DistanceUnit::Kilometre),
        }),
        /* 13 */ hold(Some(Hold { at, by: Some(date(2026, 6, 30)), from: Some(Mass::grams(40_000)) })),
        /* 14 */ hold(Some(Hold { at, by: None, from: None })),
        /* 15 */ hold(None),
        /* 16 */ pin(Some(Pin::Go)),
        /* 17 */ pin(None),
        /* 18 */ pin(Some(Pin::Leave)),
        /* 19 */ Fact::BinChanged { bin, change: BinChange { litres: Set::To(Some(30)), ..BinChange::default() } },
        /* 20 */ Fact::BinChanged { bin, change: BinChange { litres: Set::To(None), ..BinChange::default() } },
    ]
}

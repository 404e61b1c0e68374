//! What is told of prices, grades and buyers beside their names: the recorded samples of those facts.

use bismar::facts::{
    BinId, Break, BuyerId, BuyerTold, Fact, FillId, GradeId, GradeTold, Payout, PiecesCounted, RateQuoted, Set, WordTold,
};
use bismar::measure::{Currency, Mass, Rate};
use jiff::civil::date;
use rust_decimal::Decimal;

pub fn facts() -> Vec<Fact> {
    let usd = Currency::parse("USD").unwrap();
    let (grade, coarse, buyer, bin, fill) = (GradeId(2), GradeId(3), BuyerId(4), BinId(5), FillId(5));
    let bare = |rate: &str| RateQuoted {
        buyer,
        grade,
        rate: Rate::parse(rate, usd).unwrap(),
        day: date(2026, 3, 2),
        stale_after: None,
        breaks: Vec::new(),
        minimum: None,
        deduction: None,
    };
    let quoted = |given: RateQuoted| Fact::RateQuoted(Box::new(given));
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::GradeMade { name: "clean brass".to_owned() },
        /* 3 */ Fact::GradeMade { name: "brass".to_owned() },
        /* 4 */ Fact::BuyerMade { name: "the yard".to_owned() },
        /* 5 */ Fact::BinMade { number: 1, name: None, grade: Some(grade), tare: None, capacity: None },
        /* 6 */ quoted(bare("0.350/piece")),
        /* 7 */
        quoted(RateQuoted {
            stale_after: Some(14),
            breaks: vec![Break { from: Mass::grams(100_000), amount: Decimal::new(-10, 2) }],
            minimum: Some(Mass::grams(2500)),
            deduction: Some(Decimal::new(25, 1)),
            ..bare("-0.20/kg")
        }),
        /* 8 */ Fact::PiecesCounted(PiecesCounted { bin, fill, pieces: 12 }),
        /* 9 */
        Fact::GradeTold(GradeTold { grade, fallback: Set::To(Some(coarse)), specification: Set::To(Some("HONEY".to_owned())) }),
        /* 10 */ Fact::GradeTold(GradeTold { grade, fallback: Set::Keep, specification: Set::To(None) }),
        /* 11 */ Fact::BuyerTold(BuyerTold { buyer, payout: Payout::NearestFive }),
        /* 12 */ Fact::WordTold(WordTold { buyer, word: "Yellow  Brass".to_owned(), grade: Some(grade) }),
        /* 13 */ Fact::WordTold(WordTold { buyer, word: "yellow brass".to_owned(), grade: None }),
    ]
}

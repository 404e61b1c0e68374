//! Coins as check weights: what their makers publish that they weigh.
//!
//! United States: the mint's page "Coin Specifications" (usmint.gov), weights of what is struck now. Euro: Council Regulation
//! (EC) No 975/98 as EUR-Lex sums it up (8.5, 7.5 and 7.8 g); it was recast as (EU) No 729/2014, whose annex I was not read. A
//! coin in use has lost some of it and a new one may be off by a per cent or more (from memory), and neither source bounds that
//! for what lies in a purse: so coins show a gross error, and bound nothing.

use crate::measure::Mass;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coin {
    /// As in `us-nickel`.
    pub code: &'static str,
    pub milligrams: i64,
    pub maker: Maker,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Maker {
    UnitedStates,
    EuroArea,
}

const fn us(code: &'static str, milligrams: i64) -> Coin {
    Coin { code, milligrams, maker: Maker::UnitedStates }
}

const fn euro(code: &'static str, milligrams: i64) -> Coin {
    Coin { code, milligrams, maker: Maker::EuroArea }
}

pub const COINS: [Coin; 8] = [
    us("us-cent", 2500),
    us("us-nickel", 5000),
    us("us-dime", 2268),
    us("us-quarter", 5670),
    us("us-half-dollar", 11_340),
    euro("eur-50-cent", 7800),
    euro("eur-1", 7500),
    euro("eur-2", 8500),
];

impl Coin {
    pub fn of(code: &str) -> Option<Coin> {
        COINS.into_iter().find(|coin| coin.code == code)
    }

    /// So many of them.
    pub fn times(self, count: u32) -> Mass {
        Mass::from_femtograms(i128::from(self.milligrams) * 1_000_000_000_000 * i128::from(count))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Unit;

    /// Rolls as banks hand them out.
    #[test]
    fn rolls_of_coins() {
        let mass = |code: &str, count| Coin::of(code).map(|coin| coin.times(count));
        assert_eq!(mass("us-nickel", 40), Some(Mass::grams(200)));
        assert_eq!(mass("us-quarter", 40), Mass::parse("226.8", Unit::Gram).ok());
        assert_eq!(mass("eur-2", 25), Mass::parse("212.5", Unit::Gram).ok());
        assert_eq!(mass("penny", 1), None);
    }
}

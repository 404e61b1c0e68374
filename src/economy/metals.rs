//! Densities of metals that come out of discarded goods, near 20 °C.
//!
//! Each is a span: from the lowest to the highest of the values that public tables and makers' sheets give for it, since
//! alloys vary and tables differ. Where only one value was found, the span is that value. Sources: the tables of the elements
//! (CRC Handbook), the Copper Development Association's alloy data, the Aluminum Association, NADCA and ASTM B86 for zinc and
//! aluminium die castings, solder makers' sheets; those for brass 60/40, red brass 85/15, wrought aluminium, AZ91 and
//! stainless 304 are from memory.

use rust_decimal::Decimal;

macro_rules! metals {
    ($($name:ident $code:literal $low:literal $high:literal;)*) => {
        /// A metal by what a bench worker calls it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Metal {
            $($name,)*
        }

        impl Metal {
            pub const ALL: &'static [Metal] = &[$(Metal::$name,)*];

            /// A lasting name for interfaces.
            pub const fn code(self) -> &'static str {
                match self {
                    $(Metal::$name => $code,)*
                }
            }

            /// Lowest and highest density, in kilograms a cubic metre.
            pub fn span(self) -> (Decimal, Decimal) {
                let (low, high): (i64, i64) = match self {
                    $(Metal::$name => ($low, $high),)*
                };
                (Decimal::from(low), Decimal::from(high))
            }
        }
    };
}

metals! {
    Magnesium "magnesium" 1738 1810;
    Aluminium "aluminium" 2700 2720;
    AluminiumCasting "aluminium-casting" 2710 2740;
    ZincCasting "zinc-casting" 6600 6640;
    Zinc "zinc" 7100 7140;
    Tin "tin" 7280 7310;
    LeadFreeSolder "lead-free-solder" 7380 7500;
    Steel "steel" 7850 7870;
    Stainless "stainless" 7900 8000;
    LeadSolder "lead-solder" 8400 8520;
    Brass6040 "brass-60-40" 8390 8520;
    FreeCuttingBrass "free-cutting-brass" 8498 8500;
    Brass7030 "brass-70-30" 8530 8530;
    RedBrass "red-brass" 8750 8750;
    LeadedRedBrass "leaded-red-brass" 8800 8830;
    PhosphorBronze "phosphor-bronze" 8780 8920;
    Nickel "nickel" 8800 8900;
    Copper "copper" 8930 8960;
    SterlingSilver "sterling-silver" 10360 10360;
    Silver "silver" 10490 10490;
    Lead "lead" 11340 11360;
    Gold "gold" 19320 19320;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_the_right_way_round_and_codes_are_unlike() {
        for metal in Metal::ALL {
            let (low, high) = metal.span();
            assert!(low <= high, "{}", metal.code());
            assert_eq!(Metal::ALL.iter().filter(|other| other.code() == metal.code()).count(), 1);
        }
    }
}

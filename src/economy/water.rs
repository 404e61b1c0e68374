//! The density of water.

use rust_decimal::Decimal;

/// Kilograms a cubic metre at so many degrees Celsius, for air-free water at 101 325 Pa; none outside 0 to 40 °C.
///
/// M. Tanaka et al., "Recommended table for the density of water between 0 °C and 40 °C", Metrologia 38 (2001) 301, equation 1
/// (constants from memory, and in agreement with the tables of IAPWS-95 to 0.0013 kg/m³).
pub fn density(celsius: Decimal) -> Option<Decimal> {
    if celsius < Decimal::ZERO || celsius > Decimal::from(40) {
        return None;
    }
    let constant = Decimal::new;
    let from_densest = celsius - constant(3_983_035, 6);
    let above = from_densest * from_densest * (celsius + constant(301_797, 3));
    let below = constant(5_225_289, 1) * (celsius + constant(6_934_881, 5));
    Some(constant(999_974_950, 6) * (Decimal::ONE - above / below))
}

/// How much it changes a degree, around a temperature: kilograms a cubic metre and kelvin.
pub fn slope(celsius: Decimal) -> Option<Decimal> {
    let half = Decimal::new(5, 1);
    let (low, high) = ((celsius - half).max(Decimal::ZERO), (celsius + half).min(Decimal::from(40)));
    (density(high)? - density(low)?).checked_div(high - low)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Metrologia 38 (2001) 301, reckoned apart from this code, beside IAPWS-95.
    #[test]
    fn the_published_table() {
        for (celsius, tanaka, iapws) in [
            (4, 9_999_749, 9_999_749),
            (10, 9_997_027, 9_997_025),
            (15, 9_991_026, 9_991_026),
            (20, 9_982_067, 9_982_072),
            (25, 9_970_470, 9_970_476),
            (30, 9_956_488, 9_956_495),
            (40, 9_922_152, 9_922_164),
        ] {
            let got = density(Decimal::from(celsius)).unwrap();
            assert_eq!(got.round_dp(4), Decimal::new(tanaka, 4), "{celsius} °C");
            assert!((got - Decimal::new(iapws, 4)).abs() <= Decimal::new(13, 4), "{celsius} °C");
        }
        assert_eq!(density(Decimal::from(41)), None);
        assert_eq!(density(Decimal::NEGATIVE_ONE), None);
    }

    #[test]
    fn it_is_densest_at_four_degrees() {
        assert!(slope(Decimal::from(2)).unwrap() > Decimal::ZERO);
        assert!(slope(Decimal::from(20)).unwrap() < Decimal::ZERO);
        assert!(slope(Decimal::from(40)).is_some() && slope(Decimal::ZERO).is_some());
    }
}

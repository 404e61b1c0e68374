//! What a scale of a class may err by, in divisions of its own.
//!
//! After NIST Handbook 44, section 2.20, tables 3 and 6, and OIML R 76-1:2006, 3.5.1, table 6, whose figures also stand in the
//! United Kingdom's SI 1995/1907, schedule 2, table 3 (read there, with the first step of class II as R 60 has it; Handbook
//! 44 from memory). For the owner's own checks: nothing here makes a scale legal for trade.

use crate::measure::{Mass, Unit};

/// Accuracy classes; a bench scale is mostly III or IIII where it has any.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    I,
    II,
    III,
    /// Large platforms, Handbook 44 only.
    IIIL,
    IIII,
}

/// Whose table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Table {
    Handbook44Acceptance,
    /// Twice the acceptance tolerance.
    Handbook44Maintenance,
    R76Initial,
    /// Twice the initial error.
    R76InService,
}

/// The most that an indication of `load` may be off; none where the class has no such load or the table no such class.
pub fn tolerance(table: Table, class: Class, load: Mass, division: Mass) -> Option<Mass> {
    if division <= Mass::ZERO {
        return None;
    }
    let halves = half_divisions(table, class, load.abs(), division)?;
    let doubled = match table {
        Table::Handbook44Maintenance | Table::R76InService => 2,
        Table::Handbook44Acceptance | Table::R76Initial => 1,
    };
    Some(Mass::from_femtograms(division.femtograms().checked_mul(i128::from(halves * doubled))? / 2))
}

/// Half divisions for a new scale.
fn half_divisions(table: Table, class: Class, load: Mass, division: Mass) -> Option<u32> {
    let american = matches!(table, Table::Handbook44Acceptance | Table::Handbook44Maintenance);
    let upto = |divisions: i128| load.femtograms() <= division.femtograms().saturating_mul(divisions);
    let steps: &[(i128, u32)] = match (class, american) {
        (Class::I, _) => &[(50_000, 1), (200_000, 2), (i128::MAX, 3)],
        (Class::II, _) => &[(5_000, 1), (20_000, 2), (100_000, 3)],
        (Class::III, true) => &[(500, 1), (2_000, 2), (4_000, 3), (10_000, 5)],
        (Class::III, false) => &[(500, 1), (2_000, 2), (10_000, 3)],
        (Class::IIII, true) => &[(50, 1), (200, 2), (400, 3), (1_200, 5)],
        (Class::IIII, false) => &[(50, 1), (200, 2), (1_000, 3)],
        (Class::IIIL, true) => {
            // One division for the first 500, then one more for each 500 or part of it.
            let five_hundreds = load.femtograms().checked_div(division.femtograms().checked_mul(500)?)?;
            let part = load.femtograms() % (division.femtograms() * 500) > 0;
            let whole = u32::try_from(five_hundreds).ok()? + u32::from(part);
            return upto(10_000).then_some(whole.max(1));
        }
        (Class::IIIL, false) => return None,
    };
    steps.iter().find(|(divisions, _)| upto(*divisions)).map(|(_, halves)| *halves)
}

/// Fewest and most divisions that a scale of the class with this division may have (Handbook 44, table 3; its metric rows
/// and those in pounds and ounces taken together).
pub fn divisions_of(class: Class, division: Mass) -> Option<(u32, Option<u32>)> {
    let of = |unit: Unit, count: i128, places: u32| Mass::from_femtograms(count * unit.femtograms() / 10_i128.pow(places));
    let milligrams = |count| of(Unit::Gram, count, 3);
    let from = |least: Mass| division >= least;
    let upto = |most: Mass| division <= most;
    let hundredth_pound = of(Unit::Pound, 1, 2);
    match class {
        Class::I if from(milligrams(1)) => Some((50_000, None)),
        Class::II if from(milligrams(100)) => Some((5_000, Some(100_000))),
        Class::II if from(milligrams(1)) && upto(milligrams(50)) => Some((100, Some(100_000))),
        Class::III if from(hundredth_pound) => Some((500, Some(10_000))),
        Class::III if from(of(Unit::Pound, 2, 4)) && upto(of(Unit::Ounce, 125, 3)) => Some((100, Some(10_000))),
        Class::IIIL if from(milligrams(2_000_000)) => Some((2_000, Some(10_000))),
        Class::IIII if division > hundredth_pound => Some((100, Some(1_200))),
        _ => None,
    }
}

/// Whether a scale of this capacity and division can be of the class.
pub fn can_be(class: Class, capacity: Mass, division: Mass) -> bool {
    let Some((least, most)) = divisions_of(class, division) else { return false };
    let divisions = capacity.femtograms() / division.femtograms().max(1);
    divisions >= i128::from(least) && most.is_none_or(|most| divisions <= i128::from(most))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn halves(table: Table, class: Class, load: i64) -> Option<i128> {
        let half = Mass::grams(1).femtograms() / 2;
        tolerance(table, class, Mass::grams(load), Mass::grams(1)).map(|most| most.femtograms() / half)
    }

    /// NIST Handbook 44, 2.20, table 6, and OIML R 76-1:2006, table 6; the steps of class III.
    #[test]
    fn class_three_in_half_divisions() {
        for (load, initial, in_service, acceptance, maintenance) in [
            (20, 1, 2, 1, 2),
            (500, 1, 2, 1, 2),
            (501, 2, 4, 2, 4),
            (2000, 2, 4, 2, 4),
            (2001, 3, 6, 3, 6),
            (4000, 3, 6, 3, 6),
            (4001, 3, 6, 5, 10),
            (5000, 3, 6, 5, 10),
        ] {
            assert_eq!(halves(Table::R76Initial, Class::III, load), Some(initial), "{load}");
            assert_eq!(halves(Table::R76InService, Class::III, load), Some(in_service), "{load}");
            assert_eq!(halves(Table::Handbook44Acceptance, Class::III, load), Some(acceptance), "{load}");
            assert_eq!(halves(Table::Handbook44Maintenance, Class::III, load), Some(maintenance), "{load}");
        }
    }

    #[test]
    fn the_other_classes() {
        for (table, class, load, expected) in [
            (Table::R76Initial, Class::II, 5000, Some(1)),
            (Table::R76Initial, Class::II, 5001, Some(2)),
            (Table::R76Initial, Class::II, 100_001, None),
            (Table::R76Initial, Class::I, 200_001, Some(3)),
            (Table::R76Initial, Class::IIII, 51, Some(2)),
            (Table::R76Initial, Class::IIII, 1001, None),
            (Table::Handbook44Maintenance, Class::IIII, 401, Some(10)),
            (Table::Handbook44Maintenance, Class::IIIL, 500, Some(2)),
            (Table::Handbook44Maintenance, Class::IIIL, 501, Some(4)),
            (Table::Handbook44Maintenance, Class::IIIL, 1001, Some(6)),
            (Table::R76Initial, Class::IIIL, 100, None),
            (Table::R76Initial, Class::III, -501, Some(2)),
        ] {
            assert_eq!(halves(table, class, load), expected, "{table:?} {class:?} {load}");
        }
        assert_eq!(tolerance(Table::R76Initial, Class::III, Mass::grams(1), Mass::ZERO), None);
    }

    /// NIST Handbook 44, 2.20, table 3: 15 kg by 5 g and 6 kg by 1 g can be class III, 3 kg by 0.1 g cannot.
    #[test]
    fn capacity_over_division() {
        let tenth = Mass::from_femtograms(Mass::grams(1).femtograms() / 10);
        assert!(can_be(Class::III, Mass::grams(15_000), Mass::grams(5)));
        assert!(can_be(Class::III, Mass::grams(6_000), Mass::grams(1)));
        assert!(!can_be(Class::III, Mass::grams(3_000), tenth));
        assert!(can_be(Class::II, Mass::grams(3_000), tenth));
        assert!(!can_be(Class::IIII, Mass::grams(10), Mass::grams(1)));
        let pounds = |text| Mass::parse(text, Unit::Pound).unwrap();
        assert!(can_be(Class::III, pounds("30"), pounds("0.01")));
        assert!(!can_be(Class::III, pounds("3"), pounds("0.01")), "three hundred are too few");
        assert!(can_be(Class::III, pounds("3"), pounds("0.005")));
        assert!(can_be(Class::IIII, pounds("30"), pounds("0.1")) && !can_be(Class::IIII, pounds("30"), pounds("0.01")));
    }
}

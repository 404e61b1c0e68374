//! How scales are to be checked, from the configuration's words.

use crate::config::CheckConfig;
use crate::economy::check_weight::HeldTo;
use crate::economy::tolerance::{Class, Table};
use crate::query::CheckRule;

/// The scales are in use: the tolerances are those for that, not those of a first inspection.
pub fn check_rule(config: &CheckConfig) -> CheckRule {
    let table = if config.table == "handbook-44" { Table::Handbook44Maintenance } else { Table::R76InService };
    let class = config.class.and_then(|class| match class {
        "I" => Some(Class::I),
        "II" => Some(Class::II),
        "III" => Some(Class::III),
        "IIIL" => Some(Class::IIIL),
        "IIII" => Some(Class::IIII),
        _ => None,
    });
    CheckRule { every_days: config.every_days, held: class.map(|class| HeldTo { class, table }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::CHECK_CLASSES;

    #[test]
    fn every_class_that_can_be_written_is_known() {
        for class in CHECK_CLASSES {
            let rule = check_rule(&CheckConfig { class: Some(class), table: "handbook-44", ..CheckConfig::default() });
            assert_eq!(rule.held.map(|held| format!("{:?}", held.class)), Some(class.to_owned()));
        }
        assert_eq!(check_rule(&CheckConfig::default()), CheckRule { every_days: 30, held: None });
    }
}

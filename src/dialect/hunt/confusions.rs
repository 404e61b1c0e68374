//! Which families can be taken for which, so that a person is told before anything is believed.

use crate::dialect::Dialect;

/// Pairs of names whose frames can look the same. A name that no built family has is passed over.
const PAIRS: [(&str, &str); 15] = [
    // Digits sent in either order.
    ("reversed-digits", "equals-forward"),
    // The longer frame, cut where the shorter one ends.
    ("stx-status-words", "stx-status-words-short"),
    ("pos-stx", "stx-sign-etx"),
    ("pos-stx", "stx-code-digits"),
    ("stx-sign-status-etx", "stx-sign-etx"),
    ("stx-sign-status-etx", "stx-status-sign-etx"),
    ("lf-fixed-flags", "lf-status-chars"),
    ("letter-reply", "letter-reply-wide"),
    ("letter-reply", "labelled-line"),
    ("header-comma-short", "header-comma"),
    ("mode-sign-line", "labelled-line"),
    ("sign-unit-mode-line", "bare-number"),
    ("stx-bits-unit", "stx-letter-cr-etx"),
    ("columns-question", "bare-number"),
    ("hex-status", "dollar-sum"),
];

/// The built families whose frames can look like those of `dialect`.
pub(super) fn confusions(dialect: Dialect) -> Vec<Dialect> {
    let name = dialect.name();
    let other = |&(one, two): &(&'static str, &'static str)| match name {
        _ if name == one => Some(two),
        _ if name == two => Some(one),
        _ => None,
    };
    PAIRS.iter().filter_map(other).filter_map(Dialect::from_name).collect()
}

/// Whether frames of one can look like those of the other.
pub fn confused(one: Dialect, other: Dialect) -> bool {
    confusions(one).contains(&other)
}

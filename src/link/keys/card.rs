//! What stands on a card.

use crate::config::Act;

/// Our own cards are made of these, which every common kind of bar code carries. The colon is read too, but many
/// keyboard layouts have it elsewhere.
pub const CODE_CHARACTERS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-";

/// In front of a word, so that no stray code that happens to be one is taken for an act.
const OURS: &str = "BISMAR";
const BIN: &str = "BIN";
/// A bare number is a bin's only up to here: the shortest codes on goods in shops (UPC-E, EAN-8) have six digits or more.
const BARE_DIGITS: usize = 5;
const DIGITS: usize = 9;

/// Reads `BIN 7`, `7`, `BISMAR-BIN-7`, `BISMAR-NEXT` and the like; letter case does not matter, and space, colon and
/// hyphen stand for each other. None for anything else: nothing is guessed.
pub fn read(text: &str) -> Option<Act> {
    let words: Vec<&str> = text.trim_matches(' ').split([' ', ':', '-']).collect();
    let ours = words.first().is_some_and(|first| first.eq_ignore_ascii_case(OURS));
    match (&words[usize::from(ours)..], ours) {
        ([bin, digits], _) if bin.eq_ignore_ascii_case(BIN) => number(digits, DIGITS),
        ([digits], false) => number(digits, BARE_DIGITS),
        ([word], true) => Act::from_word(word),
        _ => None,
    }
}

fn number(digits: &str, most: usize) -> Option<Act> {
    let right = !digits.is_empty() && digits.len() <= most && digits.bytes().all(|byte| byte.is_ascii_digit());
    right.then(|| digits.parse().ok()).flatten().map(Act::Bin)
}

//! One character of a serial line as a port hands it over, and what many of them tell of the line itself.

use super::alphabet::{Alphabet, Factor};
use crate::dialect::Parity;
use crate::dialect::census::Evidence;

/// What the port found wrong with a character.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineFault {
    /// No stop bit where one had to be; in a mode that checks parity, also a wrong parity bit.
    Framing,
    /// The line was held low for longer than a character.
    Break,
}

/// One character: its eight bits as sampled, right or wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Char {
    pub byte: u8,
    pub fault: Option<LineFault>,
}

impl Char {
    /// A character that the port had nothing to say against.
    pub const fn sound(byte: u8) -> Char {
        Char { byte, fault: None }
    }
}

/// What the line itself looks like, whatever is said on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    /// Too few characters for anything.
    Unclear,
    /// Nothing speaks against this speed.
    Plain,
    /// The port is faster than the line by this factor.
    TooFast(Factor),
    /// Eight bits and a parity bit, which must be opened as such.
    Eight(Parity),
    /// Both levels are swapped: no speed will do.
    Inverted,
    /// The line is held low.
    Break,
    /// Zeros and ones only: a dead line, or no common ground.
    Dead,
    /// So many framing errors that the speed is wrong.
    Wrong,
}

/// So few characters show an alphabet: the smallest share of one value in plain text is larger.
const ALPHABET_AFTER: u64 = 30;
const FAULTS_AFTER: u64 = 64;

/// What was counted since the line was set.
#[derive(Debug, Clone, Default)]
pub(super) struct Census {
    chars: u64,
    faults: u64,
    breaks: u64,
    /// Characters by fault and by the parity of their bits: with a parity bit in place of the stop bit they go together.
    by_weight: [[u64; 2]; 2],
    plain: u64,
    odd_bytes: u64,
    upside_down: u64,
    /// Digits among them: a scale sends numbers.
    digits: u64,
    ends: u64,
    alphabet: Alphabet,
    evidence: Evidence,
}

impl Census {
    pub fn take(&mut self, char: Char) {
        let Char { byte, fault } = char;
        self.chars += 1;
        self.alphabet.take(byte);
        if fault == Some(LineFault::Break) {
            self.breaks += 1;
        }
        let faulty = fault.is_some();
        self.faults += u64::from(faulty);
        self.by_weight[usize::from(faulty)][usize::from(byte.count_ones() % 2 == 1)] += 1;
        self.plain += u64::from(is_text(byte));
        self.odd_bytes += u64::from(byte & 1 == 1);
        self.ends += u64::from(matches!(byte, 0 | 0xff));
        self.upside_down += u64::from(byte & 1 == 1 && is_text(turned(byte)));
        self.digits += u64::from(byte & 1 == 1 && turned(byte).is_ascii_digit());
        if !faulty {
            self.evidence.count(byte);
        }
    }

    /// The rule that bit 7 follows, and whether enough was seen to be sure.
    pub fn parity(&self) -> (Parity, bool) {
        (self.evidence.verdict(), self.evidence.is_enough())
    }

    /// Every character so far keeps one rule of bit 7, and that is not yet known for sure.
    pub fn may_have_parity(&self) -> bool {
        self.faults == 0 && !self.evidence.is_enough() && self.evidence.touched() && self.evidence.is_clean()
    }

    pub fn picture(&self) -> Picture {
        if self.chars < ALPHABET_AFTER {
            // A line that is held low gives one break and then nothing; many are zeros seen much too fast.
            return if self.chars > 0 && self.breaks == self.chars { Picture::Break } else { Picture::Unclear };
        }
        let share = |count: u64, percent: u64| count * 100 >= self.chars * percent;
        if let Some(factor) = self.alphabet.factor() {
            return Picture::TooFast(factor);
        }
        if share(self.ends, 90) {
            return Picture::Dead;
        }
        let [sound, faulty] = self.by_weight;
        // A line of few values can look like anything.
        let varied = self.chars >= FAULTS_AFTER && self.alphabet.count() >= 8;
        if varied && share(self.plain, 95) && share(self.faults, 20) {
            // A parity bit of 0 stands where the stop bit must be.
            if sound[0] == 0 && faulty[1] == 0 {
                return Picture::Eight(Parity::Even);
            }
            if sound[1] == 0 && faulty[0] == 0 {
                return Picture::Eight(Parity::Odd);
            }
        }
        // Swapped levels give text upside down, and hardly a framing error.
        let upright = !share(self.faults, 10) && share(self.digits, 15);
        if varied && upright && share(self.odd_bytes, 90) && share(self.upside_down, 85) && !share(self.plain, 50) {
            return Picture::Inverted;
        }
        if self.chars >= FAULTS_AFTER && share(self.faults, 20) {
            return Picture::Wrong;
        }
        Picture::Plain
    }
}

const fn is_text(byte: u8) -> bool {
    matches!(byte, 0x20..0x7f | b'\r' | b'\n' | 0x02 | 0x03)
}

/// What was sent, if the line is inverted: the stop bit of the character before is taken for a start bit, the start bit
/// is the lowest bit, and the highest one of the text is the stop bit.
const fn turned(byte: u8) -> u8 {
    !(byte >> 1) & 0x7f
}

//! Taking out the parity bit: a line of seven bits and parity, received as eight bits without.
//!
//! At the right speed such a line is received without framing errors, with bit 7 as the parity bit. The rule in
//! force is counted out of a window of bytes, bit 7 is taken off, and a byte that breaks the rule is replaced by
//! [`SPOILT`], which no frame can contain.

/// Stands for a byte that failed its parity. Clean bytes are below it.
pub(super) const SPOILT: u8 = 0x80;

/// The rule that bit 7 follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Parity {
    /// Bit 7 is never set: eight bits without parity, or seven with space parity.
    #[default]
    Clear,
    Even,
    Odd,
    /// Bit 7 is always set.
    Mark,
}

/// How the parity rule becomes known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Census {
    /// Counted on the way: once a byte with bit 7 has come, bytes wait until 40 of at least 8 different values
    /// have been seen. Right for a port opened in eight bits without parity.
    #[default]
    Window,
    /// Known beforehand: the port checks parity itself (`Clear`), or [`Parity::of`] has counted the whole input.
    Settled(Parity),
}

impl Parity {
    const ALL: [Parity; 4] = [Parity::Clear, Parity::Even, Parity::Odd, Parity::Mark];

    /// The rule that the fewest bytes break; between equals, no parity first.
    pub fn of(bytes: &[u8]) -> Parity {
        let mut evidence = Evidence::default();
        for &byte in bytes {
            evidence.count(byte);
        }
        evidence.verdict()
    }

    const fn holds(self, byte: u8) -> bool {
        match self {
            Parity::Clear => byte & 0x80 == 0,
            Parity::Even => byte.count_ones().is_multiple_of(2),
            Parity::Odd => !byte.count_ones().is_multiple_of(2),
            Parity::Mark => byte & 0x80 != 0,
        }
    }

    const fn strip(self, byte: u8) -> u8 {
        if self.holds(byte) { byte & 0x7f } else { SPOILT }
    }
}

/// How often each rule was broken, and how many different values there were.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Evidence {
    total: u32,
    broken: [u32; 4],
    values: [u64; 4],
}

impl Evidence {
    /// What no frame is made of says nothing about parity: a dead line's zeros and ones, noise before a frame.
    const fn is_mute(byte: u8) -> bool {
        !matches!(byte & 0x7f, 0x20..0x7f | 0x02 | 0x03 | b'\r' | b'\n')
    }

    pub fn count(&mut self, byte: u8) {
        if Evidence::is_mute(byte) {
            return;
        }
        self.total = self.total.saturating_add(1);
        self.values[usize::from(byte >> 6)] |= 1 << (byte & 0x3f);
        for (broken, rule) in self.broken.iter_mut().zip(Parity::ALL) {
            *broken = broken.saturating_add(u32::from(!rule.holds(byte)));
        }
    }

    pub fn is_enough(&self) -> bool {
        let distinct = self.values.iter().map(|part| part.count_ones()).sum::<u32>();
        self.total >= 40 && distinct >= 8
    }

    /// A byte that is none without parity has come.
    pub fn touched(&self) -> bool {
        self.broken[0] > 0
    }

    /// One rule is broken by no byte.
    pub fn is_clean(&self) -> bool {
        self.broken.contains(&0)
    }

    /// Plain bytes change nothing more: whatever comes next, no parity stays the rule that is broken least.
    fn is_plain(&self) -> bool {
        self.is_enough() && self.broken[0] == 0 && self.broken[1..].iter().all(|broken| *broken > 1)
    }

    pub fn verdict(&self) -> Parity {
        // `min_by_key` keeps the first of equals, and no parity stands first.
        let (_, rule) = self.broken.iter().zip(Parity::ALL).min_by_key(|&(broken, _)| *broken).expect("four rules");
        rule
    }
}

/// Bytes that may wait for a verdict. A line that shows few different values is judged when so many have come.
const HELD_MAX: usize = 160;

/// In every so many bytes at most so many may break the rule, else it is counted anew.
const WATCH: (u32, u32) = (40, 10);

/// The gate that bytes pass on their way to the framer.
#[derive(Debug, Clone)]
pub(super) struct Gate {
    rule: Rule,
    evidence: Evidence,
    held: [u8; HELD_MAX],
    waiting: usize,
    /// Bytes and breaches since the last look.
    watched: (u32, u32),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    /// Every byte passes as it came: bit 7 is data.
    Open,
    Settled(Parity),
    Counted(Parity),
    /// No byte with bit 7 so far: nothing can be stripped wrongly, so nothing waits.
    Untouched,
    Waiting,
}

impl Gate {
    pub fn new(census: Census) -> Gate {
        let rule = match census {
            Census::Window => Rule::Untouched,
            Census::Settled(parity) => Rule::Settled(parity),
        };
        Gate { rule, evidence: Evidence::default(), held: [0; HELD_MAX], waiting: 0, watched: (0, 0) }
    }

    /// A gate that changes nothing, for families whose bytes use all eight bits.
    pub const fn open() -> Gate {
        let evidence = Evidence { total: 0, broken: [0; 4], values: [0; 4] };
        Gate { rule: Rule::Open, evidence, held: [0; HELD_MAX], waiting: 0, watched: (0, 0) }
    }

    /// Takes all of `bytes` where each would pass as it came, and nothing otherwise: then they go one by one.
    pub fn lets_pass(&mut self, bytes: &[u8]) -> bool {
        match self.rule {
            Rule::Open => true,
            Rule::Settled(Parity::Clear) => bytes.is_ascii(),
            Rule::Untouched if bytes.is_ascii() => {
                if !self.evidence.is_plain() {
                    bytes.iter().for_each(|&byte| self.evidence.count(byte));
                }
                true
            }
            _ => false,
        }
    }

    /// Takes one byte as received; `sink` gets every clean or spoilt byte that is due by now.
    pub fn pass(&mut self, byte: u8, sink: &mut impl FnMut(u8)) {
        match self.rule {
            Rule::Open => return sink(byte),
            Rule::Settled(parity) => return sink(parity.strip(byte)),
            Rule::Counted(parity) => return self.watch(byte, parity, sink),
            Rule::Untouched | Rule::Waiting => self.evidence.count(byte),
        }
        if self.rule == Rule::Untouched {
            if Evidence::is_mute(byte) {
                return sink(Parity::Clear.strip(byte));
            }
            if byte & 0x80 == 0 {
                return sink(byte);
            }
            self.rule = Rule::Waiting;
        }
        self.held[self.waiting] = byte;
        self.waiting += 1;
        if self.evidence.is_enough() || self.waiting == HELD_MAX {
            let parity = self.evidence.verdict();
            self.rule = Rule::Counted(parity);
            for &held in &self.held[..self.waiting] {
                sink(parity.strip(held));
            }
            self.waiting = 0;
            self.watched = (0, 0);
        }
    }

    fn watch(&mut self, byte: u8, parity: Parity, sink: &mut impl FnMut(u8)) {
        sink(parity.strip(byte));
        if Evidence::is_mute(byte) {
            return;
        }
        self.watched.0 += 1;
        self.watched.1 += u32::from(!parity.holds(byte));
        if self.watched.0 == WATCH.0 {
            if self.watched.1 > WATCH.1 {
                self.restart();
            }
            self.watched = (0, 0);
        }
    }

    /// What waits is old by now and must not become a reading; what it showed about parity stays known.
    /// Gives the number of bytes let go.
    pub fn silence(&mut self) -> usize {
        std::mem::take(&mut self.waiting)
    }

    /// The line may be another one now.
    pub fn restart(&mut self) {
        if !matches!(self.rule, Rule::Settled(_) | Rule::Open) {
            *self = Gate::new(Census::Window);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn with_parity(text: &[u8], rule: Parity) -> Vec<u8> {
        text.iter().map(|&byte| if rule.holds(byte) { byte } else { byte | 0x80 }).collect()
    }

    proptest! {
        #[test]
        fn any_parity_is_taken_off(text in proptest::collection::vec(0x20_u8..0x7f, 60..200), which in 0_usize..4) {
            let sent = with_parity(&text, Parity::ALL[which]);
            let mut gate = Gate::new(Census::Window);
            let mut received = Vec::new();
            for &byte in &sent {
                gate.pass(byte, &mut |clean| received.push(clean));
            }
            prop_assume!(gate.evidence.is_enough());
            prop_assert_eq!(received, text);
        }
    }

    #[test]
    fn a_byte_that_breaks_the_rule_is_spoilt() {
        let mut sent = with_parity(b"ST,GS,+0012.34kg\r\nUS,NT,-0056.78kg\r\n", Parity::Even);
        assert_eq!(Parity::of(&sent), Parity::Even);
        sent[9] ^= 0x80;
        assert_eq!(Parity::of(&sent), Parity::Even);
        assert_eq!(Parity::Even.strip(sent[9]), SPOILT);
    }

    #[test]
    fn an_open_gate_changes_nothing() {
        let mut gate = Gate::open();
        let mut received = Vec::new();
        for byte in 0..=255 {
            gate.pass(byte, &mut |clean| received.push(clean));
        }
        gate.restart();
        gate.pass(0xff, &mut |clean| received.push(clean));
        assert_eq!(received, (0..=255).chain([255]).collect::<Vec<u8>>());
    }

    #[test]
    fn a_line_of_few_values_is_judged_all_the_same() {
        let mut gate = Gate::new(Census::Window);
        let mut received = 0;
        for &byte in with_parity(b"0.000\r\n", Parity::Odd).iter().cycle().take(700) {
            gate.pass(byte, &mut |clean| received += usize::from(clean != SPOILT));
        }
        assert_eq!(received, 700);
    }

    #[test]
    fn a_line_that_changes_its_parity_is_counted_anew() {
        let mut gate = Gate::new(Census::Window);
        let line = b"ST,GS,+0012.34kg\r\nUS,NT,-0056.78kg\r\n";
        for _ in 0..5 {
            for byte in with_parity(line, Parity::Odd) {
                gate.pass(byte, &mut |_| ());
            }
        }
        let mut received = Vec::new();
        for _ in 0..10 {
            for byte in with_parity(line, Parity::Even) {
                gate.pass(byte, &mut |clean| received.push(clean));
            }
        }
        assert!(received.ends_with(line));
    }
}

//! The few byte values that a receiver can see when it runs too fast.
//!
//! A port that is m times too fast sees every bit of the line stretched over m of its own, so only few values occur. The
//! sets were reckoned by sampling simulated lines, 8N1 and 7E1 alike. Text at the right speed falls into none of them.

/// How many times the port is faster than the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Factor {
    Times(u32),
    /// Only zeros are left.
    TwelveOrMore,
}

/// The largest factor first: each set lies within that of a smaller factor, or nearly so.
const SETS: [(u32, &[u8]); 5] = [
    (8, &[0x00, 0x80]),
    (6, &[0x00, 0xe0]),
    (4, &[0x00, 0x78, 0x80, 0xf8]),
    (3, &[0x00, 0x1c, 0xe0, 0xfc]),
    (2, &[0x00, 0x06, 0x18, 0x1e, 0x60, 0x66, 0x78, 0x7e, 0x80, 0x86, 0x98, 0x9e, 0xe0, 0xe6, 0xf8, 0xfe]),
];

/// Which byte values have come.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Alphabet {
    seen: [u64; 4],
}

impl Alphabet {
    pub fn take(&mut self, byte: u8) {
        self.seen[usize::from(byte >> 6)] |= 1 << (byte & 0x3f);
    }

    /// The factor whose values are all that came. A set is named only if most of its values, at least two, were there.
    pub fn factor(&self) -> Option<Factor> {
        let all = of(&[0]);
        if self.seen == all {
            return Some(Factor::TwelveOrMore);
        }
        SETS.iter().find(|(_, set)| within(self.seen, of(set)) && self.count() >= 2).map(|&(times, _)| Factor::Times(times))
    }

    /// How many different values have come.
    pub fn count(&self) -> u32 {
        self.seen.iter().map(|part| part.count_ones()).sum()
    }
}

const fn of(set: &[u8]) -> [u64; 4] {
    let mut bits = [0; 4];
    let mut index = 0;
    while index < set.len() {
        bits[(set[index] >> 6) as usize] |= 1 << (set[index] & 0x3f);
        index += 1;
    }
    bits
}

fn within(seen: [u64; 4], set: [u64; 4]) -> bool {
    seen.iter().zip(set).all(|(seen, set)| seen & !set == 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_published_capture_at_four_times_the_speed_is_known() {
        // 9600 8N1 on a 2400 7E1 line, from a question at experts-exchange.com about "serial port data from weigh scales".
        let capture =
            b"\xf8\x80\x78\x00\x78\x00\x78\xf8\x78\x80\x00\x80\x00\x80\x00\x80\x80\x80\x80\xf8\x80\x78\x78\xf8\x78\x80\x00";
        let mut alphabet = Alphabet::default();
        capture.iter().for_each(|&byte| alphabet.take(byte));
        assert_eq!(alphabet.factor(), Some(Factor::Times(4)));
    }

    #[test]
    fn text_is_no_alphabet() {
        let mut alphabet = Alphabet::default();
        b"ST,GS,+0012.34kg\r\n".iter().for_each(|&byte| alphabet.take(byte));
        assert_eq!(alphabet.factor(), None);
    }
}

//! The names of the segments.

use std::fmt;

/// A segment is named by the sequence number of its first line. A second try at the same number, after a failed write,
/// gets the next generation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SegmentName {
    pub first: u64,
    pub generation: u32,
}

impl SegmentName {
    /// Only what this program writes is a segment; any other name in the directory is none of ours.
    pub fn parse(text: &str) -> Option<SegmentName> {
        let stem = text.strip_suffix(".roll")?;
        let (first, generation) = match stem.split_once('-') {
            Some((first, generation)) => (first, generation.parse().ok()?),
            None => (stem, 0),
        };
        let name = SegmentName { first: first.parse().ok()?, generation };
        (name.to_string() == text).then_some(name)
    }
}

impl fmt::Display for SegmentName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.generation {
            0 => write!(f, "{:012}.roll", self.first),
            generation => write!(f, "{:012}-{generation}.roll", self.first),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_sort_as_they_count_and_nothing_else_is_a_segment() {
        let name = |first, generation| SegmentName { first, generation };
        for name in [name(1, 0), name(42, 3), name(999_999_999_999, 0), name(1_000_000_000_000, 1)] {
            assert_eq!(SegmentName::parse(&name.to_string()), Some(name));
        }
        assert!(name(42, 0) < name(42, 1) && name(42, 1) < name(43, 0));
        for other in ["1.roll", "000000000001.roll~", "000000000001-0.roll", "000000000001-01.roll", "+00000000001.roll", ".roll"]
        {
            assert_eq!(SegmentName::parse(other), None, "{other}");
        }
    }
}

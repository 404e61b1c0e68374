//! When something happened, as far as this machine can tell.

use super::Moment;
use serde::{Deserialize, Serialize};

/// One boot of one machine. Moments are comparable only within one boot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct BootId(pub u128);

/// The two clocks of one instant. Small boards boot with a wrong wall clock, so a time that cannot be
/// trusted says so, and durations come from the monotonic one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    pub boot: BootId,
    pub mono: Moment,
    pub wall: jiff::Timestamp,
    pub trusted: bool,
}

impl std::fmt::Display for BootId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl BootId {
    /// Reads 32 hexadecimal digits; hyphens, as the kernel writes them, are passed over.
    pub fn parse(text: &str) -> Option<BootId> {
        let digits: String = text.trim().chars().filter(|c| *c != '-').collect();
        (digits.len() == 32).then(|| u128::from_str_radix(&digits, 16).ok().map(BootId)).flatten()
    }
}

impl Serialize for BootId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for BootId {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<BootId, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
        BootId::parse(&text).ok_or_else(|| serde::de::Error::custom("a boot id has 32 hexadecimal digits"))
    }
}

//! Bins that a person picks for a drive, stop by stop, as they are typed.

use super::buyer_named;
use crate::facts::{BinId, Books, BuyerId};
use std::collections::BTreeSet;

/// Names and numbers as they were typed, in the order of driving.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Picked(pub Vec<(String, Vec<u32>)>);

/// Why no load can be made of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BadPick {
    NoStop,
    /// A stop is a buyer, a colon, and bins.
    NoBuyer {
        stop: String,
    },
    NoBins {
        buyer: String,
    },
    NotABin {
        text: String,
    },
    Twice {
        number: u32,
    },
    UnknownBuyer {
        name: String,
    },
    UnknownBin {
        number: u32,
    },
}

impl Picked {
    /// Reads `Quayside: 3 4; Northgate: 5`.
    pub fn parse(text: &str) -> Result<Picked, BadPick> {
        let stops = text.split(';').map(str::trim).filter(|stop| !stop.is_empty());
        let stops: Vec<(String, Vec<u32>)> = stops.map(stop).collect::<Result<_, _>>()?;
        if stops.is_empty() { Err(BadPick::NoStop) } else { Ok(Picked(stops)) }
    }

    /// As it would be typed.
    pub fn written(&self) -> String {
        let bins = |bins: &[u32]| bins.iter().map(u32::to_string).collect::<Vec<_>>().join(" ");
        self.0.iter().map(|(buyer, of)| format!("{buyer}: {}", bins(of))).collect::<Vec<_>>().join("; ")
    }

    /// The buyers and bins that are meant. A bin goes to one of them.
    pub fn found(&self, books: &Books) -> Result<Vec<(BuyerId, Vec<BinId>)>, BadPick> {
        let mut seen = BTreeSet::new();
        let mut found = Vec::new();
        for (name, numbers) in &self.0 {
            let buyer = buyer_named(books, name).ok_or_else(|| BadPick::UnknownBuyer { name: name.clone() })?;
            let mut bins = Vec::new();
            for number in numbers {
                let (bin, _) = books.bin_by_number(*number).ok_or(BadPick::UnknownBin { number: *number })?;
                if !seen.insert(bin) {
                    return Err(BadPick::Twice { number: *number });
                }
                bins.push(bin);
            }
            found.push((buyer, bins));
        }
        Ok(found)
    }
}

fn stop(text: &str) -> Result<(String, Vec<u32>), BadPick> {
    // A name may have a colon in it, and the numbers of bins have none.
    let (buyer, bins) = text.rsplit_once(':').ok_or_else(|| BadPick::NoBuyer { stop: text.to_owned() })?;
    let buyer = buyer.trim();
    if buyer.is_empty() {
        return Err(BadPick::NoBuyer { stop: text.to_owned() });
    }
    let bins = numbers(bins)?;
    if bins.is_empty() { Err(BadPick::NoBins { buyer: buyer.to_owned() }) } else { Ok((buyer.to_owned(), bins)) }
}

/// Numbers of bins with spaces or commas between them.
pub fn numbers(text: &str) -> Result<Vec<u32>, BadPick> {
    let parts = text.split(|c: char| c.is_whitespace() || c == ',').filter(|part| !part.is_empty());
    parts.map(|part| part.parse().map_err(|_| BadPick::NotABin { text: part.to_owned() })).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_no_load_is_said() {
        let read = |text: &str| Picked::parse(text).unwrap_err();
        assert_eq!(read(" ; "), BadPick::NoStop);
        assert_eq!(read("Quayside 3 4"), BadPick::NoBuyer { stop: "Quayside 3 4".into() });
        assert_eq!(read("Quayside: 3; : 4"), BadPick::NoBuyer { stop: ": 4".into() });
        assert_eq!(read("Quayside: "), BadPick::NoBins { buyer: "Quayside".into() });
        assert_eq!(read("Quayside: 3 four"), BadPick::NotABin { text: "four".into() });
        assert_eq!(read("Quayside: -1"), BadPick::NotABin { text: "-1".into() });
        let books = Books::default();
        let found = Picked::parse("Quayside: 3").unwrap().found(&books);
        assert_eq!(found, Err(BadPick::UnknownBuyer { name: "Quayside".into() }));
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_as_the_same(stops in proptest::collection::vec(("[A-Za-z:' ]{0,8}[A-Za-z]", proptest::collection::vec(0_u32..500, 1..6)), 1..5)) {
            let picked = Picked(stops.into_iter().map(|(buyer, bins)| (buyer.trim().to_owned(), bins)).filter(|(buyer, _)| !buyer.is_empty()).collect());
            prop_assume!(!picked.0.is_empty());
            prop_assert_eq!(Picked::parse(&picked.written()), Ok(picked.clone()));
            prop_assert_eq!(Picked::parse(&picked.written().replace("; ", ";;")), Ok(picked));
        }
    }
}

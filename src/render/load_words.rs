//! The words of the load sheet, in English: cautions by what is on board, and what sellers are usually asked for.

use super::words::Caution;
use crate::query::BadPick;

/// Why a load that was picked by hand is none.
pub fn bad_pick(bad: &BadPick) -> String {
    match bad {
        BadPick::NoStop => "stops: say where it goes and with which bins, as in Quayside: 3 4; Northgate: 5".into(),
        BadPick::NoBuyer { stop } => {
            format!("stops: {stop:?} names no buyer; a stop is a buyer, a colon and bins, as in Quayside: 3 4")
        }
        BadPick::NoBins { buyer } => format!("stops: {buyer:?} has no bins; leave the stop out, or say which go there"),
        BadPick::NotABin { text } => format!("stops: {text:?} is not the number of a bin"),
        BadPick::Twice { number } => format!("stops: bin {number} goes to two places; name it once"),
        BadPick::UnknownBuyer { name } => format!("stops: there is no buyer {name:?}"),
        BadPick::UnknownBin { number } => format!("stops: there is no bin {number} in use"),
    }
}

/// A caution and the words in a name by which it is found.
struct Aboard {
    words: &'static [&'static str],
    caution: Caution,
}

/// Found by a word's beginning in the names of grades, bins and buyers' words.
static ABOARD: [Aboard; 9] = [
    Aboard {
        words: &["lead", "solder", "wheel weight", "crt"],
        caution: Caution {
            text: "Lead on board: gloves on, wash before you eat, no loose dust where people sit; keep work clothes out of the house.",
            source: "29 CFR 1910.1025",
        },
    },
    Aboard {
        words: &["batter", "lithium", "li-ion", "lipo"],
        caution: Caution {
            text: "Cells and batteries: none crushed or loose, ends taped, lithium apart from everything and to a drop-off, never in \
                   with scrap.",
            source: "US EPA guidance on lithium batteries, 2021 and 2023",
        },
    },
    Aboard {
        words: &["ballast", "transformer", "capacitor"],
        caution: Caution {
            text: "Old ballasts, transformers and capacitors: without the words \"No PCBs\" take them for PCB, leave them whole, bag \
                   what leaks, and ask the hazardous-waste office instead of selling it.",
            source: "US EPA fact sheet 530-F-20-005; 40 CFR 761",
        },
    },
    Aboard {
        words: &["compressor", "fridge", "refriger", "freezer", "air con", "sealed unit", "cooling"],
        caution: Caution {
            text: "Cooling units: the refrigerant must be out, recovered by someone licensed, and the signed paper goes along.",
            source: "US Clean Air Act, section 608; 40 CFR 82.154-155",
        },
    },
    Aboard {
        words: &["mercury", "thermostat", "fluorescent", "lamp"],
        caution: Caution {
            text: "Mercury: lamps, switches and old thermostats stay whole and boxed, for a collection site and not for the yard.",
            source: "40 CFR 273",
        },
    },
    Aboard {
        words: &["wire", "cable"],
        caution: Caution {
            text: "Burnt wire is paid less or turned away, and burning it is poisonous and mostly forbidden: sell it as it is or stripped.",
            source: "open-burning rules of your state or province; Saskatchewan Environment sheet, 2015",
        },
    },
    Aboard {
        words: &["cylinder", "bottle", "extinguisher", "airbag", "ammunition", "detector", "dial"],
        caution: Caution {
            text: "Closed cylinders, airbags, live ammunition, smoke detectors and dials that glow are not scrap; yards have radiation \
                   alarms. Take them off the load and ask.",
            source: "common practice",
        },
    },
    Aboard {
        words: &["beryllium", "cadmium", "relay", "contact"],
        caution: Caution {
            text: "Cadmium and beryllium in old contacts, springs and white ceramics: nothing ground or crushed; label it.",
            source: "29 CFR 1910.1024 and .1027, from memory",
        },
    },
    Aboard {
        words: &["asbestos", "heater pad", "gasket", "arc chute"],
        caution: Caution {
            text: "Asbestos: do not disturb what may be it; have it tested, it does not go to the yard.",
            source: "40 CFR 61 subpart M, from memory",
        },
    },
];

/// What holds for every load.
static EVERY_LOAD: [Caution; 2] = [
    Caution {
        text: "Full bins are heavy: lift with two or in parts. Heavy ones low and in front, lids on, all of it tied down, the \
               vehicle within its payload.",
        source: "common practice; the vehicle's plate and your traffic code",
    },
    Caution {
        text: "These are found by words in your names of grades and bins: a thing that is named otherwise has the same danger.",
        source: "common practice",
    },
];

/// The cautions for what has these names, and those for every load.
pub fn cautions<'a>(names: impl Iterator<Item = &'a str>) -> Vec<&'static Caution> {
    let names: Vec<String> = names.map(str::to_lowercase).collect();
    let begins = |name: &str, word: &str| {
        name.match_indices(word).any(|(at, _)| !name[..at].chars().next_back().is_some_and(char::is_alphanumeric))
    };
    let found = |aboard: &&Aboard| names.iter().any(|name| aboard.words.iter().any(|word| begins(name, word)));
    ABOARD.iter().filter(found).map(|aboard| &aboard.caution).chain(&EVERY_LOAD).collect()
}

/// What sellers are usually asked for (the scrap metal law of Washington State is an instance; laws differ).
pub const PAPERS: [&str; 4] = [
    "Identification with a picture; the plate of the vehicle may be written down.",
    "A signed word that it is yours, and where it came from: take your record of the lots along.",
    "For some goods papers of their own: catalytic converters, cooling coils, cable, burnt wire, cooling units.",
    "Payment may come late, or without cash. What your state and the yard ask for comes before this list.",
];

/// Whose weight counts.
pub const OWN_RECORD: &str = "Our weights are for own records; the buyer's inspected scale settles.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_are_found_by_the_beginning_of_a_word() {
        let of = |names: &[&str]| cautions(names.iter().copied()).len() - EVERY_LOAD.len();
        assert_eq!(of(&["bright copper", "leaded brass"]), 1, "leaded brass has lead in it");
        assert_eq!(of(&["Car Batteries", "bright WIRE"]), 2);
        assert_eq!(of(&["misled", "stainless", "steel"]), 0, "a word in the middle of another is none");
        for aboard in &ABOARD {
            assert!(aboard.words.iter().all(|word| *word == word.to_lowercase()), "names are compared in lower case");
        }
    }
}

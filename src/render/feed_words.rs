//! The words of feeds, arrivals, money and trials, in English.

use crate::command::FeedRefusal;
use crate::facts::{JobPart, SpendingSort};

/// One sentence: what is wrong, and what to do.
pub fn refusal(refusal: &FeedRefusal) -> String {
    match refusal {
        FeedRefusal::NothingTaken => "say what it weighs, how many pieces it is, or both".into(),
        FeedRefusal::DrawnWithoutMass => "say what was drawn from the bin weighs: the bin goes down by that".into(),
        FeedRefusal::NoPieces => "a number of pieces is one or more".into(),
        FeedRefusal::BlankDepth => "a depth is a word of your own, with at least one letter or digit".into(),
        FeedRefusal::NegativeAmount => "money spent is nothing or more; take a wrong record back instead".into(),
        FeedRefusal::NegativeDistance => "a distance is nothing or more".into(),
        FeedRefusal::NoTime => "a time is at least one second".into(),
        FeedRefusal::UnknownArrival { arrival } => format!("there is no arrival {arrival}, or it was taken back"),
        FeedRefusal::UnknownRecord { record } => format!("there is no record {record}"),
        FeedRefusal::RecordGone { record } => format!("record {record} was taken back already"),
        FeedRefusal::OtherRecord { record } => {
            format!("record {record} is no arrival, spending, time or trial: it is corrected where it was made")
        }
        FeedRefusal::TrialRuns { trial } => format!("trial {trial} runs on this bench; end it first"),
        FeedRefusal::UnknownTrial { trial } => format!("there is no trial {trial}, or it was taken back"),
        FeedRefusal::TrialTooLong => "a trial is a day at most".into(),
        FeedRefusal::TrialWithoutFeed => "say what is taken apart in the trial".into(),
        FeedRefusal::NotOfALot => "only consumables and disposal belong to one lot; leave the lot out".into(),
    }
}

/// The stable code of a refusal.
pub const fn code(refusal: &FeedRefusal) -> &'static str {
    match refusal {
        FeedRefusal::NothingTaken => "nothing-taken",
        FeedRefusal::DrawnWithoutMass => "drawn-without-mass",
        FeedRefusal::NoPieces => "no-pieces",
        FeedRefusal::BlankDepth => "blank-depth",
        FeedRefusal::NegativeAmount => "negative-amount",
        FeedRefusal::NegativeDistance => "negative-distance",
        FeedRefusal::NoTime => "no-time",
        FeedRefusal::UnknownArrival { .. } => "unknown-arrival",
        FeedRefusal::UnknownRecord { .. } => "unknown-record",
        FeedRefusal::RecordGone { .. } => "record-gone",
        FeedRefusal::OtherRecord { .. } => "other-record",
        FeedRefusal::TrialRuns { .. } => "trial-runs",
        FeedRefusal::UnknownTrial { .. } => "unknown-trial",
        FeedRefusal::TrialTooLong => "trial-too-long",
        FeedRefusal::TrialWithoutFeed => "trial-without-feed",
        FeedRefusal::NotOfALot => "not-of-a-lot",
    }
}

/// Every sort of spending, with its code and its words on a page.
pub const SORTS: [(SpendingSort, &str, &str); 7] = [
    (SpendingSort::Consumables, "consumables", "used up: blades, gas, gloves"),
    (SpendingSort::Disposal, "disposal", "to be rid of something"),
    (SpendingSort::Tools, "tools", "tools"),
    (SpendingSort::Fuel, "fuel", "fuel"),
    (SpendingSort::Fees, "fees", "fees"),
    (SpendingSort::Feed, "feed", "goods to take apart"),
    (SpendingSort::Other, "other", "something else"),
];

pub fn sort_code(sort: SpendingSort) -> &'static str {
    SORTS.iter().find(|(known, ..)| *known == sort).map_or("other", |(_, code, _)| code)
}

pub fn sort_of(code: &str) -> Option<SpendingSort> {
    SORTS.iter().find(|(_, known, _)| *known == code).map(|(sort, ..)| *sort)
}

/// Every part of the whole job, with its code and its words.
pub const PARTS: [(JobPart, &str, &str); 3] = [
    (JobPart::Fetching, "fetching", "fetching"),
    (JobPart::Bench, "bench", "at the bench or beside it"),
    (JobPart::Yard, "yard", "driving to buyers and at the yard"),
];

pub fn part_code(part: JobPart) -> &'static str {
    PARTS.iter().find(|(known, ..)| *known == part).map_or("bench", |(_, code, _)| code)
}

pub fn part_of(code: &str) -> Option<JobPart> {
    PARTS.iter().find(|(_, known, _)| *known == code).map(|(part, ..)| *part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_read_back() {
        for (sort, code, _) in SORTS {
            assert_eq!((sort_of(code), sort_code(sort)), (Some(sort), code));
        }
        for (part, code, _) in PARTS {
            assert_eq!((part_of(code), part_code(part)), (Some(part), code));
        }
        assert_eq!((sort_of("blade"), part_of("")), (None, None));
    }
}

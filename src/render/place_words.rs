//! The words about places, marks, wire and the round through the stock, in English.

use crate::command::PlaceRefusal;
use crate::facts::{Mark, Seen};

/// One sentence: what is wrong, and what to do.
pub fn refusal(refusal: PlaceRefusal) -> String {
    match refusal {
        PlaceRefusal::LongerThanAMonth => "sorting takes no more than a month has: say the minutes of one month".into(),
        PlaceRefusal::NegativeFloor => "an hour must bring nothing or more".into(),
        PlaceRefusal::PlacesOutOfRange => "a bench has from 1 to 500 places for bins".into(),
        PlaceRefusal::MoreThanWentIn => "more metal than wire: weigh the sample before and after again".into(),
        PlaceRefusal::NoTime => "stripping a sample takes a second at least; leave the time out where nobody took it".into(),
        PlaceRefusal::NothingToFollow { number } => {
            format!("no look into bin {number} waits for an answer: look first, and say what you see")
        }
        PlaceRefusal::NeverEmptied { number } => {
            format!("bin {number} was never emptied or tipped, or that is taken back already")
        }
        PlaceRefusal::WentWithRun { number, run } => format!("bin {number} went with run {run}: take the run back"),
        PlaceRefusal::SoldOnTicket { number, ticket } => {
            format!("what was in bin {number} is on ticket {ticket}: void the ticket first if it is wrong too")
        }
        PlaceRefusal::RegradedSince { number } => {
            format!("bin {number} takes another grade since, and something came in: move that to another bin first")
        }
        PlaceRefusal::GoneOn { number } => {
            format!("it was tipped into bin {number}, which was emptied or tipped since: take that back first")
        }
        PlaceRefusal::TippedOver { from } => {
            format!("it was tipped over from bin {from}, which is empty since: take the tip of bin {from} back instead")
        }
    }
}

/// The stable code of a refusal.
pub const fn code(refusal: PlaceRefusal) -> &'static str {
    match refusal {
        PlaceRefusal::LongerThanAMonth => "longer-than-a-month",
        PlaceRefusal::NegativeFloor => "negative-floor",
        PlaceRefusal::PlacesOutOfRange => "places-out-of-range",
        PlaceRefusal::MoreThanWentIn => "more-than-went-in",
        PlaceRefusal::NoTime => "no-time",
        PlaceRefusal::NothingToFollow { .. } => "nothing-to-follow",
        PlaceRefusal::NeverEmptied { .. } => "never-emptied",
        PlaceRefusal::WentWithRun { .. } => "went-with-run",
        PlaceRefusal::SoldOnTicket { .. } => "sold-on-ticket",
        PlaceRefusal::RegradedSince { .. } => "regraded-since",
        PlaceRefusal::GoneOn { .. } => "gone-on",
        PlaceRefusal::TippedOver { .. } => "tipped-over",
    }
}

/// Every strength of a mark, with its code and its words.
pub const MARKS: [(Mark, &str, &str); 3] =
    [(Mark::None, "none", "none worth a word"), (Mark::Some, "some", "some"), (Mark::Much, "much", "much")];

pub fn mark_code(mark: Mark) -> &'static str {
    MARKS.iter().find(|(known, ..)| *known == mark).map_or("none", |(_, code, _)| code)
}

pub fn mark_of(code: &str) -> Option<Mark> {
    MARKS.iter().find(|(_, known, _)| *known == code).map(|(mark, ..)| *mark)
}

/// What may be seen in a bin, with its code and its words.
pub const LOOKS: [(Seen, &str, &str); 5] = [
    (Seen::Right, "right", "as booked"),
    (Seen::ThreeQuarters, "three-quarters", "about three quarters"),
    (Seen::Half, "half", "about half"),
    (Seen::Quarter, "quarter", "about a quarter"),
    (Seen::Emptied, "emptied", "empty"),
];

pub fn seen_code(seen: Seen) -> &'static str {
    LOOKS.iter().find(|(known, ..)| *known == seen).map_or("right", |(_, code, _)| code)
}

pub fn seen_words(seen: Seen) -> &'static str {
    LOOKS.iter().find(|(known, ..)| *known == seen).map_or("as booked", |(.., words)| words)
}

pub fn seen_of(code: &str) -> Option<Seen> {
    LOOKS.iter().find(|(_, known, _)| *known == code).map(|(seen, ..)| *seen)
}

/// What is asked for when bins were not looked into for a week; none where nothing is due.
pub fn round_due(bins: &[u32]) -> Option<String> {
    let numbers: Vec<String> = bins.iter().map(u32::to_string).collect();
    let (last, first) = numbers.split_last()?;
    let which = if first.is_empty() { format!("bin {last}") } else { format!("bins {} and {last}", first.join(", ")) };
    let days = crate::query::ROUND_DAYS;
    Some(format!("Nobody has looked into {which} for {days} days or more: a round through the stock takes two minutes"))
}

/// Marks in a few words, for a line of their own; none where nothing was marked.
pub fn marks_line(marks: &crate::render::json::MarksView) -> Option<String> {
    let named = [("strain", &marks.strain), ("mess", &marks.mess), ("space", &marks.space)];
    let mut words: Vec<String> =
        named.iter().filter(|(_, mark)| *mark != "none").map(|(what, mark)| format!("{mark} {what}")).collect();
    words.extend(marks.veto.as_ref().map(|reason| format!("not this: {reason}")));
    (!words.is_empty()).then(|| words.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_read_back() {
        for (mark, code, _) in MARKS {
            assert_eq!((mark_of(code), mark_code(mark)), (Some(mark), code));
        }
        for (seen, code, words) in LOOKS {
            assert_eq!((seen_of(code), seen_code(seen), seen_words(seen)), (Some(seen), code, words));
        }
        assert_eq!(Seen::ALL.map(seen_code), LOOKS.map(|(_, code, _)| code));
        assert_eq!((mark_of("very"), seen_of("")), (None, None));
    }
}

//! The words of the pages, the reports and the refusals, in English.

use super::figures::{clock, kilograms};
use super::{feed_words, place_words, price_words};
use crate::command::{Advice, NamedKind, Refusal, Suggestion, Trouble, Why};
use crate::facts::Doubt;
use crate::facts::books::PressUse;
use crate::query::Riddle;

pub const fn trouble(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::DiskBehind => "not recorded: the disk takes nothing; what is weighed is kept together until it does",
        Trouble::StoreDegraded => "not recorded: the store was found damaged; see what `bismar verify` says",
    }
}

/// The code of what a long press does.
pub const fn press(state: PressUse) -> &'static str {
    match state {
        PressUse::Off => "off",
        PressUse::Trial { .. } => "trial",
        PressUse::On => "on",
    }
}

pub const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::TipTheTray => "tip the tray",
        Advice::TareContainer => "put a container on the scale first: near zero it swallows small pieces",
        Advice::StillTheBench => {
            "the display swings slowly, and small pieces wait for it to stop: part the scale from what shakes it, or change its rate of frames"
        }
    }
}

/// Why another manner is suggested, as a question.
pub const fn suggestion(suggestion: Suggestion) -> &'static str {
    match suggestion.why {
        Why::OneAtATime => "You put one load on and take it off again: weigh one load at a time?",
        Why::StaysAndGrows => "What lies there stays and more comes on: weigh into a bin that stands on the scale?",
        Why::NearCapacity => "This is nearly all that the scale can bear: weigh in a tray, and tip that into the bin?",
    }
}

pub fn doubt(doubt: &Doubt) -> String {
    match doubt {
        Doubt::NotTheBin { expected, perhaps } => {
            let other = if perhaps.is_some() { " and it weighs what another bin does" } else { "" };
            format!("the chosen bin should weigh {} kg{other}, so this was kept apart", kilograms(*expected))
        }
        Doubt::PerhapsAnother { .. } => {
            "the chosen bin was never weighed, and this weighs what another bin does, so it was kept apart".into()
        }
        Doubt::FarAbove { usual, .. } => {
            format!("far above the {} kg that the heaviest piece in this bin weighed, so it was kept apart", kilograms(*usual))
        }
        Doubt::OverRoom { room, .. } => {
            format!("the chosen bin has room for {} kg, so it was kept apart", kilograms(*room))
        }
        Doubt::PerhapsThePile => "the rest of the pile went off the pan at once: perhaps it was carried away".into(),
        Doubt::Told => "marked to be looked at".into(),
        Doubt::PerhapsTheBin => {
            "the first thing on the scale, and no bin is known to stand there: perhaps it is the bin itself".into()
        }
        Doubt::PerhapsRepeated { .. } => "the scale sent the same weight twice: perhaps it is one piece".into(),
    }
}

pub fn riddle(riddle: &Riddle) -> String {
    match riddle {
        Riddle::NoBin { entry, mass, doubt: why, .. } => {
            let why = why.as_ref().map_or("no bin was chosen".into(), doubt);
            format!("drop {entry} of {} kg has no bin: {why}", kilograms(*mass))
        }
        Riddle::SentTwice { entry, mass, .. } => {
            format!("the scale sent {} kg twice: a second piece, or the same again? (drop {entry})", kilograms(*mass))
        }
        Riddle::LotWithoutFeed { lot, mass } => {
            format!("an intake of {} kg was weighed before it is taken apart: what is it? (lot {lot})", kilograms(*mass))
        }
        Riddle::InHand { bench, removal, mass } => {
            format!("bench {bench}: {} kg were taken out of a bin and not put anywhere ({removal})", kilograms(*mass))
        }
        Riddle::KnownByWeight { number, .. } => {
            format!("nobody chose bin {number}: it was known by its weight; if it is another, move what landed since")
        }
        Riddle::LastOneToo { entry, number } => {
            format!("bin {number} was chosen right after drop {entry}: does that one belong there too?")
        }
        Riddle::WorkingOrAway { session, stillness, span } => {
            let time = clock(*span);
            format!(
                "session {session}: nothing moved at the bench for {time} (h:mm:ss); were you working or away? (stillness {stillness})"
            )
        }
        Riddle::Marked { entry, mass } => format!("drop {entry} of {} kg was marked to be looked at", kilograms(*mass)),
        Riddle::CameBackLighter { number, mass, .. } => {
            format!(
                "bin {number} came back {} kg lighter than it was last seen; the books were left as they were",
                kilograms(*mass)
            )
        }
        Riddle::StockDiffers { number, booked, seen, .. } => {
            let seen = place_words::seen_words(*seen);
            format!("bin {number}: the books hold {} kg, and on the round it looked {seen}", kilograms(*booked))
        }
        Riddle::LearnedTare { number, tare, .. } => {
            format!("bin {number}: its empty weight of {} kg was taken from the first time it was set down", kilograms(*tare))
        }
        Riddle::UnknownLoad { bench } => {
            format!("bench {bench}: something lay on the scale when it was found; weighing goes on by differences")
        }
        Riddle::Ticket { ticket, number, flag } => {
            let name = number.as_ref().map_or_else(|| ticket.to_string(), |number| format!("{ticket} (number {number})"));
            format!("ticket {name}: {}", super::ticket_words::flag(flag))
        }
        Riddle::LoadLeft { number, mass, .. } => {
            format!("{} kg of bin {number} were on board and are on no ticket", kilograms(*mass))
        }
        Riddle::LessThanNothing { number, mass, .. } => {
            format!("bin {number}: the books say {} kg; something went in that was not weighed", kilograms(*mass))
        }
    }
}

/// What every report says of its own weights.
pub fn report_notes() -> Vec<String> {
    vec![
        "This scale is not legal for trade: these weights are for your own records, and the buyer's inspected scale \
         settles the price."
            .into(),
        "± is twice the standard uncertainty from the scale's division alone (JCGM 100:2008, F.2.2.1); the scale's own \
         error is common to all that it has shown (5.2.2), and stands beside the total as far as check weights bound it."
            .into(),
    ]
}

/// A count that was made when another mass lay there: an offer by the piece stands on it all the same.
pub fn counted_before(bin: &super::json::RowView) -> String {
    let (pieces, kg) = (bin.pieces.unwrap_or_default(), bin.pieces_at_kg.as_deref().unwrap_or_default());
    format!("{pieces} pieces were counted when {kg} kg lay there, and it is {} kg now: count again", bin.mass.kg)
}

/// A caution for the person who takes things apart, with where it comes from.
pub struct Caution {
    pub text: &'static str,
    pub source: &'static str,
}

/// Where wire is stripped it stands by itself.
pub const INSULATION: Caution = Caution {
    text: "Never burn insulation off wire: the smoke is poisonous, open-burning rules forbid it in many places, and burnt wire \
           loses its grade.",
    source: "open-burning rules of your state or province; Saskatchewan Environment sheet, 2015",
};

/// The usual cautions. Local codes and licensed practice come first.
pub const CAUTIONS: [Caution; 8] = [
    Caution {
        text: "Capacitors in power supplies and microwave ovens hold a charge that can kill: unplug, discharge through a \
               resistor, measure, then touch.",
        source: "E = CV²/2; limits in IEC 62368-1, from memory",
    },
    Caution {
        text: "An old lighting ballast without the words \"No PCBs\" may hold PCB: do not open it, bag it if it leaks, ask \
               your hazardous-waste office.",
        source: "US EPA fact sheet 530-F-20-005; 40 CFR 761",
    },
    Caution {
        text: "Lead in solder, old plumbing and screens: no dry sweeping, no melting indoors, wash before you eat, keep \
               work clothes out of the house.",
        source: "29 CFR 1910.1025",
    },
    Caution {
        text: "Lithium cells: take them out whole, tape the ends, never crush them, never into a scrap bin.",
        source: "US EPA guidance on lithium batteries, 2021 and 2023",
    },
    Caution {
        text: "Mercury lamps, switches and thermostats: keep them whole and boxed for a collection site.",
        source: "40 CFR 273",
    },
    Caution {
        text: "Sealed cooling circuits: never cut them. Refrigerant is taken out by a licensed recoverer, and the paper is \
               kept.",
        source: "US Clean Air Act, section 608; 40 CFR 82.154-155",
    },
    INSULATION,
    Caution {
        text: "Asbestos pads and cloth, closed cylinders, ammunition, airbags, smoke detectors and dials are not scrap. \
               Leave them whole and ask.",
        source: "40 CFR 61 subpart M, from memory; common practice",
    },
];

/// What selling asks for.
pub const SELLING: &str = "Many places ask a seller for identification and a signed statement of where the metal came from, \
                           and pay late or without cash. Local codes and licensed practice come before anything written here.";

const fn named(what: NamedKind) -> &'static str {
    match what {
        NamedKind::Bin => "bin",
        NamedKind::Grade => "grade",
        NamedKind::Feed => "feed",
        NamedKind::Buyer => "buyer",
    }
}

fn listed(known: &[String]) -> String {
    if known.is_empty() { "there is none yet".into() } else { format!("there is {}", known.join(", ")) }
}

/// One sentence: what is wrong, and what to do.
pub fn refusal(refusal: &Refusal) -> String {
    match refusal {
        Refusal::UnknownBench { bench } => format!("there is no bench {bench}; benches are those of the configuration, from 1"),
        Refusal::UnknownBin { number, known } => {
            let known: Vec<String> = known.iter().map(|number| format!("bin {number}")).collect();
            format!("there is no bin {number}; {}; make it first", listed(&known))
        }
        Refusal::NoBin => "there is no bin yet; make one first".into(),
        Refusal::UnknownName { what, name, known } => {
            format!("there is no {} \"{name}\"; {}; make it first", named(*what), listed(known))
        }
        Refusal::UnknownSession { session } => format!("there is no session {session}"),
        Refusal::NoSession => "no session is open on this bench; start one first".into(),
        Refusal::UnknownDrop { entry } => format!("there is no drop {entry}"),
        Refusal::UnknownStillness { stillness } => format!("this session has no stillness {stillness}"),
        Refusal::PressUntried { felt, needed } => {
            format!("try it first: of {needed} long presses {felt} were felt in a trial on this bench")
        }
        Refusal::NoIntake => "no load was to be an intake; ask for one first".into(),
        Refusal::UnknownLot { lot } => format!("there is no lot {lot}"),
        Refusal::LotWithoutFeed { lot } => format!("nobody has said what lot {lot} is: say it, then close it"),
        Refusal::IsIntake { entry } => {
            format!("{entry} is an intake, not a drop: it lies in no bin; void it if it was no intake")
        }
        Refusal::NoDrop => "nothing was dropped on this bench yet".into(),
        Refusal::UnknownQuote { quote } => format!("there is no quote {quote}"),
        Refusal::NumberTaken { number } => format!("bin {number} exists already; choose another number, or retire the old bin"),
        Refusal::NameTaken { what, name } => format!("a {} \"{name}\" exists already", named(*what)),
        Refusal::BlankName { what } => format!("a {} needs a name with at least one letter", named(*what)),
        Refusal::SessionOpen { session, started } => {
            format!("session {session} has been running on this bench since {started}; end it first")
        }
        Refusal::SessionEnded { session, ended } => format!("session {session} has ended already, at {ended}"),
        Refusal::SessionPaused { session } => format!("session {session} is paused already"),
        Refusal::SessionNotPaused { session } => format!("session {session} is not paused"),
        Refusal::DropGone { entry } => format!("drop {entry} was voided or taken back already; there is nothing to correct"),
        Refusal::DropProvisional { entry } => {
            format!("drop {entry} is not confirmed yet; in a few seconds it is, or it is gone; then try again")
        }
        Refusal::NotSetDown { entry } => {
            format!(
                "drop {entry} is in a bin, or was never set down on the scale: only a load without a bin can be the bin itself"
            )
        }
        Refusal::NothingMissing { number } => format!("bin {number} did not come back lighter, or it is settled already"),
        Refusal::NotInHand { removal } => {
            format!("removal {removal} is not in hand: it was put somewhere already, or there is none")
        }
        Refusal::NotPositive { mass } => format!("a weight must be more than nothing, and this is {mass}"),
        Refusal::EstimateCrossed => {
            "an estimate's low end must lie at or under its weight, and its high end at or over it".into()
        }
        Refusal::SameBin { number } => format!("it is in bin {number} already"),
        Refusal::NothingInBin { number } => format!("the books hold nothing in bin {number}"),
        Refusal::NegativeTare { mass } => format!("an empty bin cannot weigh less than nothing, and this is {mass}"),
        Refusal::NoReason => "a correction needs a reason in a few words".into(),
        Refusal::Feeds(refusal) => feed_words::refusal(refusal),
        Refusal::Checks(refusal) => super::check_words::refusal(*refusal),
        Refusal::Prices(refusal) => price_words::refusal(refusal),
        Refusal::Places(refusal) => place_words::refusal(*refusal),
        Refusal::Tickets(refusal) => super::ticket_words::refusal(refusal),
        Refusal::Trips(refusal) => super::trip_words::refusal(*refusal),
        Refusal::BreaksOutOfOrder => "the quantities of a quote's steps must rise".into(),
        Refusal::DeductionOutOfRange => "a deduction is between 0 and 100 per cent".into(),
        Refusal::ChangedMeanwhile { seen, now } => {
            format!("somebody changed it meanwhile: you saw version {seen} and it is at {now}; look again, then change it")
        }
        Refusal::StoreClosed => {
            "the store takes nothing at present; the page says why; what the scale shows is kept and merged".into()
        }
        Refusal::KeyTooLong => "an idempotency key may have two hundred characters at most".into(),
        Refusal::Stopping => "the daemon is stopping; try again when it is back".into(),
    }
}

/// The stable code of a refusal: the last part of its problem type.
pub fn code(refusal: &Refusal) -> &'static str {
    match refusal {
        Refusal::UnknownBench { .. } => "unknown-bench",
        Refusal::UnknownBin { .. } => "unknown-bin",
        Refusal::NoBin => "no-bin",
        Refusal::UnknownName { .. } => "unknown-name",
        Refusal::UnknownSession { .. } => "unknown-session",
        Refusal::NoSession => "no-session",
        Refusal::UnknownDrop { .. } => "unknown-drop",
        Refusal::UnknownStillness { .. } => "unknown-stillness",
        Refusal::NoIntake => "no-intake",
        Refusal::UnknownLot { .. } => "unknown-lot",
        Refusal::LotWithoutFeed { .. } => "lot-without-feed",
        Refusal::IsIntake { .. } => "is-intake",
        Refusal::NoDrop => "no-drop",
        Refusal::PressUntried { .. } => "press-untried",
        Refusal::UnknownQuote { .. } => "unknown-quote",
        Refusal::NumberTaken { .. } => "number-taken",
        Refusal::NameTaken { .. } => "name-taken",
        Refusal::BlankName { .. } => "blank-name",
        Refusal::SessionOpen { .. } => "session-open",
        Refusal::SessionEnded { .. } => "session-ended",
        Refusal::SessionPaused { .. } => "session-paused",
        Refusal::SessionNotPaused { .. } => "session-not-paused",
        Refusal::DropGone { .. } => "drop-gone",
        Refusal::DropProvisional { .. } => "drop-provisional",
        Refusal::NotSetDown { .. } => "not-set-down",
        Refusal::NothingMissing { .. } => "nothing-missing",
        Refusal::NotInHand { .. } => "not-in-hand",
        Refusal::NotPositive { .. } => "not-positive",
        Refusal::EstimateCrossed => "estimate-crossed",
        Refusal::Feeds(refusal) => feed_words::code(refusal),
        Refusal::Checks(refusal) => super::check_words::refusal_code(*refusal),
        Refusal::Prices(refusal) => price_words::code(refusal),
        Refusal::Places(refusal) => place_words::code(*refusal),
        Refusal::Tickets(refusal) => super::ticket_words::code(refusal),
        Refusal::Trips(refusal) => super::trip_words::code(*refusal),
        Refusal::SameBin { .. } => "same-bin",
        Refusal::NothingInBin { .. } => "nothing-in-bin",
        Refusal::NegativeTare { .. } => "negative-tare",
        Refusal::NoReason => "no-reason",
        Refusal::BreaksOutOfOrder => "breaks-out-of-order",
        Refusal::DeductionOutOfRange => "deduction-out-of-range",
        Refusal::ChangedMeanwhile { .. } => "changed-meanwhile",
        Refusal::StoreClosed => "store-closed",
        Refusal::KeyTooLong => "key-too-long",
        Refusal::Stopping => "stopping",
    }
}

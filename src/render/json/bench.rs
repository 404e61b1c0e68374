//! A bench as it stands, what its scale shows, and what waits for an answer, as JSON.

use super::{DropView, MassView, RunningTrialView, SessionView};
use crate::command::{Live, ScaleState};
use crate::dialect::Kind;
use crate::facts::Doubt;
use crate::facts::books::PressUse;
use crate::measure::Unit;
use crate::query;
use crate::render::words;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A small riddle that waits for an answer and blocks nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RiddleView {
    /// `no-bin`, `set-down`, `sent-twice`, `lot-without-feed`, `in-hand`, `known-by-weight`, `last-one-too`, `working-or-away`, `came-back-lighter`, `marked`, `stock-differs`,
    /// `learned-tare`, `unknown-load`, `ticket`, `load-left` or `less-than-nothing`.
    pub code: String,
    /// The drop, the removal, the lot or the stillness that it is about.
    pub drop: Option<u64>,
    /// The bin that it is about, by its number.
    pub bin: Option<u32>,
    pub text: String,
}

impl From<&query::Riddle> for RiddleView {
    fn from(riddle: &query::Riddle) -> RiddleView {
        use query::Riddle;
        let (code, drop, bin) = match riddle {
            Riddle::NoBin {
                entry,
                doubt: Some(Doubt::NotTheBin { .. } | Doubt::PerhapsAnother { .. } | Doubt::PerhapsTheBin),
                ..
            } => ("set-down", Some(entry.0), None),
            Riddle::NoBin { entry, .. } => ("no-bin", Some(entry.0), None),
            Riddle::SentTwice { entry, number, .. } => ("sent-twice", Some(entry.0), *number),
            Riddle::LotWithoutFeed { lot, .. } => ("lot-without-feed", Some(lot.0), None),
            Riddle::InHand { removal, .. } => ("in-hand", Some(removal.0), None),
            Riddle::KnownByWeight { number, .. } => ("known-by-weight", None, Some(*number)),
            Riddle::LastOneToo { entry, number } => ("last-one-too", Some(entry.0), Some(*number)),
            Riddle::WorkingOrAway { stillness, .. } => ("working-or-away", Some(*stillness), None),
            Riddle::Marked { entry, .. } => ("marked", Some(entry.0), None),
            Riddle::CameBackLighter { number, .. } => ("came-back-lighter", None, Some(*number)),
            Riddle::StockDiffers { number, .. } => ("stock-differs", None, Some(*number)),
            Riddle::LearnedTare { number, .. } => ("learned-tare", None, Some(*number)),
            Riddle::UnknownLoad { .. } => ("unknown-load", None, None),
            Riddle::Ticket { ticket, .. } => ("ticket", Some(ticket.0), None),
            Riddle::LoadLeft { number, .. } => ("load-left", None, Some(*number)),
            Riddle::LessThanNothing { number, .. } => ("less-than-nothing", None, Some(*number)),
        };
        RiddleView { code: code.to_owned(), drop, bin, text: words::riddle(riddle) }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BenchView {
    pub id: u16,
    pub manner: String,
    pub bin: Option<ChosenView>,
    pub session: Option<SessionView>,
    pub last_drops: Vec<DropView>,
    pub in_hand: MassView,
    pub lost_readings: u64,
    /// What a long press on the pan does: `off`, `trial` or `on`.
    pub press: String,
    /// Presses that were felt in the trial.
    pub presses_felt: u32,
    /// Not null while the next load is to be an intake.
    pub intake: Option<IntakeView>,
    /// Not null while a trial against the clock runs, or waits to be ended.
    pub trial: Option<RunningTrialView>,
    /// Not null while the next load is to be a check weight, or one lies on the scale.
    pub check: Option<String>,
    /// Not null while the scale should be checked with a known weight.
    pub check_reminder: Option<String>,
    /// Not null while the scale may still be warming up.
    pub warming: Option<String>,
    /// Bins that nobody has looked into for a week, where there are any.
    pub round_reminder: Option<String>,
    pub live: LiveView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct IntakeView {
    /// What is to be taken apart, as far as it is known.
    pub feed: Option<String>,
}

/// Another manner of weighing that would fit what is done; it is only chosen by an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SuggestionView {
    pub manner: String,
    pub text: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ChosenView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: MassView,
}

/// What the scale shows at this moment.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct LiveView {
    /// `present`, `silent` or `absent`.
    pub scale: String,
    /// As the scale sent it; null while it shows no weight.
    pub shown: Option<String>,
    pub unit: Option<String>,
    pub kind: Option<String>,
    /// The program's own verdict.
    pub settled: bool,
    pub flags: Vec<String>,
    /// Not empty while something keeps drops from being recorded.
    pub not_recorded: Option<String>,
    /// What might be done now, if anything.
    pub advice: Option<String>,
    pub suggestion: Option<SuggestionView>,
    /// The books stand at this event.
    pub seq: u64,
}

impl LiveView {
    /// `configured` is the unit of a scale that sends none.
    pub fn new(live: &Live, configured: Option<Unit>, seq: u64) -> LiveView {
        let reading = live.glance.map(|glance| glance.reading);
        LiveView {
            scale: match live.scale {
                ScaleState::Absent => "absent",
                ScaleState::Silent => "silent",
                ScaleState::Present => "present",
            }
            .to_owned(),
            shown: reading.and_then(|reading| reading.value).map(|value| value.to_string()),
            unit: reading.and_then(|reading| reading.unit_or(configured)).map(|unit| unit.symbol().to_owned()),
            kind: reading.and_then(|reading| match reading.kind {
                Kind::Gross => Some("gross".to_owned()),
                Kind::Net => Some("net".to_owned()),
                Kind::Tare => Some("tare".to_owned()),
                Kind::Unknown => None,
            }),
            settled: live.glance.is_some_and(|glance| glance.settled),
            flags: reading.map(|reading| reading.flags.names().into_iter().map(str::to_owned).collect()).unwrap_or_default(),
            advice: live.advice.map(|advice| words::advice(advice).to_owned()),
            suggestion: live.suggestion.map(|suggestion| SuggestionView {
                manner: suggestion.manner.name().to_owned(),
                text: words::suggestion(suggestion).to_owned(),
            }),
            not_recorded: live.trouble.map(|trouble| words::trouble(trouble).to_owned()),
            seq,
        }
    }
}

impl BenchView {
    pub fn new(line: &query::BenchLine, live: LiveView) -> BenchView {
        BenchView {
            id: line.bench.0,
            manner: line.manner.name().to_owned(),
            bin: line.chosen.as_ref().map(|chosen| ChosenView {
                number: chosen.number,
                name: chosen.name.clone(),
                grade: chosen.grade.clone(),
                mass: chosen.mass.into(),
            }),
            session: line.session.as_ref().map(SessionView::from),
            last_drops: line.last.iter().map(DropView::from).collect(),
            in_hand: line.in_hand.into(),
            lost_readings: line.lost_readings,
            press: words::press(line.press).to_owned(),
            presses_felt: if let PressUse::Trial { felt } = line.press { felt } else { 0 },
            intake: line.intake.as_ref().map(|intake| IntakeView { feed: intake.feed.clone() }),
            trial: line.trial.as_ref().map(RunningTrialView::from),
            check: crate::render::check_words::announced(&line.check),
            check_reminder: None,
            warming: None,
            round_reminder: None,
            live,
        }
    }

    /// The same with what its scale asks for.
    pub fn reminding(self, check_reminder: Option<String>, warming: Option<String>) -> BenchView {
        BenchView { check_reminder, warming, ..self }
    }

    /// The same with what its bins ask for.
    pub fn with_round(self, round_reminder: Option<String>) -> BenchView {
        BenchView { round_reminder, ..self }
    }
}

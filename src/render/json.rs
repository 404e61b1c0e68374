//! Answers as JSON. Masses carry their unit in the key, and decimals are strings: a JSON number would pass through
//! binary floating point in most readers.

use super::figures::{expanded_kilograms, kilograms, pounds};
use super::words;
use crate::command::{Live, ScaleState};
use crate::dialect::Kind;
use crate::facts::Doubt;
use crate::facts::books::{EntryState, Origin};
use crate::measure::{Mass, Span, Stamp, Unit, Variance};
use crate::query;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MassView {
    /// Exact, every digit.
    pub grams: String,
    /// To a thousandth, half to even.
    pub kg: String,
    /// To a thousandth, half to even.
    pub lb: String,
}

impl From<Mass> for MassView {
    fn from(mass: Mass) -> MassView {
        MassView { grams: mass.exact_grams(), kg: kilograms(mass), lb: pounds(mass) }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StampView {
    /// UTC.
    pub time: String,
    /// The clock was known to be right.
    pub sure: bool,
}

impl From<&Stamp> for StampView {
    fn from(at: &Stamp) -> StampView {
        StampView { time: at.wall.to_string(), sure: at.trusted }
    }
}

/// Twice the standard uncertainty, about 95 %.
fn expanded(variance: Variance) -> String {
    expanded_kilograms(variance)
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct YardRunView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    pub buyers: Vec<ColumnView>,
    pub bins: Vec<RowView>,
    pub total: MassView,
    pub total_uncertainty_kg: String,
    pub totals: Vec<TotalView>,
    pub unassigned: UnassignedView,
    pub provisional_drops: usize,
    /// Numbers of the bins for which no buyer has a quote.
    pub without_quote: Vec<u32>,
    pub to_settle: Vec<String>,
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ColumnView {
    pub name: String,
    pub currency: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RowView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: MassView,
    pub uncertainty_kg: String,
    pub drops: usize,
    pub filled_percent: Option<u32>,
    pub days_since_emptied: Option<i64>,
    pub tare_learned: bool,
    /// One for each buyer, in their order; null where there is no quote.
    pub offers: Vec<Option<OfferView>>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OfferView {
    /// Null where the load lies under the buyer's minimum.
    pub value: Option<String>,
    pub price: String,
    pub per: String,
    pub quote_day: String,
    pub quote_age_days: i64,
    pub stale: bool,
    pub minimum_kg: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TotalView {
    pub value: String,
    pub bins: usize,
    pub left_out_kg: String,
    pub left_out_bins: usize,
    pub stale_bins: usize,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UnassignedView {
    pub mass: MassView,
    pub drops: usize,
}

impl From<&query::YardRun> for YardRunView {
    fn from(report: &query::YardRun) -> YardRunView {
        YardRunView {
            seq: report.seq,
            day: report.day.to_string(),
            buyers: report
                .columns
                .iter()
                .map(|column| ColumnView { name: column.name.clone(), currency: column.currency.to_string() })
                .collect(),
            bins: report.rows.iter().map(RowView::from).collect(),
            total: report.mass.into(),
            total_uncertainty_kg: expanded(report.variance),
            totals: report.totals.iter().map(TotalView::from).collect(),
            unassigned: UnassignedView { mass: report.unassigned.into(), drops: report.unassigned_drops },
            provisional_drops: report.provisional_drops,
            without_quote: report.rows.iter().filter(|row| !row.has_quote()).map(|row| row.number).collect(),
            to_settle: report.riddles.iter().map(words::riddle).collect(),
            notes: words::report_notes(),
        }
    }
}

impl From<&query::Row> for RowView {
    fn from(row: &query::Row) -> RowView {
        RowView {
            number: row.number,
            name: row.name.clone(),
            grade: row.grade.clone(),
            mass: row.mass.into(),
            uncertainty_kg: expanded(row.variance),
            drops: row.drops,
            filled_percent: row.filled,
            days_since_emptied: row.age_days,
            tare_learned: row.tare_learned,
            offers: row.offers.iter().map(|offer| offer.as_ref().map(OfferView::from)).collect(),
        }
    }
}

impl From<&query::Offer> for OfferView {
    fn from(offer: &query::Offer) -> OfferView {
        OfferView {
            value: offer.value.map(|value| value.amount.to_string()),
            price: offer.price.amount.to_string(),
            per: offer.price.per.symbol().to_owned(),
            quote_day: offer.day.to_string(),
            quote_age_days: offer.age_days,
            stale: offer.stale,
            minimum_kg: offer.minimum.map(kilograms),
        }
    }
}

impl From<&query::Total> for TotalView {
    fn from(total: &query::Total) -> TotalView {
        TotalView {
            value: total.value.amount.to_string(),
            bins: total.rows,
            left_out_kg: kilograms(total.left_out),
            left_out_bins: total.left_out_rows,
            stale_bins: total.stale_rows,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BinView {
    pub id: u64,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: MassView,
    pub uncertainty_kg: String,
    pub drops: u32,
    pub tare: Option<MassView>,
    /// The tare was taken from the first time the bin was set down.
    pub tare_learned: bool,
    pub capacity: Option<MassView>,
    pub last_gross: Option<MassView>,
    pub since: StampView,
    pub retired: bool,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

impl From<&query::BinLine> for BinView {
    fn from(line: &query::BinLine) -> BinView {
        BinView {
            id: line.bin.0,
            number: line.number,
            name: line.name.clone(),
            grade: line.grade.clone(),
            mass: line.mass.into(),
            uncertainty_kg: expanded(line.variance),
            drops: line.drops,
            tare: line.tare.map(MassView::from),
            tare_learned: line.tare_learned,
            capacity: line.capacity.map(MassView::from),
            last_gross: line.last_gross.map(MassView::from),
            since: (&line.since).into(),
            retired: line.retired,
            version: line.version,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DropView {
    pub id: u64,
    pub bench: u16,
    pub origin: String,
    /// The bin's number; null while nobody has said where it belongs.
    pub bin: Option<u32>,
    pub session: Option<u64>,
    pub leg: Option<u64>,
    pub mass: MassView,
    pub uncertainty_kg: String,
    pub state: String,
    pub doubt: Option<String>,
    pub corrected: bool,
    pub at: StampView,
}

impl From<&query::DropLine> for DropView {
    fn from(line: &query::DropLine) -> DropView {
        DropView {
            id: line.drop.0,
            bench: line.bench.0,
            origin: origin(line.origin).to_owned(),
            bin: line.bin,
            session: line.session.map(|session| session.0),
            leg: line.leg,
            mass: line.mass.into(),
            uncertainty_kg: expanded(line.variance),
            state: state(line.state).to_owned(),
            doubt: line.doubt.as_ref().map(words::doubt),
            corrected: line.corrected,
            at: (&line.at).into(),
        }
    }
}

/// The code of an origin in JSON and CSV.
pub const fn origin(origin: Origin) -> &'static str {
    match origin {
        Origin::Drop(_) => "drop",
        Origin::TakenOut(_) => "taken-out",
        Origin::Transfer(_) => "transfer",
        Origin::Unseen => "unseen",
        Origin::Crumbs => "crumbs",
        Origin::Opening => "opening-stock",
        Origin::Elsewhere => "elsewhere",
        Origin::Tipped => "tipped",
    }
}

/// The code of an entry's state in JSON and CSV.
pub const fn state(state: EntryState) -> &'static str {
    match state {
        EntryState::Provisional => "provisional",
        EntryState::Confirmed => "confirmed",
        EntryState::Cancelled => "cancelled",
        EntryState::Voided => "voided",
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SessionView {
    pub id: u64,
    pub bench: u16,
    pub started: StampView,
    pub ended: Option<StampView>,
    pub paused: bool,
    pub hands_on_seconds: u64,
    /// The same if every stillness that nobody has told of was time away.
    pub hands_on_least_seconds: u64,
    /// Part of the time is not certain.
    pub clock_unsure: bool,
    pub mass: MassView,
    pub drops: u32,
    pub legs: Vec<LegView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LegView {
    pub number: u64,
    pub feed: Option<String>,
    pub hands_on_seconds: u64,
    pub mass: MassView,
}

impl From<&query::SessionLine> for SessionView {
    fn from(line: &query::SessionLine) -> SessionView {
        let seconds = |span: Span| span.as_seconds();
        SessionView {
            id: line.session.0,
            bench: line.bench.0,
            started: (&line.started).into(),
            ended: line.ended.as_ref().map(StampView::from),
            paused: line.paused,
            hands_on_seconds: seconds(line.hands_on),
            hands_on_least_seconds: seconds(line.hands_on_least),
            clock_unsure: line.clock_unsure,
            mass: line.mass.into(),
            drops: line.drops,
            legs: line
                .legs
                .iter()
                .map(|leg| LegView {
                    number: leg.number,
                    feed: leg.feed.clone(),
                    hands_on_seconds: seconds(leg.hands_on),
                    mass: leg.mass.into(),
                })
                .collect(),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NameView {
    pub id: u64,
    pub name: String,
    pub retired: bool,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

impl From<&query::NameLine> for NameView {
    fn from(line: &query::NameLine) -> NameView {
        NameView { id: line.id, name: line.name.clone(), retired: line.retired, version: line.version }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteView {
    pub id: u64,
    pub buyer: String,
    pub grade: String,
    pub price: String,
    pub currency: String,
    pub per: String,
    pub day: String,
    pub minimum: Option<MassView>,
    pub withdrawn: bool,
}

impl From<&query::QuoteLine> for QuoteView {
    fn from(line: &query::QuoteLine) -> QuoteView {
        QuoteView {
            id: line.quote.0,
            buyer: line.buyer.clone(),
            grade: line.grade.clone(),
            price: line.price.amount.to_string(),
            currency: line.price.currency.to_string(),
            per: line.price.per.symbol().to_owned(),
            day: line.day.to_string(),
            minimum: line.minimum.map(MassView::from),
            withdrawn: line.withdrawn,
        }
    }
}

/// A small riddle that waits for an answer and blocks nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RiddleView {
    /// `no-bin`, `set-down`, `in-hand`, `known-by-weight`, `last-one-too`, `working-or-away`, `marked`, `learned-tare`,
    /// `unknown-load` or `less-than-nothing`.
    pub code: String,
    /// The drop, the removal or the stillness that it is about.
    pub drop: Option<u64>,
    /// The bin that it is about, by its number.
    pub bin: Option<u32>,
    pub text: String,
}

impl From<&query::Riddle> for RiddleView {
    fn from(riddle: &query::Riddle) -> RiddleView {
        use query::Riddle;
        let (code, drop, bin) = match riddle {
            Riddle::NoBin { entry, doubt: Some(Doubt::NotTheBin { .. } | Doubt::PerhapsTheBin), .. } => {
                ("set-down", Some(entry.0), None)
            }
            Riddle::NoBin { entry, .. } => ("no-bin", Some(entry.0), None),
            Riddle::InHand { removal, .. } => ("in-hand", Some(removal.0), None),
            Riddle::KnownByWeight { number, .. } => ("known-by-weight", None, Some(*number)),
            Riddle::LastOneToo { entry, number } => ("last-one-too", Some(entry.0), Some(*number)),
            Riddle::WorkingOrAway { stillness, .. } => ("working-or-away", Some(*stillness), None),
            Riddle::Marked { entry, .. } => ("marked", Some(entry.0), None),
            Riddle::LearnedTare { number, .. } => ("learned-tare", None, Some(*number)),
            Riddle::UnknownLoad { .. } => ("unknown-load", None, None),
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
    pub live: LiveView,
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
            live,
        }
    }
}

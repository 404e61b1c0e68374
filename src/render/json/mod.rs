//! Answers as JSON. Masses carry their unit in the key, and decimals are strings: a JSON number would pass through
//! binary floating point in most readers.

mod bench;
mod buyers;
mod checks;
mod density;
mod hour;
mod job;
mod load_sheet;
mod lot;
mod outlays;
mod places;
mod plan;
mod prices;
mod ranking;
mod runs;
mod tickets;
mod trips;
mod week;
mod when;
mod wire;
mod yard_run;

pub use bench::{BenchView, ChosenView, IntakeView, LiveView, RiddleView, SuggestionView};
pub use buyers::{
    BiasView, BuyerView, BuyersView, IncomeView, LotRecordView, PaidGradeView, SeenView, SpentView, StockView, TripView, YearView,
};
pub use checks::{CheckView, DisturbanceView, DriftView, ScaleChecksView};
pub use density::{DensityView, FinerView, MetalView};
pub use hour::{BreakEvenView, FeedHourView, FigureView, GradeHourView, HourView, LossView};
pub use job::{JobView, RunningTrialView, TrialOutputView, TrialView};
pub use load_sheet::{BoardingView, CautionView, LoadSheetView, SheetBinView, SheetLineView, SheetStopView};
pub use lot::LotView;
pub use outlays::{ArrivalView, MoneyView, SpendingView, TimeView};
pub use places::{FeedMarksView, KerbLineView, KerbView, LimitsView, MarksView, RoundLineView, RoundView, TodayView, feed_marks};
pub use plan::{
    BeyondView, ComparedPlanView, DriveView, ExpectedView, HomeBinView, LoadedView, PlanLineView, PlanView, StopView,
    WaitingGradeView,
};
pub use prices::{
    BuyerNoteView, BuyerPricesView, FaultView, GradeNoteView, HeldView, ImportRowView, ImportView, PriceHistoryView,
    PriceLineView, PricePointView, PriceSeriesView, WordView,
};
pub use ranking::{DaysToFillView, PlaceLineView, PlacesView};
pub use runs::{RunBinView, RunView};
pub use tickets::{
    ComparedView, LoadView, PaymentView, TicketFaultView, TicketFlagView, TicketImportView, TicketLineView, TicketOffView,
    TicketView, TiedView,
};
pub use trips::{DistanceView, HoldView, PinView, RoadView, RunningView, TripFactsView, VehicleView, WayView, YardView};
pub use week::{BinWeekView, WeekView};
pub use when::{BinFillView, DeadlineView, EndsView, GradeFillView, LoadDayView, TripCostView, WhenView};
pub use wire::{WireKindView, WireReportView, WireSampleView};
pub use yard_run::{ColumnView, OfferView, OwnErrorView, RowView, TotalView, UnassignedView, YardRunView};

pub(in crate::render) use plan::price as plan_price;

use super::figures::{expanded_kilograms, kilograms, pounds};
use super::words;
use crate::command::price_table::written_breaks;
use crate::facts::books::{EntryState, Origin};
use crate::measure::{Mass, Span, Stamp, Variance};
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
    /// Room that it takes in the vehicle.
    pub litres: Option<u32>,
    pub last_gross: Option<MassView>,
    pub since: StampView,
    /// Somebody tapped that it is full.
    pub full: bool,
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
            litres: line.litres,
            last_gross: line.last_gross.map(MassView::from),
            since: (&line.since).into(),
            full: line.full,
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
        Origin::Intake(_) => "intake",
        Origin::Drawn(_) => "drawn",
        Origin::Transfer(_) => "transfer",
        Origin::Unseen => "unseen",
        Origin::Round => "round",
        Origin::Crumbs => "crumbs",
        Origin::Opening => "opening-stock",
        Origin::Elsewhere => "elsewhere",
        Origin::Tipped => "tipped",
        Origin::Load(_) => "load",
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
    /// Days after which it is called stale, where the quote says so itself.
    pub stale_after_days: Option<u16>,
    /// It costs money to leave the thing there: the price is negative.
    pub charge: bool,
    /// Another amount from a quantity on, as in `100kg=4.20; 500kg=4.50`.
    pub breaks: String,
    pub minimum: Option<MassView>,
    /// Per cent that the buyer takes off the weight.
    pub deduction_percent: Option<String>,
    pub withdrawn: bool,
}

impl From<&query::QuoteLine> for QuoteView {
    fn from(line: &query::QuoteLine) -> QuoteView {
        QuoteView {
            id: line.quote.0,
            buyer: line.buyer.clone(),
            grade: line.grade.clone(),
            price: line.rate.amount().to_string(),
            currency: line.rate.currency().to_string(),
            per: line.rate.per().symbol().to_owned(),
            day: line.day.to_string(),
            stale_after_days: line.stale_after,
            charge: line.rate.is_charge(),
            breaks: written_breaks(&line.breaks),
            minimum: line.minimum.map(MassView::from),
            deduction_percent: line.deduction.map(|percent| percent.to_string()),
            withdrawn: line.withdrawn,
        }
    }
}

//! What an hour is worth, as JSON.

use super::{JobView, MarksView, MassView, TrialView};
use crate::economy::break_even::BreakEven;
use crate::economy::interval::Interval;
use crate::economy::ratio::Ratio;
use crate::measure::{Rounding, Span};
use crate::query::{self, WholeSaid};
use crate::render::hour_words;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Half up, as money is rounded.
const RULE: Rounding = Rounding::HalfUp;
const PLACES: u32 = 2;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HourView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    /// Which prices the figures stand on.
    pub prices: String,
    /// Null where each grade takes its best quote.
    pub buyer: Option<String>,
    pub currency: String,
    /// What an hour must bring, for the break-even: as asked, else as the owner told it, else nothing.
    pub floor_per_hour: String,
    /// It is the one that the owner told.
    pub floor_told: bool,
    pub feeds: Vec<FeedHourView>,
    /// What the whole job brings an hour.
    pub job: JobView,
    /// One sample each, newest first.
    pub trials: Vec<TrialView>,
    /// What is in no figure here.
    pub left_out: Vec<String>,
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FeedHourView {
    pub feed: String,
    /// To which depth, in the owner's own word.
    pub depth: Option<String>,
    /// The owner's marks of the feed.
    pub marks: MarksView,
    pub closed_lots: usize,
    /// Of them, those that were only counted.
    pub counted_lots: usize,
    /// Null unless every closed lot was counted.
    pub pieces: Option<u64>,
    pub value_per_piece: Option<String>,
    pub open_lots: usize,
    pub intake: MassView,
    pub grades: Vec<GradeHourView>,
    /// Null while no lot is closed.
    pub loss: Option<LossView>,
    /// Of the outputs that have a quote, per kilogram of what was taken apart.
    pub value_per_kg: Option<String>,
    /// At the bench and away from it, without what soaked or was heated.
    pub hands_on_seconds: u64,
    pub off_bench_seconds: u64,
    /// Soaking, heating and the like.
    pub waited_seconds: u64,
    /// The same per hour from the first minute of each lot to its last.
    pub adds_per_elapsed_hour: Option<FigureView>,
    /// Told of the closed lots, and taken off.
    pub consumables: String,
    pub disposal: String,
    /// Of the disposal, what buyers charge for taking things.
    pub charges: String,
    /// What taking apart adds an hour; null where it cannot be told, and `says` tells why.
    pub adds_per_hour: Option<FigureView>,
    /// `quoted`, `left` or `unknown`.
    pub whole: String,
    pub whole_per_kg: Option<String>,
    /// Where the buyer pays for the whole thing by the piece.
    pub whole_per_piece: Option<String>,
    /// The hands-on time in which the same must be done to bring the floor.
    pub break_even_hours: Option<BreakEvenView>,
    /// What must be known beside the figures.
    pub says: Vec<String>,
}

/// A figure, and where it lies at 95 % from four lots on. That of a share of the intake is cut where nothing can be, and `says` tells it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FigureView {
    pub value: String,
    pub low: Option<String>,
    pub high: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct GradeHourView {
    /// Null for what lies in no bin, or in one without a grade.
    pub grade: Option<String>,
    pub mass: MassView,
    pub percent: Option<FigureView>,
    /// Twice the standard uncertainty from the weighing alone, in per cent of the intake.
    pub weighing_percent: Option<String>,
    pub buyer: Option<String>,
    /// With what the buyer takes off the weight already off.
    pub price_per_kg: Option<String>,
    /// Where it is paid by the piece; with a minus it is a charge, as is the price of a kilogram.
    pub price_per_piece: Option<String>,
    /// Paid by the piece, and not counted since the last of it came: in no value.
    pub not_counted: Option<MassView>,
    pub quote_day: Option<String>,
    pub stale: bool,
    /// Null without a quote.
    pub value: Option<String>,
    pub break_even_price_per_kg: Option<BreakEvenView>,
    /// Where it is paid by the piece and somebody counted.
    pub break_even_price_per_piece: Option<BreakEvenView>,
    pub break_even_percent: Option<BreakEvenView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LossView {
    pub mass: MassView,
    pub percent: Option<FigureView>,
    pub weighing_percent: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BreakEvenView {
    /// `at`, `always` or `never`.
    pub pays: String,
    pub value: Option<String>,
}

/// Two decimals, written out.
pub(super) fn plain(value: Decimal) -> String {
    format!("{:.2}", RULE.decimal(value, PLACES))
}

pub(super) fn percent(value: Decimal) -> String {
    plain(value.saturating_mul(Decimal::ONE_HUNDRED))
}

fn figure(ratio: &Ratio) -> Option<FigureView> {
    Some(view(ratio.point()?, ratio.interval(), plain))
}

/// In per cent of a whole, cut at nothing and at all of it.
pub(super) fn part(ratio: &Ratio) -> Option<FigureView> {
    Some(view(ratio.point()?, ratio.part().map(|cut| cut.interval), percent))
}

fn view(value: Decimal, interval: Option<Interval>, write: fn(Decimal) -> String) -> FigureView {
    let value = write(value);
    FigureView { value, low: interval.map(|known| write(known.low)), high: interval.map(|known| write(known.high)) }
}

fn break_even<T>(line: BreakEven<T>, write: impl Fn(T) -> String) -> BreakEvenView {
    let (pays, value) = match line {
        BreakEven::At(value) => ("at", Some(write(value))),
        BreakEven::Always => ("always", None),
        BreakEven::Never => ("never", None),
    };
    BreakEvenView { pays: pays.to_owned(), value }
}

/// Rounded up, so that it is never made smaller.
pub(super) fn expanded_percent(standard: Decimal) -> String {
    let twice = standard.saturating_mul(Decimal::TWO).saturating_mul(Decimal::ONE_HUNDRED);
    format!("{:.2}", twice.round_dp_with_strategy(PLACES, RoundingStrategy::AwayFromZero))
}

fn hours(span: Span) -> String {
    plain(Decimal::from(span.as_seconds()) / Decimal::from(3600))
}

impl From<&query::HourReport> for HourView {
    fn from(report: &query::HourReport) -> HourView {
        HourView {
            seq: report.seq,
            day: report.day.to_string(),
            prices: hour_words::prices(report),
            buyer: report.buyer.clone(),
            currency: report.currency.to_string(),
            floor_per_hour: plain(report.floor),
            floor_told: report.floor_told,
            feeds: report.feeds.iter().map(FeedHourView::from).collect(),
            job: JobView::from(&report.job),
            trials: report.trials.iter().map(TrialView::from).collect(),
            left_out: hour_words::left_out(report),
            notes: hour_words::notes(report),
        }
    }
}

impl From<&query::FeedHour> for FeedHourView {
    fn from(feed: &query::FeedHour) -> FeedHourView {
        let yields = feed.yields.as_ref();
        let (whole, price) = match &feed.whole {
            WholeSaid::Quoted(price) => ("quoted", Some(price)),
            WholeSaid::Left => ("left", None),
            WholeSaid::Unknown => ("unknown", None),
        };
        FeedHourView {
            feed: feed.name.clone(),
            depth: feed.depth.clone(),
            marks: (&feed.marks).into(),
            closed_lots: feed.closed_lots,
            counted_lots: feed.counted_lots,
            pieces: feed.pieces,
            value_per_piece: feed.per_piece.map(plain),
            open_lots: feed.open_lots,
            intake: yields.map_or(crate::measure::Mass::ZERO, |yields| yields.intake).into(),
            grades: feed.grades.iter().map(GradeHourView::from).collect(),
            loss: yields.map(|yields| LossView {
                mass: yields.loss.mass.into(),
                percent: part(&yields.loss.ratio),
                weighing_percent: yields.loss.weighing.map(expanded_percent),
            }),
            value_per_kg: feed.per_kilogram.map(plain),
            hands_on_seconds: feed.hands_on.as_seconds(),
            off_bench_seconds: feed.off_bench.as_seconds(),
            waited_seconds: feed.waited.as_seconds(),
            adds_per_elapsed_hour: feed.pay.as_ref().ok().and_then(|pay| figure(&pay.elapsed)),
            consumables: plain(feed.consumables),
            disposal: plain(feed.disposal),
            charges: plain(feed.charges),
            adds_per_hour: feed.pay.as_ref().ok().and_then(|pay| figure(&pay.hands_on)),
            whole: whole.to_owned(),
            whole_per_kg: price.and_then(query::Priced::per_kilogram).map(plain),
            whole_per_piece: price.and_then(query::Priced::per_piece).map(plain),
            break_even_hours: feed.time.map(|time| break_even(time, hours)),
            says: hour_words::says(feed),
        }
    }
}

impl From<&query::GradeHour> for GradeHourView {
    fn from(grade: &query::GradeHour) -> GradeHourView {
        let price = grade.price.as_ref();
        GradeHourView {
            grade: grade.name.clone(),
            mass: grade.mass.into(),
            percent: part(&grade.recovery.ratio),
            weighing_percent: grade.recovery.weighing.map(expanded_percent),
            buyer: price.map(|price| price.buyer.clone()),
            price_per_kg: price.and_then(query::Priced::per_kilogram).map(plain),
            price_per_piece: price.and_then(query::Priced::per_piece).map(plain),
            not_counted: (!grade.not_counted.is_zero()).then(|| grade.not_counted.into()),
            quote_day: price.map(|price| price.day.to_string()),
            stale: price.is_some_and(|price| price.stale),
            value: grade.value.map(|value| value.amount.to_string()),
            break_even_price_per_kg: grade.price_needed.map(|line| break_even(line, plain)),
            break_even_price_per_piece: grade.piece_price_needed.map(|line| break_even(line, plain)),
            break_even_percent: grade.share_needed.map(|line| break_even(line, percent)),
        }
    }
}

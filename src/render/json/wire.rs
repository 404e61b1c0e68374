//! The report on wire, as JSON.

use super::hour::{expanded_percent, part, percent, plain};
use super::{FigureView, MassView};
use crate::measure::Span;
use crate::query;
use crate::render::wire_words;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WireReportView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    pub currency: String,
    /// Null where nobody has said: then an hour must bring nothing.
    pub floor_per_hour: Option<String>,
    /// To be rid of the insulation; null where nobody has said.
    pub disposal_per_kg: Option<String>,
    /// By what an hour of stripping gains, the most first.
    pub kinds: Vec<WireKindView>,
    /// Newest first.
    pub samples: Vec<WireSampleView>,
    pub notes: Vec<String>,
    pub caution: String,
}

/// One kind of wire and its metal. ± is twice the standard uncertainty.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WireKindView {
    pub feed: String,
    pub metal: String,
    pub samples: usize,
    pub timed_samples: usize,
    pub insulated: MassView,
    pub bare: MassView,
    /// Metal, of the wire; with an interval from four samples on.
    pub recovery_percent: Option<FigureView>,
    pub recovery_uncertainty_percent: Option<String>,
    pub buyer: Option<String>,
    /// Null where it would have been left.
    pub insulated_price_per_kg: Option<String>,
    pub bare_price_per_kg: Option<String>,
    pub stale: bool,
    /// Stripped, over selling it as it is, per kilogram of wire.
    pub gain_per_kg: Option<String>,
    pub gain_per_kg_uncertainty: Option<String>,
    /// Wire worked in an hour, by the timed samples.
    pub kg_per_hour: Option<String>,
    pub gain_per_hour: Option<String>,
    pub gain_per_hour_uncertainty: Option<String>,
    /// The share of metal from which stripping pays, with the floor for the time where that is known; may lie over 100.
    pub break_even_percent: Option<String>,
    /// `strip`, `sell-as-it-is`, `cannot-tell`, `time-it` or `no-price`.
    pub verdict: String,
    /// In one line.
    pub reason: String,
    /// What would change the verdict.
    pub turns: Vec<String>,
    pub says: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WireSampleView {
    /// To be taken back as a record.
    pub id: u64,
    pub day: String,
    pub feed: String,
    pub metal: String,
    pub insulated: MassView,
    pub bare: MassView,
    pub division: MassView,
    /// Null where nobody timed it.
    pub seconds: Option<u64>,
    pub voided: bool,
}

/// Twice a standard uncertainty, rounded up so that it is never made smaller.
fn expanded(standard: Decimal) -> String {
    format!("{:.2}", standard.saturating_mul(Decimal::TWO).round_dp_with_strategy(2, RoundingStrategy::AwayFromZero))
}

/// Kilograms in an hour, to three decimals.
fn rate(pace: &crate::economy::wire::Pace) -> Option<String> {
    let kilograms = Decimal::try_from_i128_with_scale(pace.wire.femtograms(), 18).ok()?;
    let seconds = Decimal::from(pace.hands_on.as_seconds());
    let rate = kilograms.checked_mul(Decimal::from(3600))?.checked_div(seconds)?;
    Some(format!("{:.3}", rate.round_dp(3)))
}

impl From<&query::WireReport> for WireReportView {
    fn from(report: &query::WireReport) -> WireReportView {
        WireReportView {
            seq: report.seq,
            day: report.day.to_string(),
            currency: report.currency.to_string(),
            floor_per_hour: report.floor.map(plain),
            disposal_per_kg: report.disposal.map(plain),
            kinds: report.kinds.iter().map(|kind| kind_view(report, kind)).collect(),
            samples: report.samples.iter().map(WireSampleView::from).collect(),
            notes: wire_words::notes(report),
            caution: format!("{} ({})", crate::render::words::INSULATION.text, crate::render::words::INSULATION.source),
        }
    }
}

fn kind_view(report: &query::WireReport, kind: &query::WireKind) -> WireKindView {
    let recovery = kind.recovery.as_ref().ok();
    let (prices, known) = (kind.prices.as_ref().ok(), kind.stripping.as_ref());
    let hour = known.and_then(|known| known.per_hour);
    WireKindView {
        feed: kind.feed.clone(),
        metal: kind.metal.clone(),
        samples: kind.samples,
        timed_samples: kind.timed,
        insulated: kind.insulated.into(),
        bare: kind.bare.into(),
        recovery_percent: recovery.and_then(|known| part(&known.samples)),
        recovery_uncertainty_percent: recovery.map(|known| expanded_percent(known.standard)),
        buyer: prices.map(|prices| prices.buyer.clone()),
        insulated_price_per_kg: prices.and_then(|prices| prices.insulated).map(plain),
        bare_price_per_kg: prices.map(|prices| plain(prices.bare)),
        stale: prices.is_some_and(|prices| prices.stale),
        gain_per_kg: known.map(|known| plain(known.per_kilogram)),
        gain_per_kg_uncertainty: known.map(|known| expanded(known.per_kilogram_standard)),
        kg_per_hour: kind.pace.as_ref().and_then(rate),
        gain_per_hour: hour.map(|hour| plain(hour.gain)),
        gain_per_hour_uncertainty: hour.map(|hour| expanded(hour.standard)),
        break_even_percent: known.and_then(|known| known.least_recovery).map(percent),
        verdict: wire_words::code(kind).to_owned(),
        reason: wire_words::reason(report, kind),
        turns: known.map(|known| wire_words::turns(kind, known)).unwrap_or_default(),
        says: wire_words::says(report, kind),
    }
}

impl From<&query::WireLine> for WireSampleView {
    fn from(line: &query::WireLine) -> WireSampleView {
        WireSampleView {
            id: line.record,
            day: line.day.to_string(),
            feed: line.feed.clone(),
            metal: line.metal.clone(),
            insulated: line.insulated.into(),
            bare: line.bare.into(),
            division: line.division.into(),
            seconds: line.span.map(Span::as_seconds),
            voided: line.voided,
        }
    }
}

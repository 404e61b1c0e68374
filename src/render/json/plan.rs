//! What to load and where to drive, as JSON.

use super::MassView;
use crate::measure::{Currency, Mass, Money, Notation, Price, PriceUnit, Rate, Rounding};
use crate::query::{
    BeyondBuyer, Drive, HeldGrade, HomeBin, LoadedBin, Outcome, Picked, PlanReport, Planned, Stop, StopLine, Waiting,
};
use crate::render::plan_words;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Decimals of a quantity in the buyer's unit, as of kilograms.
const QUANTITY_PLACES: u32 = 3;

/// A mile in kilometres, exact, in millionths.
const MILE: Decimal = Decimal::from_parts(1_609_344, 0, 0, false, 6);

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlanView {
    /// The books stand at this event.
    pub seq: u64,
    pub today: String,
    /// The day that is planned for.
    pub day: String,
    /// Of every amount here.
    pub currency: String,
    /// What an hour must bring; null where nobody has said, and then hours cost nothing.
    pub floor_per_hour: Option<String>,
    /// The plan stands on what each buyer will likely pay, where their tickets tell, and not on what they quote.
    pub by_expected: bool,
    pub effort: u32,
    /// `drive`, `stay`, `impossible`, `not-found`, `nothing-there` or `nowhere-to-go`.
    pub verdict: String,
    /// In one sentence.
    pub says: String,
    /// Each of these, dropped alone, makes a drive possible.
    pub rules: Vec<String>,
    pub drive: Option<DriveView>,
    /// What the drive is compared with.
    pub compared: Vec<ComparedPlanView>,
    /// Nothing better than this can exist; null where the drive is proved to be best.
    pub bound: Option<String>,
    /// What lies in bins and stays, by number.
    pub home: Vec<HomeBinView>,
    pub beyond: Vec<BeyondView>,
    pub held: Vec<WaitingGradeView>,
    /// What nobody has told, and how the plan stands without it.
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DriveView {
    /// In the order of driving.
    pub stops: Vec<StopView>,
    pub bins: usize,
    pub mass: MassView,
    /// With the vessels, as far as their weights are known.
    pub gross: MassView,
    /// As far as it is told.
    pub litres: u32,
    /// To a tenth.
    pub km: String,
    /// To a tenth.
    pub miles: String,
    pub minutes: u32,
    /// The sum of the lines.
    pub value: String,
    pub driving: String,
    pub hours: String,
    /// Value less the two.
    pub net: String,
    /// As the load sheet is asked for it: `Quayside: 3 4; Northgate: 5`.
    pub sheet: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StopView {
    pub buyer: String,
    pub minutes_there: u32,
    pub lines: Vec<PlanLineView>,
    pub value: String,
}

/// What is brought of one grade to one buyer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlanLineView {
    pub grade: String,
    /// What the buyer calls it.
    pub word: Option<String>,
    pub bins: Vec<LoadedView>,
    pub mass: MassView,
    /// The same in the buyer's unit, to a thousandth.
    pub quantity: String,
    pub unit: String,
    /// That holds for so much, as in `4.00/lb`.
    pub price: String,
    pub quote_day: String,
    pub stale: bool,
    pub deduction_percent: Option<String>,
    /// Rounded once.
    pub value: String,
    /// What the quote will likely be paid as, where tickets tell and it is another.
    pub expected: Option<ExpectedView>,
}

/// A guess from the past, never in the place of a quote unless it was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ExpectedView {
    pub quoted: String,
    pub expected: String,
    /// Lines of tickets on which it rests.
    pub lines: usize,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LoadedView {
    pub number: u32,
    pub name: Option<String>,
    pub mass: MassView,
    pub gross: MassView,
    /// The vessel's weight is known.
    pub weighed: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ComparedPlanView {
    /// `second-best`, `nearest`, `home` or `waiting`.
    pub with: String,
    /// What that brings; null where it cannot be said.
    pub net: Option<String>,
    /// What the drive brings more; negative where it brings less.
    pub more: Option<String>,
    pub says: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HomeBinView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: MassView,
    /// `no-grade`, `pinned`, `no-quote`, `held` or `not-worth`.
    pub why: String,
    pub says: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BeyondView {
    pub buyer: String,
    /// `no-yard`, `closed`, `no-quote` or `too-many`.
    pub why: String,
    pub says: String,
}

/// A grade that waits for a price.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WaitingGradeView {
    pub grade: String,
    /// As in `4.00/lb`.
    pub at: String,
    pub currency: String,
    /// `waits`, `reached`, `day` or `weight`.
    pub state: String,
    pub says: String,
    /// In all bins.
    pub mass: MassView,
    pub best: Option<String>,
    pub best_buyer: Option<String>,
    /// Of the quotes that began in the last ninety days.
    pub quotes: usize,
    pub low: Option<String>,
    pub high: Option<String>,
    pub last: Option<String>,
    pub last_day: Option<String>,
    /// What a price a tenth under the best would take off what lies there.
    pub tenth_less: Option<String>,
}

pub(in crate::render) fn amount(money: Money) -> String {
    money.amount.to_string()
}

/// `4.00/lb`, without the currency, which stands beside: of a figure that was reckoned, at least two decimals.
pub(in crate::render) fn price(price: Price) -> String {
    let mut amount = price.amount.normalize();
    if amount.scale() < 2 {
        amount.rescale(2);
    }
    rate(Rate::Weight(Price { amount, ..price }), price.currency)
}

fn rate(rate: Rate, currency: Currency) -> String {
    Notation::of(&rate, currency).to_string()
}

fn bound(amount: Decimal) -> String {
    format!("{:.2}", Rounding::HalfUp.decimal(amount, 2))
}

/// A mass in the unit of a rate.
fn quantity(mass: Mass, rate: Rate) -> (String, String) {
    let unit = match rate {
        Rate::Weight(price) => price.per,
        Rate::Piece(_) => PriceUnit::Kilogram,
    };
    let scaled = mass.femtograms().saturating_mul(10_i128.pow(QUANTITY_PLACES));
    let counted = Rounding::HalfEven.divide(scaled, unit.mass().femtograms());
    let text = Decimal::try_from_i128_with_scale(counted, QUANTITY_PLACES).unwrap_or(Decimal::MAX).to_string();
    (text, unit.symbol().to_owned())
}

impl From<&Drive> for DriveView {
    fn from(drive: &Drive) -> DriveView {
        let tenth = |distance: Decimal| format!("{:.1}", Rounding::HalfEven.decimal(distance, 1));
        DriveView {
            stops: drive.stops.iter().map(StopView::from).collect(),
            bins: drive.bins().count(),
            mass: drive.mass.into(),
            gross: drive.gross.into(),
            litres: drive.litres,
            km: tenth(drive.km),
            miles: tenth(drive.km / MILE),
            minutes: drive.minutes,
            value: amount(drive.value),
            driving: amount(drive.driving),
            hours: amount(drive.hours),
            net: amount(drive.net),
            sheet: sheet(drive),
        }
    }
}

fn sheet(drive: &Drive) -> String {
    let stop = |stop: &Stop| {
        let mut numbers: Vec<u32> = stop.lines.iter().flat_map(|line| &line.bins).map(|bin| bin.number).collect();
        numbers.sort_unstable();
        (stop.name.clone(), numbers)
    };
    Picked(drive.stops.iter().map(stop).collect()).written()
}

impl From<&Stop> for StopView {
    fn from(stop: &Stop) -> StopView {
        StopView {
            buyer: stop.name.clone(),
            minutes_there: stop.minutes_there,
            lines: stop.lines.iter().map(PlanLineView::from).collect(),
            value: amount(stop.value),
        }
    }
}

impl From<&StopLine> for PlanLineView {
    fn from(line: &StopLine) -> PlanLineView {
        let (quantity, unit) = quantity(line.mass, line.rate);
        PlanLineView {
            grade: line.name.clone(),
            word: line.word.clone(),
            bins: line.bins.iter().map(LoadedView::from).collect(),
            mass: line.mass.into(),
            quantity,
            unit,
            price: match line.rate {
                Rate::Weight(reckoned) if reckoned.amount.scale() > 2 => price(reckoned),
                as_given => rate(as_given, as_given.currency()),
            },
            quote_day: line.quote_day.to_string(),
            stale: line.stale,
            deduction_percent: line.deduction.map(|share| share.to_string()),
            value: amount(line.value),
            expected: line.expected.map(|known| ExpectedView {
                quoted: price(known.quoted),
                expected: price(known.expected),
                lines: known.lines,
            }),
        }
    }
}

impl From<&LoadedBin> for LoadedView {
    fn from(bin: &LoadedBin) -> LoadedView {
        LoadedView {
            number: bin.number,
            name: bin.name.clone(),
            mass: bin.mass.into(),
            gross: bin.gross.into(),
            weighed: bin.weighed,
        }
    }
}

fn compared(planned: &Planned) -> Vec<ComparedPlanView> {
    let says = |what: &str, words: String, net: Option<Money>, more: Option<Money>| ComparedPlanView {
        with: what.to_owned(),
        net: net.map(amount),
        more: more.map(amount),
        says: words,
    };
    let other = |what: &str, drive: Option<&Drive>| {
        let more = drive.map(|drive| planned.over(drive));
        says(what, plan_words::other(what, drive), drive.map(|drive| drive.net), more)
    };
    let home = planned.over_home.map(|net| Money { amount: Decimal::new(0, net.amount.scale()), ..net });
    let waiting = planned.waiting.as_ref().ok();
    vec![
        other("second-best", planned.second.as_ref()),
        other("nearest", planned.nearest.as_ref()),
        says("home", plan_words::staying(planned.over_home.is_some()), home, planned.over_home),
        says("waiting", plan_words::waiting(&planned.waiting), waiting.map(|known| known.once), waiting.map(Waiting::over)),
    ]
}

impl From<&HomeBin> for HomeBinView {
    fn from(bin: &HomeBin) -> HomeBinView {
        let (why, says) = plan_words::home(bin.why);
        HomeBinView {
            number: bin.number,
            name: bin.name.clone(),
            grade: bin.grade.clone(),
            mass: bin.mass.into(),
            why: why.to_owned(),
            says: says.to_owned(),
        }
    }
}

impl From<&BeyondBuyer> for BeyondView {
    fn from(buyer: &BeyondBuyer) -> BeyondView {
        let (why, says) = plan_words::beyond(buyer.why);
        BeyondView { buyer: buyer.name.clone(), why: why.to_owned(), says: says.to_owned() }
    }
}

impl From<&HeldGrade> for WaitingGradeView {
    fn from(held: &HeldGrade) -> WaitingGradeView {
        let (range, best) = (held.range.as_ref(), held.best.as_ref());
        WaitingGradeView {
            grade: held.name.clone(),
            at: price(held.hold.at),
            currency: held.hold.at.currency.to_string(),
            state: plan_words::hold_code(held.state).to_owned(),
            says: plan_words::hold(held),
            mass: held.there.into(),
            best: best.map(|(_, best)| price(*best)),
            best_buyer: best.map(|(buyer, _)| buyer.clone()),
            quotes: range.map_or(0, |range| range.quotes),
            low: range.map(|range| price(range.low)),
            high: range.map(|range| price(range.high)),
            last: range.map(|range| price(range.last)),
            last_day: range.map(|range| range.last_day.to_string()),
            tenth_less: held.tenth.map(amount),
        }
    }
}

impl From<&PlanReport> for PlanView {
    fn from(report: &PlanReport) -> PlanView {
        let planned = match &report.outcome {
            Outcome::Planned(planned) => Some(&**planned),
            _ => None,
        };
        let rules = match &report.outcome {
            Outcome::Infeasible(rules) => rules.iter().map(|broken| plan_words::rule(*broken)).collect(),
            _ => Vec::new(),
        };
        let limit = match &report.outcome {
            Outcome::NoneFound { bound } => Some(*bound),
            _ => planned.and_then(|planned| planned.bound),
        };
        PlanView {
            seq: report.seq,
            today: report.today.to_string(),
            day: report.day.to_string(),
            currency: report.currency.to_string(),
            floor_per_hour: report.floor.map(|floor| floor.to_string()),
            by_expected: report.by_expected,
            effort: report.effort,
            verdict: plan_words::verdict(&report.outcome).to_owned(),
            says: plan_words::says(report),
            rules,
            drive: planned.filter(|planned| !planned.drive.stops.is_empty()).map(|planned| (&planned.drive).into()),
            compared: planned.map(compared).unwrap_or_default(),
            bound: limit.map(bound),
            home: report.home.iter().map(HomeBinView::from).collect(),
            beyond: report.beyond.iter().map(BeyondView::from).collect(),
            held: report.held.iter().map(WaitingGradeView::from).collect(),
            notes: plan_words::notes(report),
        }
    }
}

//! The whole job and trials against the clock, as JSON.

use super::hour::plain;
use super::{MassView, StampView};
use crate::query::{JobHour, TrialHour, TrialLine};
use crate::render::job_words;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What the whole job brings an hour.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct JobView {
    /// Null where it cannot be told, and `says` tells why.
    pub per_hour: Option<String>,
    /// Received and stock, less bought, spent and trips.
    pub brings: Option<String>,
    pub received: String,
    pub stock: String,
    pub bought: String,
    pub spent: String,
    pub trips: String,
    pub fetching_seconds: u64,
    pub bench_seconds: u64,
    pub yard_seconds: u64,
    /// What it leaves out.
    pub says: Vec<String>,
    pub how: String,
}

/// A trial: one sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TrialView {
    pub id: u64,
    pub bench: u16,
    pub feed: String,
    pub at: StampView,
    pub set_seconds: u64,
    pub worked_seconds: u64,
    pub running: bool,
    pub pieces: Option<u32>,
    pub mass: Option<MassView>,
    pub drops: usize,
    pub outputs: Vec<TrialOutputView>,
    /// What came out, an hour, before what the goods would have brought whole.
    pub brings_per_hour: Option<String>,
    /// What taking apart adds an hour.
    pub adds_per_hour: Option<String>,
    pub pieces_per_hour: Option<String>,
    /// What a hundred pieces would add, and the seconds they would take.
    pub hundred_pieces_add: Option<String>,
    pub hundred_pieces_seconds: Option<u64>,
    pub says: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TrialOutputView {
    /// Null for what lies in no bin, or in one without a grade.
    pub grade: Option<String>,
    pub mass: MassView,
    pub value: Option<String>,
}

/// A trial that nobody has ended yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RunningTrialView {
    pub id: u64,
    pub feed: String,
    pub set_seconds: u64,
    /// Nothing when the time is up; rounded up.
    pub left_seconds: u64,
}

impl From<&JobHour> for JobView {
    fn from(hour: &JobHour) -> JobView {
        let job = &hour.job;
        let answer = hour.answer.as_ref().ok();
        JobView {
            per_hour: answer.map(|whole| plain(whole.per_hour.amount)),
            brings: answer.map(|whole| plain(whole.brings.amount)),
            received: plain(job.received.amount),
            stock: plain(job.stock.amount),
            bought: plain(job.bought.amount),
            spent: plain(job.spent.amount),
            trips: plain(job.trips.amount),
            fetching_seconds: job.fetching.as_seconds(),
            bench_seconds: job.bench.as_seconds(),
            yard_seconds: job.yard.as_seconds(),
            says: job_words::job(hour),
            how: job_words::JOB_HOW.to_owned(),
        }
    }
}

impl From<&TrialHour> for TrialView {
    fn from(trial: &TrialHour) -> TrialView {
        let pay = trial.pay.as_ref().ok().filter(|_| !trial.running);
        let hour = Decimal::from(3600);
        let worked = Decimal::from(trial.worked.as_millis()) / Decimal::from(1000);
        let per_hour = |pieces: u32| Decimal::from(pieces).checked_mul(hour)?.checked_div(worked);
        let hundred = trial.hundred.filter(|_| !trial.running);
        TrialView {
            id: trial.trial,
            bench: trial.bench.0,
            feed: trial.feed.clone(),
            at: (&trial.at).into(),
            set_seconds: trial.set.as_seconds(),
            worked_seconds: trial.worked.as_seconds(),
            running: trial.running,
            pieces: trial.pieces,
            mass: trial.mass.map(MassView::from),
            drops: trial.drops,
            outputs: trial
                .outputs
                .iter()
                .map(|output| TrialOutputView {
                    grade: output.grade.clone(),
                    mass: output.mass.into(),
                    value: output.value.map(|value| plain(value.amount)),
                })
                .collect(),
            brings_per_hour: trial.brings.filter(|_| !trial.running).map(plain),
            adds_per_hour: pay.and_then(|pay| pay.hands_on.point()).map(plain),
            pieces_per_hour: trial.pieces.and_then(per_hour).map(plain),
            hundred_pieces_add: hundred.map(|carried| plain(carried.added.amount)),
            hundred_pieces_seconds: hundred.map(|carried| carried.hands_on.as_seconds()),
            says: job_words::trial(trial),
        }
    }
}

impl From<&TrialLine> for RunningTrialView {
    fn from(line: &TrialLine) -> RunningTrialView {
        RunningTrialView {
            id: line.trial,
            feed: line.feed.clone(),
            set_seconds: line.set.as_seconds(),
            left_seconds: line.left.as_millis().div_ceil(1000),
        }
    }
}

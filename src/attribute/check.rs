//! A check weight that was announced: the next load of about its weight is it, and no drop in any manner.
//!
//! It may be laid on an empty platform or beside whatever stands there, and may lie through a restart. While it lies there
//! the manner sees what is shown without it.

use super::platform::Platform;
use super::{Attribute, Made, Recorder};
use crate::facts::books::LyingCheck;
use crate::facts::{BenchId, Books, CheckLaid, CheckTakenOff, Fact, StepId};
use crate::measure::Mass;
use crate::settle::{Act, EpochCause, Rest, Step};

/// The check weight that lies on the platform.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CheckLoad {
    /// The rest on which it was laid.
    base: Mass,
    /// What is shown beside it now.
    beside: Mass,
    shown: Mass,
    /// What of it lies there still: coins may go one after the other.
    rest: Mass,
    weighed: bool,
}

/// What a step did to the check weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum OfCheck {
    Laid,
    /// Something came or went beside it, or a part of it went.
    Beside,
    Off,
}

impl CheckLoad {
    /// One that lay there when the program ended, or that somebody has told of.
    pub fn left(bench: BenchId, books: &Books) -> Option<CheckLoad> {
        let state = books.bench(bench);
        let LyingCheck { laid, weighed } = state.check.lies?;
        let beside = state.last_step.map_or(laid.base, |(_, rest)| rest.load - laid.shown);
        Some(CheckLoad { base: laid.base, beside, shown: laid.shown, rest: laid.shown, weighed })
    }
}

impl Attribute {
    /// Takes its part of a step and returns what is left of it.
    pub(super) fn on_check(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Step> {
        let before = self.check;
        match before {
            None if self.is_the_check(step, recorder.books()) => {
                let weight = recorder.books().bench(self.bench).check.asked?;
                let (base, shown) = (step.from.load, step.delta);
                recorder.record(Fact::CheckLaid(Box::new(CheckLaid { step: id, weight, base, shown, drop: None })));
                self.check = Some(CheckLoad { base, beside: base, shown, rest: shown, weighed: false });
                self.in_force_changed(step.recognised, recorder.books());
                self.open.push_back((step.number, Made::OnCheck { what: OfCheck::Laid, before }));
                None
            }
            None => Some(*step),
            Some(load) => self.beside_the_check(load, step, recorder),
        }
    }

    fn is_the_check(&self, step: &Step, books: &Books) -> bool {
        let asked = self.journal.at(step.landed).check && self.intake.is_none();
        let weight = books.bench(self.bench).check.asked.filter(|_| asked && step.act == Act::Added);
        weight.is_some_and(|weight| weight.may_show(step.delta))
    }

    fn beside_the_check(&mut self, load: CheckLoad, step: &Step, recorder: &mut dyn Recorder) -> Option<Step> {
        let near = self.division * 2;
        let taken = -step.delta;
        let off = step.act == Act::Cleared || (taken - load.rest).abs() <= near || step.to.load - load.base <= near;
        // Nothing was put there since, so what goes is of the weight itself.
        let part = !off && step.delta.is_negative() && (load.beside - load.base).abs() <= near;
        let rest = match (off, part) {
            (true, _) => Mass::ZERO,
            (false, true) => load.rest - taken,
            (false, false) => load.rest,
        };
        let what = if off { OfCheck::Off } else { OfCheck::Beside };
        if off {
            self.surely_weighed(load, recorder);
        }
        self.open.push_back((step.number, Made::OnCheck { what, before: Some(load) }));
        let to = Rest { load: step.to.load - rest, ..step.to };
        let delta = to.load - load.beside;
        self.check = (!off).then_some(CheckLoad { beside: to.load, rest, ..load });
        if off && to.load.abs() <= near && self.platform == Platform::Stranger {
            self.platform = Platform::Empty;
        }
        if delta.abs() <= near {
            return None;
        }
        let act = match step.act {
            Act::Cleared => Act::Cleared,
            _ if delta.is_negative() => Act::Removed,
            _ => Act::Added,
        };
        let from = Rest { load: load.beside, ..step.from };
        Some(Step { act, delta, from, to, ..*step })
    }

    /// It lay still.
    pub(super) fn check_sure(&mut self, what: OfCheck, recorder: &mut dyn Recorder) {
        match (what, self.check) {
            (OfCheck::Laid, Some(load)) => {
                self.surely_weighed(load, recorder);
                self.check = Some(CheckLoad { weighed: true, ..load });
            }
            (OfCheck::Off, _) => _ = recorder.record(Fact::CheckTakenOff(CheckTakenOff { went_back: false })),
            _ => {}
        }
    }

    pub(super) fn surely_weighed(&self, load: CheckLoad, recorder: &mut dyn Recorder) {
        let Some(LyingCheck { laid, weighed: false }) = recorder.books().bench(self.bench).check.lies else { return };
        let epoch = recorder.books().bench(self.bench).epoch;
        recorder.record(Fact::CheckWeighed {
            nominal: laid.weight.nominal,
            shown: load.shown,
            within: laid.weight.within,
            source: Some(laid.weight.source),
            division: epoch.as_ref().map(|epoch| epoch.division),
            scale: epoch.and_then(|epoch| epoch.scale),
            drop: None,
        });
    }

    pub(super) fn check_cancelled(&mut self, what: OfCheck, before: Option<CheckLoad>, recorder: &mut dyn Recorder) {
        self.check = before;
        if what == OfCheck::Laid {
            recorder.record(Fact::CheckTakenOff(CheckTakenOff { went_back: true }));
        }
    }

    /// The first rest of an epoch tells whether a check weight from before still lies there. Returns what stands beside it.
    pub(super) fn beside_the_check_at(&mut self, rest: Rest, recorder: &mut dyn Recorder) -> Rest {
        let Some(load) = self.check else { return rest };
        let only_the_number = matches!(self.cause, EpochCause::Zeroed | EpochCause::Tared | EpochCause::Display);
        if only_the_number || (rest.load - load.beside - load.rest).abs() <= self.division * 2 {
            let beside = rest.load - load.rest;
            self.check = Some(CheckLoad { base: beside, beside, ..load });
            return Rest { load: beside, ..rest };
        }
        recorder.record(Fact::CheckTakenOff(CheckTakenOff { went_back: false }));
        self.check = None;
        rest
    }

    /// Somebody has said that what lies there is a check weight.
    pub fn a_check_lies_there(&mut self, books: &Books) {
        self.check = CheckLoad::left(self.bench, books);
        if self.platform == Platform::Stranger && self.check.is_some_and(|load| load.beside.abs() <= self.division * 2) {
            self.platform = Platform::Empty;
        }
    }
}

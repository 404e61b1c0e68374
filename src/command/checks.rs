//! Orders about check weights and what may change a scale.

use super::Refusal;
use super::decide::{Decision, correctable, not_negative, positive, said};
use crate::facts::books::{Entry, Origin};
use crate::facts::{BenchId, Books, CheckLaid, Disturbance, EntryId, Fact, KnownWeight, ScaleDisturbed, StepId, Void};
use crate::measure::Mass;
use crate::settle::Manner;

#[derive(Debug, Clone, PartialEq)]
pub enum CheckOrder {
    /// The next load of about its weight is a check weight.
    Ask {
        weight: KnownWeight,
    },
    Withdraw,
    /// What was taken for a drop was a check weight. Without a division, that of the scale as it is known.
    DropWas {
        entry: EntryId,
        weight: KnownWeight,
        division: Option<Mass>,
    },
    /// The scale was moved, mended or exchanged.
    Disturb {
        how: Disturbance,
        reason: String,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckRefusal {
    /// No load was to be a check weight.
    NoCheck,
    /// One lies on the scale: take it off first.
    CheckLies,
    /// Nobody knows any more how fine the scale showed it.
    NoDivision { entry: EntryId },
    /// The scale of the bench has not shown it.
    NotShownHere { entry: EntryId },
}

impl From<CheckRefusal> for Refusal {
    fn from(refusal: CheckRefusal) -> Refusal {
        Refusal::Checks(refusal)
    }
}

pub(super) fn decide(books: &Books, bench: BenchId, order: &CheckOrder) -> Result<Decision, Refusal> {
    let state = books.bench(bench);
    match order {
        CheckOrder::Ask { weight } => {
            let weight = sound(weight)?;
            if state.check.lies.is_some() {
                return Err(CheckRefusal::CheckLies.into());
            }
            // Whoever presses twice, not sure of the first, means the same.
            if state.check.asked.as_ref() == Some(&weight) {
                return Ok(Decision::Already(books.seq));
            }
            // The next load is one or the other.
            let instead = state.intake.map(|_| Fact::IntakeWithdrawn {});
            Ok(Decision::Facts(instead.into_iter().chain([Fact::CheckAsked(weight)]).collect()))
        }
        CheckOrder::Withdraw => {
            state.check.asked.ok_or(CheckRefusal::NoCheck)?;
            Ok(Decision::Facts(vec![Fact::CheckWithdrawn {}]))
        }
        CheckOrder::DropWas { entry, weight, division } => drop_was(books, bench, *entry, &sound(weight)?, *division),
        CheckOrder::Disturb { how, reason } => {
            let scale = state.epoch.and_then(|epoch| epoch.scale);
            Ok(Decision::Facts(vec![Fact::ScaleDisturbed(ScaleDisturbed { how: *how, scale, reason: said(reason)? })]))
        }
    }
}

fn sound(weight: &KnownWeight) -> Result<KnownWeight, Refusal> {
    positive(weight.nominal)?;
    not_negative(weight.within)?;
    Ok(KnownWeight { source: said(&weight.source)?, ..weight.clone() })
}

/// The drop was no material. Where it was taken out again, that was none either; where it lies there still, it will be.
fn drop_was(
    books: &Books,
    at: BenchId,
    entry: EntryId,
    weight: &KnownWeight,
    division: Option<Mass>,
) -> Result<Decision, Refusal> {
    let state = correctable(books, entry)?;
    let (Origin::Drop(step), true) = (state.origin, state.weighed_on() == Some(at)) else {
        return Err(CheckRefusal::NotShownHere { entry }.into());
    };
    let bench = books.bench(state.bench);
    let epoch = bench.epoch.as_ref().filter(|epoch| epoch.number == state.epoch);
    let division = division.or(epoch.map(|epoch| epoch.division)).ok_or(CheckRefusal::NoDivision { entry })?;
    positive(division)?;
    let voided = |entry: EntryId| {
        let reason = format!("a check weight: {}", weight.source);
        Fact::DropVoided { entry, which: Void::NeverMaterial, reason }
    };
    let mut facts = vec![voided(entry)];
    facts.extend(state.paired.map(voided));
    if bench.check.lies.is_none() && epoch.is_some() {
        facts.extend(lies_there(books, entry, state, step, weight));
    }
    facts.push(Fact::CheckWeighed {
        nominal: weight.nominal,
        shown: state.mass,
        within: weight.within,
        source: Some(weight.source.clone()),
        division: Some(division),
        scale: books.stretch_at(state.bench, entry.0).scale,
        drop: Some(entry),
    });
    Ok(Decision::Facts(facts))
}

/// In the manner heap a load is a drop while it lies there.
fn lies_there(books: &Books, entry: EntryId, state: &Entry, step: StepId, weight: &KnownWeight) -> Option<Fact> {
    let bench = books.bench(state.bench);
    let (_, rest) = bench.last_step?;
    let there = bench.manner == Manner::Heap && state.paired.is_none() && bench.visit.contains(&entry);
    let base = rest.load - state.mass;
    let epoch = bench.epoch?;
    (there && base >= -(epoch.division * 2)).then(|| {
        let (weight, shown, drop) = (weight.clone(), state.mass, Some(entry));
        Fact::CheckLaid(Box::new(CheckLaid { step, weight, base, shown, drop }))
    })
}

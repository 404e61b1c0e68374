//! Folding check weights, and the stretches in which one scale's error stays the same.

use super::{Books, Record};
use crate::facts::{BenchId, CheckLaid, Event, Fact, KnownWeight};
use crate::measure::Mass;

/// What a bench knows of check weights.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CheckUse {
    /// The next load of about this weight is it.
    pub asked: Option<KnownWeight>,
    pub lies: Option<LyingCheck>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct LyingCheck {
    pub laid: CheckLaid,
    /// It is in the records already.
    pub weighed: bool,
}

/// From this event on another scale stood at a bench, or the same one was disturbed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScaleChange {
    pub scale: Option<String>,
    pub disturbed: bool,
}

/// A scale between two disturbances: what a check shows of it holds for all that it has weighed in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stretch {
    pub bench: BenchId,
    pub scale: Option<String>,
    /// The disturbance with which it began; 0 where it is the first.
    pub since: u64,
}

impl Books {
    pub(super) fn fold_check(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::CheckAsked(weight) => self.at_bench(event).check.asked = Some(weight.clone()),
            Fact::CheckWithdrawn {} => self.at_bench(event).check.asked = None,
            Fact::CheckLaid(laid) => {
                let told = laid.drop.is_some();
                let check = &mut self.at_bench(event).check;
                check.lies = Some(LyingCheck { laid: (**laid).clone(), weighed: told });
                if told {
                    self.no_part_of_the_bin(event, laid.shown);
                } else {
                    check.asked = None;
                }
            }
            Fact::CheckTakenOff(off) => {
                let check = &mut self.at_bench(event).check;
                let lay = check.lies.take();
                if off.went_back {
                    check.asked = lay.map(|lying| lying.laid.weight);
                }
            }
            Fact::CheckWeighed { drop, nominal, shown, .. } => {
                // One that was told of a drop belongs to the time when that was weighed.
                let at = match drop {
                    Some(drop) => self.entries.get(drop)?.at,
                    None => event.stamp(),
                };
                self.records.push_back(Record { seq: event.seq, bench: event.bench, at, fact: event.fact.clone() });
                if let Some(lying) = self.at_bench(event).check.lies.as_mut() {
                    let it = drop.is_none() && (lying.laid.weight.nominal, lying.laid.shown) == (*nominal, *shown);
                    lying.weighed |= it;
                }
            }
            Fact::ScaleDisturbed(disturbed) => {
                self.keep_record(event);
                self.scale_changed(event, disturbed.scale.clone(), true);
            }
            _ => unreachable!("fold() sends only check weights here"),
        }
        Some(())
    }

    /// What was taken for material in the bin that stands there was a weight, which will be taken out again.
    fn no_part_of_the_bin(&mut self, event: &Event, mass: Mass) {
        let standing = self.benches.get(&event.bench).and_then(|bench| bench.standing);
        if let Some(gross) = standing.and_then(|bin| self.bins.get_mut(&bin)).and_then(|bin| bin.last_gross.as_mut()) {
            *gross -= mass;
        }
    }

    pub(super) fn scale_changed(&mut self, event: &Event, scale: Option<String>, disturbed: bool) {
        let known = self.scale_changes.range((event.bench, 0)..=(event.bench, event.seq)).next_back();
        if disturbed || known.is_none_or(|(_, change)| change.scale != scale) {
            self.scale_changes.insert((event.bench, event.seq), ScaleChange { scale, disturbed });
        }
    }

    /// The last change of a bench's scale up to an event; 0 where none was seen.
    pub(super) fn scale_change_at(&self, bench: BenchId, seq: u64) -> u64 {
        self.scale_changes.range((bench, 0)..=(bench, seq)).next_back().map_or(0, |((_, change), _)| *change)
    }

    /// The stretch that a bench's scale was in at an event. A disturbance that was taken back is none.
    pub fn stretch_at(&self, bench: BenchId, seq: u64) -> Stretch {
        let change = self.scale_changes.range((bench, 0)..=(bench, seq)).next_back();
        self.stretch_of_scale(bench, change.and_then(|(_, change)| change.scale.clone()), seq)
    }

    /// The stretch of the scale of this name.
    pub fn stretch_of_scale(&self, bench: BenchId, scale: Option<String>, seq: u64) -> Stretch {
        let up_to = self.scale_changes.range((bench, 0)..=(bench, seq));
        let disturbed = |(at, change): &(&(BenchId, u64), &ScaleChange)| {
            change.disturbed && change.scale == scale && !self.voids.contains_key(&at.1)
        };
        let since = up_to.rev().find(disturbed).map_or(0, |((_, at), _)| *at);
        Stretch { bench, scale, since }
    }
}

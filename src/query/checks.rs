//! What check weights have shown: each scale's error over load and time, and how well its calibration is known.

use crate::economy::check_weight::{Check, Checked, Disturbed, Due, HeldTo, History, history};
use crate::facts::books::{Record, Stretch};
use crate::facts::{BenchId, Books, Disturbance, Fact, ScaleDisturbed};
use crate::measure::{Mass, Span, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeSet;

/// How the owner wants scales to be checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckRule {
    /// Days from one check to the next.
    pub every_days: u16,
    /// The class of the scales and the table that they are held to, where the owner has named them.
    pub held: Option<HeldTo>,
}

#[derive(Debug, Clone)]
pub struct CheckQuestion {
    pub now: Stamp,
    pub zone: TimeZone,
    pub rule: CheckRule,
}

/// The checks of one scale at one bench.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleChecks {
    pub bench: BenchId,
    /// The device, as far as it tells its name.
    pub scale: Option<String>,
    /// It is the one that hangs there now, or hung there last.
    pub current: bool,
    pub history: History,
    /// Newest first.
    pub lines: Vec<CheckLine>,
    /// Oldest first.
    pub disturbances: Vec<DisturbanceLine>,
    /// Switched on, or zeroed, so short a time ago that it may still drift.
    pub warming: Option<Span>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct CheckLine {
    pub check: u64,
    pub at: Stamp,
    /// What was laid on, and who says what it weighs.
    pub source: Option<String>,
    /// How far the weight itself may be off.
    pub within: Option<Mass>,
    pub shown: Mass,
    pub division: Mass,
    pub checked: Checked,
}

/// The scale was moved, mended or exchanged.
#[derive(Debug, Clone, PartialEq)]
pub struct DisturbanceLine {
    pub record: u64,
    pub at: Stamp,
    pub how: Disturbance,
    pub reason: String,
}

/// Half an hour: what a scale is commonly given to warm up (common practice; the maker's own figure goes before).
pub const WARM_UP: Span = Span::seconds(1800);

/// One for each scale that was ever checked, and one for each bench whose scale was not; by bench.
pub fn checks(books: &Books, question: &CheckQuestion) -> Vec<ScaleChecks> {
    let mut scales: Vec<ScaleChecks> = Vec::new();
    // A check that was typed in may be all that is known of a bench.
    let benches: BTreeSet<BenchId> =
        books.benches.keys().copied().chain(books.records.iter().map(|record| record.bench)).collect();
    for bench in &benches {
        let epoch = books.benches.get(bench).and_then(|state| state.epoch.as_ref());
        let hangs = epoch.and_then(|epoch| epoch.scale.clone());
        let mut names: Vec<Option<String>> = vec![hangs.clone()];
        for (_, laid) in of_bench(books, *bench) {
            if !names.contains(&laid.scale) {
                names.push(laid.scale);
            }
        }
        for scale in names {
            let current = scale == hangs;
            let one = of_scale(books, question, *bench, scale, current);
            // A bench that no scale was ever seen at has nothing to check.
            if !one.lines.is_empty() || (current && epoch.is_some()) {
                scales.push(one);
            }
        }
    }
    scales
}

/// What a scale showed in one stretch is bounded by the checks of that stretch, in parts per million; none where none does.
pub fn bound_ppm(books: &Books, stretch: &Stretch, today: Date, zone: &TimeZone) -> Option<u32> {
    let laid = of_bench(books, stretch.bench).into_iter().filter(|(_, laid)| laid.stretch == *stretch);
    let checks: Vec<Check> = laid.map(|(_, laid)| Check { stretch: 0, ..laid.check(today, zone) }).collect();
    history(&checks, None, today, 0, None).bound_ppm
}

/// Whether a known weight was ever laid on any scale.
pub fn ever_checked(books: &Books) -> bool {
    books.standing_records().any(|record| matches!(record.fact, Fact::CheckWeighed { .. }))
}

/// Time between two stamps of one boot; nobody knows it across two.
fn since(earlier: &Stamp, later: &Stamp) -> Option<Span> {
    (earlier.boot == later.boot).then(|| later.mono.since(earlier.mono))
}

struct Laid {
    nominal: Mass,
    shown: Mass,
    within: Option<Mass>,
    division: Mass,
    at: Stamp,
    scale: Option<String>,
    source: Option<String>,
    stretch: Stretch,
}

fn of_scale(books: &Books, question: &CheckQuestion, bench: BenchId, scale: Option<String>, current: bool) -> ScaleChecks {
    let today = question.zone.to_datetime(question.now.wall).date();
    let mut checks = Vec::new();
    let mut lines = Vec::new();
    for (seq, laid) in of_bench(books, bench).into_iter().filter(|(_, laid)| laid.scale == scale) {
        let check = laid.check(today, &question.zone);
        lines.push(CheckLine {
            check: seq,
            at: laid.at,
            source: laid.source,
            within: check.weight_within,
            shown: check.shown,
            division: check.division,
            checked: check.judge(question.rule.held),
        });
        checks.push(check);
    }
    lines.reverse();
    let disturbances = disturbances(books, bench, scale.as_deref());
    let disturbed = disturbances.last().map(|last| {
        let on = question.zone.to_datetime(last.at.wall).date().min(today);
        Disturbed { on, stretch: last.record }
    });
    let history = history(&checks, question.rule.held, today, question.rule.every_days, disturbed);
    let warming = warming(books, bench, &question.now).filter(|_| current);
    ScaleChecks { bench, scale, current, history, lines, disturbances, warming }
}

/// What was told of a scale that may have changed it, oldest first.
fn disturbances(books: &Books, bench: BenchId, scale: Option<&str>) -> Vec<DisturbanceLine> {
    let of = |record: &Record| match &record.fact {
        Fact::ScaleDisturbed(ScaleDisturbed { how, scale: of, reason }) if record.bench == bench && of.as_deref() == scale => {
            Some(DisturbanceLine { record: record.seq, at: record.at, how: *how, reason: reason.clone() })
        }
        _ => None,
    };
    books.standing_records().filter_map(of).collect()
}

impl Laid {
    /// On its local day. A clock that was ahead is held to today: no check is left out for it.
    fn check(&self, today: Date, zone: &TimeZone) -> Check {
        Check {
            stretch: self.stretch.since,
            day: zone.to_datetime(self.at.wall).date().min(today),
            nominal: self.nominal,
            weight_within: self.within,
            shown: self.shown,
            division: self.division,
        }
    }
}

fn of_bench(books: &Books, bench: BenchId) -> Vec<(u64, Laid)> {
    books.standing_records().filter(|record| record.bench == bench).filter_map(|record| laid(books, record)).collect()
}

fn laid(books: &Books, record: &Record) -> Option<(u64, Laid)> {
    let Fact::CheckWeighed { nominal, shown, within, source, division, scale, drop } = &record.fact else { return None };
    let weighed = drop.map_or(record.seq, |drop| drop.0);
    let laid = Laid {
        nominal: *nominal,
        shown: *shown,
        // A check whose division nobody kept bounds nothing, as if the weight were not known.
        within: within.filter(|_| division.is_some()),
        division: division.unwrap_or(Mass::ZERO),
        at: record.at,
        scale: scale.clone(),
        source: source.clone(),
        stretch: books.stretch_of_scale(record.bench, scale.clone(), weighed),
    };
    Some((record.seq, laid))
}

/// How long a scale runs that was switched on or zeroed so short a time ago that it may still drift.
pub fn warming(books: &Books, bench: BenchId, now: &Stamp) -> Option<Span> {
    let epoch = books.benches.get(&bench)?.epoch.as_ref()?;
    since(&epoch.began, now).filter(|span| *span < WARM_UP)
}

/// What a check asks of the owner, of the scale that hangs at a bench.
pub fn due(books: &Books, bench: BenchId, question: &CheckQuestion) -> Option<Due> {
    let scale = books.benches.get(&bench)?.epoch.as_ref()?.scale.clone();
    Some(of_scale(books, question, bench, scale, true).history.due)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::economy::check_weight::CheckVerdict;
    use crate::facts::{Event, SCHEMA, StoreId};
    use crate::measure::{BootId, Moment};
    use jiff::Timestamp;

    const BENCH: BenchId = BenchId(1);
    const DAY: i64 = 86_400;
    /// 2026-03-01, noon in Greenwich.
    const NOON: i64 = 1_772_366_400;

    struct Kept {
        books: Books,
        now: i64,
    }

    impl Kept {
        fn new() -> Kept {
            let mut kept = Kept { books: Books::default(), now: NOON };
            kept.keep(Fact::StoreFounded { program: "test".to_owned() });
            kept
        }

        fn stamp(&self) -> Stamp {
            let (boot, mono) = (BootId(1), Moment((self.now - NOON).max(0) as u64 * 1_000_000_000));
            Stamp { boot, mono, wall: Timestamp::from_second(self.now).unwrap(), trusted: true }
        }

        fn keep(&mut self, fact: Fact) {
            let Stamp { boot, mono, wall, trusted } = self.stamp();
            let (store, seq) = (StoreId(1), self.books.seq + 1);
            let event =
                Event { store, seq, schema: SCHEMA, boot, mono, wall, sure: trusted, bench: BENCH, epoch: 0, cause: None, fact };
            self.books.apply(&event).unwrap();
        }

        fn plug(&mut self, scale: &str) {
            self.keep(Fact::EpochOpened {
                cause: crate::settle::EpochCause::PowerUp,
                unit: crate::measure::Unit::Kilogram,
                display: crate::dialect::Kind::Gross,
                division: Mass::grams(1),
                scale: Some(scale.to_owned()),
            });
        }

        fn lay(&mut self, scale: Option<&str>, nominal: i64, shown: i64, within: Option<Mass>) {
            self.keep(Fact::CheckWeighed {
                nominal: Mass::grams(nominal),
                shown: Mass::grams(shown),
                within,
                source: Some("a weight".to_owned()),
                division: Some(Mass::grams(1)),
                scale: scale.map(str::to_owned),
                drop: None,
            });
        }

        fn bound(&self) -> Option<u32> {
            let stretch = self.books.stretch_at(BENCH, self.books.seq);
            bound_ppm(&self.books, &stretch, TimeZone::UTC.to_datetime(self.stamp().wall).date(), &TimeZone::UTC)
        }

        fn question(&self) -> CheckQuestion {
            CheckQuestion { now: self.stamp(), zone: TimeZone::UTC, rule: CheckRule { every_days: 7, held: None } }
        }
    }

    /// One reading of 1 g and a weight known exactly: 2·√(1/12) = 0.57735 g, of 1000 g 577.4 ppm, rounded up.
    #[test]
    fn each_scale_has_its_own_history() {
        let mut kept = Kept::new();
        kept.plug("old");
        kept.lay(Some("old"), 1000, 1000, Some(Mass::ZERO));
        assert_eq!(kept.bound(), Some(578));
        kept.plug("new");
        assert_eq!(kept.bound(), None, "another scale is not known by this one's checks");
        assert_eq!(due(&kept.books, BENCH, &kept.question()), Some(Due::Never));
        let scales = checks(&kept.books, &kept.question());
        let told: Vec<_> = scales.iter().map(|scale| (scale.scale.as_deref(), scale.current, scale.lines.len())).collect();
        assert_eq!(told, [(Some("new"), true, 0), (Some("old"), false, 1)]);
        assert_eq!((scales[0].warming, scales[1].warming), (Some(Span::ZERO), None));
        kept.now += 1800;
        assert_eq!(checks(&kept.books, &kept.question())[0].warming, None, "warm by then");
    }

    /// What was weighed before a scale was moved stays bounded by the checks of then; and a move that was none by mistake is
    /// none.
    #[test]
    fn a_move_ends_what_a_check_bounds() {
        let mut kept = Kept::new();
        kept.plug("a");
        kept.lay(Some("a"), 1000, 1000, Some(Mass::ZERO));
        let before = kept.books.stretch_at(BENCH, kept.books.seq);
        let moved = ScaleDisturbed { how: Disturbance::Moved, scale: Some("a".to_owned()), reason: "swept".to_owned() };
        kept.keep(Fact::ScaleDisturbed(moved));
        let told = kept.books.seq;
        assert_eq!(kept.bound(), None);
        let of = |kept: &Kept| {
            bound_ppm(&kept.books, &before, kept.question().zone.to_datetime(kept.stamp().wall).date(), &TimeZone::UTC)
        };
        assert_eq!(of(&kept), Some(578));
        assert!(matches!(due(&kept.books, BENCH, &kept.question()), Some(Due::Disturbed { .. })));
        kept.lay(Some("a"), 2000, 2000, Some(Mass::ZERO));
        assert_eq!((kept.bound(), of(&kept)), (Some(289), Some(578)), "578 of 1000 g, half of it of 2000 g");
        kept.keep(Fact::RecordVoided(crate::facts::RecordVoided { record: told, reason: "it was not".to_owned() }));
        assert_eq!(kept.bound(), Some(289), "both on one day: the heavier bounds better");
        assert_eq!(kept.books.stretch_at(BENCH, kept.books.seq), before);
    }

    #[test]
    fn a_check_falls_due() {
        let mut kept = Kept::new();
        assert_eq!(due(&kept.books, BENCH, &kept.question()), None, "no scale was seen");
        kept.plug("a");
        kept.lay(Some("a"), 1000, 1001, None);
        kept.now += 7 * DAY;
        assert_eq!(due(&kept.books, BENCH, &kept.question()), Some(Due::In { days: 0 }));
        kept.now += 2 * DAY;
        assert_eq!(due(&kept.books, BENCH, &kept.question()), Some(Due::Overdue { days: 2 }));
        kept.now -= 20 * DAY;
        let asked = CheckQuestion { now: Stamp { trusted: false, ..kept.stamp() }, ..kept.question() };
        assert_eq!(due(&kept.books, BENCH, &asked), Some(Due::In { days: 7 }), "a clock that was ahead hides no check");
    }

    #[test]
    fn what_is_not_known_bounds_nothing() {
        let mut kept = Kept::new();
        kept.plug("a");
        kept.lay(Some("a"), 1000, 1000, None);
        let (nominal, shown, within) = (Mass::grams(1000), Mass::grams(999), Some(Mass::ZERO));
        kept.keep(Fact::CheckWeighed {
            nominal,
            shown,
            within,
            source: None,
            division: None,
            scale: Some("a".to_owned()),
            drop: None,
        });
        let scales = checks(&kept.books, &kept.question());
        assert_eq!(scales[0].history.bound_ppm, None);
        let verdicts: Vec<_> = scales[0].lines.iter().map(|line| (line.checked.error, line.checked.verdict)).collect();
        assert_eq!(verdicts, [(Mass::grams(-1), CheckVerdict::WeightUnknown), (Mass::ZERO, CheckVerdict::WeightUnknown)]);
    }
}

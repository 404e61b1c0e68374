//! The rule by which steps and drops are scored against a tape's truth, and two floors.
//!
//! A rest of the true load of at least 1.6 s is missed when the sum of the steps does not agree with it within 1.5
//! divisions before it ends; a step is spurious when no action since the step before accounts for it. Where a load
//! cell creeps two divisions more are allowed, and a resting hand may show as a step and its exact return.

use super::labelled::{Found, Heard, Labelled, Station, grams, seconds};
use bismar::dialect::Stability;
use bismar::facts::Doubt;
use bismar::facts::books::{Entry, Origin};
use bismar::sim::{DropTruth, Truth};

/// What was found on one tape, or on all of a kind.
#[derive(Debug, Clone, Default)]
pub struct Score {
    pub rests: usize,
    pub missed: usize,
    pub steps: usize,
    pub spurious: usize,
    /// Of rests that were not missed and of those that were, in divisions.
    pub worst: f64,
    /// Seconds from the landing of a piece.
    pub delays: Vec<f64>,
}

const TOLERANCE: f64 = 1.5;

/// Divisions by which the sum may have left the true load: by creep, or since the readings on both sides of a key or a
/// switch are rounded, four times on a tape.
fn slack(truth: &Truth) -> f64 {
    match truth.kind.as_str() {
        "creep" | "asleep" | "power" | "unit" | "keys" | "keys-silent" => 2.0,
        _ => 0.0,
    }
}

impl Score {
    pub fn of(truth: &Truth, found: &[Found]) -> Score {
        let mut score = Score { steps: found.len(), ..Score::default() };
        let division = grams(truth.division);
        let tolerance = (TOLERANCE + slack(truth)) * division;
        let Some((first, rests)) = truth.rests.split_first() else { return score };
        for rest in rests {
            score.rests += 1;
            let (start, end) = (seconds(rest.start), seconds(rest.end));
            let wanted = grams(rest.grams - first.grams);
            let (mut sum, mut when) = (0.0, None);
            for (at, step) in found.iter().take_while(|(at, _)| *at <= end + 1e-6) {
                sum += step;
                if *at >= start - 0.01 && (sum - wanted).abs() <= tolerance {
                    when = when.or(Some(at - start));
                }
            }
            let error = (sum - wanted).abs();
            score.worst = score.worst.max(error / division);
            if error > tolerance {
                score.missed += 1;
            } else {
                score.delays.extend(when);
            }
        }
        let kept = if truth.kind == "hand" { without_hands(truth, found) } else { found.to_vec() };
        score.spurious = spurious(truth, &kept);
        score
    }

    pub fn add(&mut self, other: &Score) {
        self.rests += other.rests;
        self.missed += other.missed;
        self.steps += other.steps;
        self.spurious += other.spurious;
        self.worst = self.worst.max(other.worst);
        self.delays.extend(&other.delays);
    }

    pub fn faults(&self) -> usize {
        self.missed + self.spurious
    }

    /// The delay that so many of them do not exceed, in seconds.
    pub fn delay(&self, part: f64) -> f64 {
        let mut delays = self.delays.clone();
        delays.sort_by(f64::total_cmp);
        delays.get((delays.len() as f64 * part) as usize).copied().unwrap_or(f64::NAN)
    }
}

/// Leaves out each step whose return follows, perhaps in parts, and which no action explains.
fn without_hands(truth: &Truth, found: &[Found]) -> Vec<Found> {
    let near = 2.0 * grams(truth.division);
    let (mut kept, mut at) = (Vec::new(), 0);
    while at < found.len() {
        let pair = (2..=4).find(|&many| {
            let Some(group) = found.get(at..at + many) else { return false };
            let (first, last) = (group[0], group[many - 1]);
            let explained = truth.actions.iter().any(|action| {
                let when = seconds(action.at);
                first.0 - 6.0 <= when && when <= last.0 && (grams(action.grams) - first.1).abs() <= near
            });
            group.iter().map(|(_, step)| step).sum::<f64>().abs() <= near && !explained
        });
        if pair.is_none() {
            kept.push(found[at]);
        }
        at += pair.unwrap_or(1);
    }
    kept
}

/// Each step accounts for the oldest open actions before it whose sum comes nearest to it: for one at least.
fn spurious(truth: &Truth, found: &[Found]) -> usize {
    let actions: Vec<Found> = truth.actions.iter().map(|action| (seconds(action.at), grams(action.grams))).collect();
    let mut next = 0;
    let unexplained = found.iter().filter(|(at, step)| {
        let many = nearest(&actions[next..], *at, *step);
        next += many.map_or(0, |(many, _)| many);
        many.is_none()
    });
    unexplained.count()
}

/// How many of the oldest `open` masses before `at` add up to what comes nearest to `mass`, and how near.
fn nearest(open: &[Found], at: f64, mass: f64) -> Option<(usize, f64)> {
    let mut sum = 0.0;
    let sums = open.iter().take_while(|(when, _)| *when < at - 1e-6).map(|(_, grams)| {
        sum += grams;
        (sum - mass).abs()
    });
    (1..).zip(sums).min_by(|one, two| one.1.total_cmp(&two.1))
}

/// Second, grams and the scale's own word of one reading.
type Seen = (f64, f64, Stability);

fn seen(tape: &Labelled) -> Vec<Seen> {
    let readings = tape.heard.iter().filter_map(|(at, heard)| match heard {
        Heard::Reading(reading) => Some((seconds(*at), grams(reading.mass(tape.setup.unit)?), reading.stability)),
        _ => None,
    });
    readings.collect()
}

/// The first floor: believe the scale's flag, and take what differs by more than a division.
pub fn by_flag(tape: &Labelled) -> Vec<Found> {
    let mut steps = Steps::new(tape);
    for (at, grams, stability) in seen(tape) {
        if stability != Stability::Motion {
            steps.take(at, grams);
        }
    }
    steps.found
}

/// The second floor: one second within a division.
pub fn by_window(tape: &Labelled) -> Vec<Found> {
    let seen = seen(tape);
    let mut steps = Steps::new(tape);
    let mut oldest = 0;
    for (newest, (at, grams, _)) in seen.iter().enumerate() {
        while at - seen[oldest].0 > 1.0 {
            oldest += 1;
        }
        let window = &seen[oldest..=newest];
        let (low, high) = window.iter().fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(one.1), high.max(one.1)));
        if at - seen[0].0 >= 1.0 && window.len() >= 3 && high - low <= steps.division * 1.001 {
            steps.take(*at, *grams);
        }
    }
    steps.found
}

struct Steps {
    division: f64,
    base: Option<f64>,
    found: Vec<Found>,
}

impl Steps {
    fn new(tape: &Labelled) -> Steps {
        Steps { division: grams(tape.truth.division), base: None, found: Vec::new() }
    }

    fn take(&mut self, at: f64, grams: f64) {
        let from = *self.base.get_or_insert(grams);
        if (grams - from).abs() > self.division * 1.001 {
            self.found.push((at, grams - from));
            self.base = Some(grams);
        }
    }
}

/// What became of the pieces on one tape, or on all of a kind.
#[derive(Debug, Clone, Default)]
pub struct Drops {
    pub expected: usize,
    /// No entry accounts for them.
    pub missed: usize,
    /// Off by more than 1.5 divisions.
    pub wrong_mass: usize,
    /// In a bin that they did not go into, or without one where the program was told.
    pub wrong_bin: usize,
    /// Entries without doubt that no piece accounts for.
    pub extra: usize,
    /// The same with a doubt: they were announced.
    pub doubted: usize,
    /// Kept without a bin and asked, since such a scale does not tell whether they are pieces of their own.
    pub asked: usize,
    /// Where the program could not be sure of the bin, it was right nevertheless.
    pub known: usize,
    pub unsure: usize,
    /// How far a bin's books are from its content, in divisions a visit, or in 1.5 divisions a drop where each is
    /// weighed alone.
    pub books: f64,
}

impl Drops {
    pub fn of(truth: &Truth, station: &Station) -> Drops {
        let books = station.books();
        let division = grams(truth.division);
        let tolerance = (TOLERANCE + slack(truth)) * division;
        let open: Vec<Found> = truth.drops.iter().map(|drop| (seconds(drop.at), grams(drop.grams))).collect();
        let mut score = Drops { expected: open.len(), ..Drops::default() };
        score.unsure = truth.drops.iter().filter(|drop| !drop.sure).count();
        let mut next = 0;
        let counts = |entry: &Entry| entry.counts() && !matches!(entry.origin, Origin::Intake(_));
        for (id, entry) in books.entries.iter().filter(|(_, entry)| counts(entry)) {
            let at = station.recognised.get(id).map_or(f64::MAX, |at| seconds(*at));
            let bin = entry.bin.and_then(|bin| books.bins.get(&bin)).map(|bin| bin.number);
            match nearest(&open[next..], at, grams(entry.mass)) {
                Some((many, off)) if off <= tolerance || entry.doubt.is_none() => {
                    score.wrong_mass += usize::from(off > tolerance);
                    let asked =
                        bin.is_none() && matches!(entry.doubt, Some(Doubt::PerhapsRepeated { .. } | Doubt::PerhapsTheBin));
                    if asked {
                        score.asked += many;
                    } else {
                        truth.drops[next..next + many].iter().for_each(|drop| score.place(drop, bin));
                    }
                    next += many;
                }
                _ if entry.doubt.is_some() => score.doubted += 1,
                _ => score.extra += 1,
            }
        }
        score.missed = open[next..].iter().filter(|(_, grams)| grams.abs() > tolerance).count();
        score.books = truth.drops.iter().filter_map(|drop| drop.bin).map(|bin| off(truth, bin, station)).fold(0.0, f64::max);
        score
    }

    fn place(&mut self, drop: &DropTruth, bin: Option<u32>) {
        match (drop.sure, bin) {
            (false, None) => {}
            (false, _) if bin == drop.bin => self.known += 1,
            _ => self.wrong_bin += usize::from(bin != drop.bin),
        }
    }

    pub fn add(&mut self, other: &Drops) {
        self.expected += other.expected;
        self.missed += other.missed;
        self.wrong_mass += other.wrong_mass;
        self.wrong_bin += other.wrong_bin;
        self.extra += other.extra;
        self.doubted += other.doubted;
        self.asked += other.asked;
        self.known += other.known;
        self.unsure += other.unsure;
        self.books = self.books.max(other.books);
    }

    pub fn faults(&self) -> usize {
        self.missed + self.wrong_mass + self.wrong_bin + self.extra
    }
}

/// How far what the books hold in a bin is from what it got, as a share of what is allowed.
fn off(truth: &Truth, number: u32, station: &Station) -> f64 {
    let books = station.books();
    let held = books.bin_by_number(number).and_then(|(_, bin)| books.fills.get(&bin.fill)).map_or(0.0, |fill| grams(fill.mass));
    let own = || truth.drops.iter().filter(|drop| drop.bin == Some(number));
    let sum = |sure| own().filter(|drop| drop.sure == sure).map(|drop| grams(drop.grams)).sum::<f64>();
    // What the program could not be sure of, or did not see, may be in the books or not.
    let maybe = [sum(false)]
        .into_iter()
        .chain(truth.unseen.iter().filter(|unseen| unseen.bin == number).map(|unseen| grams(unseen.grams)));
    let (mut low, mut high) = (sum(true), sum(true));
    for grams in maybe {
        low += grams.min(0.0);
        high += grams.max(0.0);
    }
    let visits = truth.swaps.iter().filter(|swap| swap.bin == number).count();
    let allowed = if visits > 0 { visits as f64 + slack(truth) } else { TOLERANCE * own().count() as f64 };
    (low - held).max(held - high).max(0.0) / (allowed * grams(truth.division))
}

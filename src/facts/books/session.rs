//! Sessions and their hands-on clock.

use crate::facts::{BenchId, FeedId};
use crate::measure::{Mass, Span, Stamp};
use imbl::Vector;

/// A stretch of bench work.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    pub bench: BenchId,
    pub started: Stamp,
    pub ended: Option<Stamp>,
    /// Since when the clock runs; none while paused or ended.
    pub running: Option<Stamp>,
    /// Time that the clock ran up to the last pause, time away and all.
    pub hands_on: Span,
    /// What of it the person was away, as told.
    pub away: Span,
    /// Some of the time was taken from a wall clock, or could not be told at all.
    pub clock_unsure: bool,
    pub legs: Vector<Leg>,
    /// The stretches in which the clock ran, oldest first; cut anew wherever a lot is opened or closed.
    pub runs: Vector<Run>,
    /// Stretches without any movement at the bench; until they are told, both figures of the clock stand.
    pub stillnesses: Vector<Stillness>,
    /// What its drops put into bins.
    pub mass: Mass,
    pub drops: u32,
}

/// The time on one feed.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    pub number: u64,
    pub feed: Option<FeedId>,
    pub hands_on: Span,
    pub away: Span,
    pub mass: Mass,
}

/// A stretch in which the clock ran without a pause, on one leg, with no lot opened or closed in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    pub leg: u64,
    /// The event with which it began.
    pub from: u64,
    /// Nothing while it still runs.
    pub span: Span,
    pub sure: bool,
}

/// Nothing moved for so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stillness {
    /// The event that found it.
    pub id: u64,
    pub leg: u64,
    pub span: Span,
    /// What the person said of it.
    pub away: Option<bool>,
}

/// The time between two stamps and whether it is certain. Within one boot the monotonic clock tells; across a
/// reboot only two trusted wall times can, and otherwise the time is unknown and counted as none.
pub fn between(from: &Stamp, to: &Stamp) -> (Span, bool) {
    if from.boot == to.boot {
        return (to.mono.since(from.mono), true);
    }
    if from.trusted && to.trusted {
        let nanos = to.wall.as_nanosecond() - from.wall.as_nanosecond();
        return (Span(u64::try_from(nanos).unwrap_or(0)), false);
    }
    (Span::ZERO, false)
}

impl Session {
    /// A session that the event `seq` starts.
    pub fn started_at(bench: BenchId, at: Stamp, seq: u64, feed: Option<FeedId>) -> Session {
        let leg = Leg { number: 1, feed, hands_on: Span::ZERO, away: Span::ZERO, mass: Mass::ZERO };
        Session {
            bench,
            started: at,
            ended: None,
            running: Some(at),
            hands_on: Span::ZERO,
            away: Span::ZERO,
            clock_unsure: false,
            legs: Vector::unit(leg),
            runs: Vector::unit(Run { leg: 1, from: seq, span: Span::ZERO, sure: true }),
            stillnesses: Vector::new(),
            mass: Mass::ZERO,
            drops: 0,
        }
    }

    /// Adds what ran up to `at` to the clock, and stops it.
    pub fn stop_clock(&mut self, at: &Stamp) {
        let Some(since) = self.running.take() else { return };
        let (span, sure) = between(&since, at);
        self.clock_unsure |= !sure;
        self.hands_on = self.hands_on.plus(span);
        if let Some(leg) = self.legs.back_mut() {
            leg.hands_on = leg.hands_on.plus(span);
        }
        if let Some(run) = self.runs.back_mut() {
            (run.span, run.sure) = (span, sure);
        }
    }

    pub fn start_clock(&mut self, at: &Stamp, seq: u64) {
        if self.running.is_none() && self.ended.is_none() {
            self.running = Some(*at);
            self.runs.push_back(Run { leg: self.leg(), from: seq, span: Span::ZERO, sure: true });
        }
    }

    /// Cuts the run of a clock that runs: what comes belongs to another lot, or to none.
    pub fn cut(&mut self, at: &Stamp, seq: u64) {
        if self.running.is_some() {
            self.stop_clock(at);
            self.start_clock(at, seq);
        }
    }

    /// Every run up to `at`, with the time away taken off. A stillness is taken off the run in which it was found, and
    /// what it is longer than that run, off those before it on the same leg.
    pub fn runs_at(&self, at: &Stamp) -> Vec<Run> {
        let mut runs: Vec<Run> = self.runs.iter().copied().collect();
        if let (Some(since), Some(run)) = (&self.running, runs.last_mut()) {
            (run.span, run.sure) = between(since, at);
        }
        for stillness in self.stillnesses.iter().filter(|stillness| stillness.away == Some(true)) {
            let mut left = stillness.span.0;
            for run in runs.iter_mut().rev().filter(|run| run.from <= stillness.id && run.leg == stillness.leg) {
                let taken = left.min(run.span.0);
                run.span.0 -= taken;
                left -= taken;
            }
        }
        runs
    }

    /// Another feed from here on.
    pub fn begin_leg(&mut self, at: &Stamp, seq: u64, feed: Option<FeedId>) {
        let was_running = self.running.is_some();
        self.stop_clock(at);
        let number = self.legs.len() as u64 + 1;
        self.legs.push_back(Leg { number, feed, hands_on: Span::ZERO, away: Span::ZERO, mass: Mass::ZERO });
        if was_running {
            self.start_clock(at, seq);
        }
    }

    /// Hands-on time up to `at`, without the time away, and whether it is certain.
    pub fn hands_on_at(&self, at: &Stamp) -> (Span, bool) {
        let (run, sure) = match &self.running {
            None => (self.hands_on, !self.clock_unsure),
            Some(since) => {
                let (span, sure) = between(since, at);
                (self.hands_on.plus(span), sure && !self.clock_unsure)
            }
        };
        (Span(run.0.saturating_sub(self.away.0)), sure)
    }

    /// The person says what a stillness was. Time away is not hands-on. `None` when there is no such stillness.
    pub fn tell(&mut self, stillness: u64, away: bool) -> Option<()> {
        let state = self.stillnesses.iter_mut().find(|state| state.id == stillness)?;
        let before = state.away.replace(away).unwrap_or(false);
        let (leg, span) = (state.leg, state.span);
        if before == away {
            return Some(());
        }
        let mend = |sum: Span| if away { sum.plus(span) } else { Span(sum.0.saturating_sub(span.0)) };
        self.away = mend(self.away);
        if let Some(leg) = self.legs.iter_mut().find(|state| state.number == leg) {
            leg.away = mend(leg.away);
        }
        Some(())
    }

    /// Stillness that nobody has said anything of.
    pub fn untold(&self) -> Span {
        let untold = self.stillnesses.iter().filter(|state| state.away.is_none());
        untold.fold(Span::ZERO, |sum, state| sum.plus(state.span))
    }

    pub fn leg(&self) -> u64 {
        self.legs.back().map_or(1, |leg| leg.number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{BootId, Moment};

    fn stamp(boot: u128, mono: u64, wall: &str, trusted: bool) -> Stamp {
        Stamp { boot: BootId(boot), mono: Moment(mono * 1_000_000_000), wall: wall.parse().unwrap(), trusted }
    }

    /// Clocks go forward at 01:00 UTC on 2026-03-29 in much of Europe; the monotonic clock does not care.
    #[test]
    fn a_session_across_a_clock_change_and_midnight_counts_real_time() {
        let start = stamp(1, 100, "2026-03-28T23:30:00Z", true);
        let mut session = Session::started_at(BenchId(1), start, 1, None);
        session.stop_clock(&stamp(1, 100 + 7200, "2026-03-29T02:30:00Z", true));
        assert_eq!((session.hands_on, session.clock_unsure), (Span::seconds(7200), false));
    }

    #[test]
    fn across_a_reboot_only_trusted_wall_times_tell() {
        let start = stamp(1, 9000, "2026-03-01T10:00:00Z", true);
        let (span, sure) = between(&start, &stamp(2, 5, "2026-03-01T10:20:00Z", true));
        assert_eq!((span, sure), (Span::seconds(1200), false));
        let (span, sure) = between(&start, &stamp(2, 5, "1970-01-01T00:00:10Z", false));
        assert_eq!((span, sure), (Span::ZERO, false));
    }

    #[test]
    fn a_pause_does_not_count_and_legs_share_the_clock() {
        let at = |seconds| stamp(1, seconds, "2026-03-01T10:00:00Z", true);
        let mut session = Session::started_at(BenchId(1), at(0), 1, None);
        session.stop_clock(&at(10));
        session.start_clock(&at(50), 2);
        session.begin_leg(&at(60), 3, None);
        session.stop_clock(&at(65));
        assert_eq!(session.hands_on, Span::seconds(25));
        let legs: Vec<u64> = session.legs.iter().map(|leg| leg.hands_on.as_seconds()).collect();
        assert_eq!(legs, [20, 5]);
        let runs: Vec<(u64, u64, u64)> = session.runs.iter().map(|run| (run.leg, run.from, run.span.as_seconds())).collect();
        assert_eq!(runs, [(1, 1, 10), (1, 2, 10), (2, 3, 5)]);
    }

    #[test]
    fn time_away_is_taken_off_the_run_in_which_it_was_found_and_then_off_those_before() {
        let at = |seconds| stamp(1, seconds, "2026-03-01T10:00:00Z", true);
        let mut session = Session::started_at(BenchId(1), at(0), 1, None);
        session.cut(&at(100), 5);
        session.stillnesses.push_back(Stillness { id: 6, leg: 1, span: Span::seconds(50), away: None });
        let spans = |session: &Session| session.runs_at(&at(130)).iter().map(|run| run.span.as_seconds()).collect::<Vec<_>>();
        assert_eq!(spans(&session), [100, 30], "nobody has said that it was time away");
        session.tell(6, true).unwrap();
        assert_eq!(spans(&session), [80, 0]);
        assert_eq!(session.hands_on_at(&at(130)).0, Span::seconds(80));
    }
}

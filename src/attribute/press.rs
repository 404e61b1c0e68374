//! One long press on the pan, which stands for the next bin.
//!
//! A press is a hand: it comes up at once, is never steady for long, stays two seconds or more, and goes back to the same
//! rest. A hand that keeps still for a moment looks like a load that came to rest, and makes a step until it has gone. A
//! piece that lies there is steady, so it is none, and lifting it out again is none either. Scrap that is pushed down is
//! shoved in several goes, or right after a drop. Where in doubt it is no press: the person presses again.

use crate::measure::{Mass, Moment, Span};

/// Two seconds, less what a filter hides of a hand that comes and goes.
const LEAST: Span = Span::millis(1800);
const MOST: Span = Span::seconds(8);
/// How long the load must be back at its rest.
const BACK: Span = Span::millis(800);
/// What lies so long within a division is a load, and no hand.
const STEADY: Span = Span::millis(600);
/// A step as which a hand was taken is taken back within this time of its going.
const TAKEN_BACK: Span = Span::seconds(3);
/// Pushing down follows a drop more closely than this.
const AFTER_STEP: Span = Span::seconds(5);
/// A hand that means it presses with more than this.
const FIRM: Mass = Mass::grams(200);

/// Watches the readings of a bench for presses.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct PressWatch {
    phase: Phase,
    last_step: Option<Moment>,
    step_before: Option<Moment>,
}

#[derive(Debug, Clone, Copy, Default)]
enum Phase {
    #[default]
    Quiet,
    Down {
        since: Moment,
        rest: Mass,
        most: Mass,
        /// It has let go then, so far down since: what comes up again now is another push.
        low: Option<(Moment, Mass)>,
        /// A step was made of it then, and how steady it has been since.
        step: Option<(Moment, Steady)>,
        waver: Waver,
    },
    Back {
        since: Moment,
        rest: Mass,
        most: Mass,
    },
    /// Something else than a press: until the load is at a rest again.
    Spoilt,
}

/// A stretch in which the display has kept within one division.
#[derive(Debug, Clone, Copy)]
struct Steady {
    since: Moment,
    low: Mass,
    high: Mass,
}

impl Steady {
    /// Takes the next load; whether it has lasted for as long as only a load does.
    fn see(&mut self, at: Moment, load: Mass, division: Mass) -> bool {
        let (low, high) = (self.low.min(load), self.high.max(load));
        *self = if high - low > division { Steady { since: at, low: load, high: load } } else { Steady { low, high, ..*self } };
        at.since(self.since) >= STEADY
    }
}

/// Whether a hand has pressed now less and now more, as it does that presses on purpose; one that only leans grows heavier
/// and then goes.
#[derive(Debug, Clone, Copy, Default)]
struct Waver {
    high: Mass,
    /// The least since it was highest.
    trough: Mass,
    seen: bool,
}

impl Waver {
    /// What it is more or less by: a two-hundredth of its force, where the display can show that.
    fn see(&mut self, push: Mass, most: Mass, division: Mass) {
        let less = Mass::from_femtograms(most.femtograms() / 200).max(division * 2);
        self.seen |= self.high - self.trough >= less && push - self.trough >= less;
        if push >= self.high {
            (self.high, self.trough) = (push, push);
        }
        self.trough = self.trough.min(push);
    }
}

impl PressWatch {
    /// A new rest was recognised, which is `load`: what lies there is a load, unless it is not steady.
    pub fn stepped(&mut self, at: Moment, load: Mass) {
        match &mut self.phase {
            Phase::Down { rest, most, low: None, step, .. } if (load - *rest) * 2 > *most => {
                *step = Some((at, Steady { since: at, low: load, high: load }));
            }
            _ => self.lies_there(at),
        }
    }

    fn lies_there(&mut self, stepped: Moment) {
        *self = PressWatch { phase: Phase::Quiet, last_step: Some(stepped), step_before: self.last_step };
    }

    /// The newest step was none: a push is not right after it.
    pub fn taken_back(&mut self) {
        self.last_step = self.step_before;
    }

    /// Takes the next reading, with the rest that it is held against; true when a press has just ended.
    pub fn reading(&mut self, at: Moment, load: Mass, rest: Mass, division: Mass) -> bool {
        if let Phase::Down { step: Some((stepped, steady)), .. } = &mut self.phase
            && steady.see(at, load, division)
        {
            let stepped = *stepped;
            self.lies_there(stepped);
        }
        let same = |before: Mass| (rest - before).abs() <= division;
        let push = load - rest;
        let firm = FIRM.max(division * 30);
        let home = push.abs() <= division * 2;
        let soon = self.last_step.is_some_and(|step| at.since(step) < AFTER_STEP);
        let (phase, pressed) = match self.phase {
            Phase::Quiet if push > firm && !soon => {
                (Phase::Down { since: at, rest, most: push, low: None, step: None, waver: Waver::default() }, false)
            }
            Phase::Quiet if push > firm => (Phase::Spoilt, false),
            Phase::Quiet => (Phase::Quiet, false),
            Phase::Down { since, rest: before, most, low, step, mut waver } => {
                let push = load - before;
                let home = push.abs() <= division * 2;
                let lasted = at.since(since);
                // The platform may swing for a while after the hand has gone.
                let held = low.map_or(at, |(let_go, _)| let_go).since(since);
                let again = low.is_some_and(|(_, low)| push > firm && push * 4 > low * 5 && push * 4 > most);
                match () {
                    // Shoved down in several goes.
                    () if step.is_none() && !same(before) || lasted > MOST || again => (Phase::Spoilt, false),
                    () if home && held >= LEAST && (step.is_none() || waver.seen) => {
                        (Phase::Back { since: at, rest: before, most }, false)
                    }
                    () if home => (Phase::Quiet, false),
                    () => {
                        let eased = push * 10 < most * 7;
                        if low.is_none() && !eased {
                            waver.see(push, most, division);
                        }
                        let low = low.map(|(at, low)| (at, low.min(push))).or(eased.then_some((at, push)));
                        (Phase::Down { since, rest: before, most: most.max(push), low, step, waver }, false)
                    }
                }
            }
            Phase::Back { since, rest: before, most } => {
                let push = load - before;
                let home = push.abs() <= division * 2;
                match () {
                    () if push * 4 > most => (Phase::Spoilt, false),
                    // The platform still swings.
                    () if !home => (Phase::Back { since: at, rest: before, most }, false),
                    () if at.since(since) < BACK => (self.phase, false),
                    () if same(before) => (Phase::Quiet, true),
                    () if at.since(since) > TAKEN_BACK => (Phase::Spoilt, false),
                    () => (self.phase, false),
                }
            }
            Phase::Spoilt if home => (Phase::Quiet, false),
            Phase::Spoilt => (Phase::Spoilt, false),
        };
        self.phase = phase;
        pressed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Feeds loads in grams, ten a second, over a rest of 3000 g, and counts the presses.
    fn presses(watch: &mut PressWatch, start: u64, pushes: &[i64]) -> usize {
        let rest = Mass::grams(3000);
        let count = |(index, push): (usize, &i64)| {
            let at = Moment((start + index as u64 * 100) * 1_000_000);
            watch.reading(at, rest + Mass::grams(*push), rest, Mass::grams(1))
        };
        pushes.iter().enumerate().map(count).filter(|pressed| *pressed).count()
    }

    fn hand(tenths: usize) -> Vec<i64> {
        let wobble = (0..tenths).map(|at| 900 + (at as i64 * 37) % 90);
        [0; 5].into_iter().chain(wobble).chain([0; 15]).collect()
    }

    /// A scale's filter shows the hand come and go, where a coarse one shows it at once.
    fn filtered(tenths: usize) -> Vec<i64> {
        let (come, go) = ([0, 0, 210, 700, 1900, 2600, 2900], [2500, 1300, 500, 230, 120, 40, 9]);
        let held = (0..tenths).map(|at| 2950 + (at as i64 * 37) % 110);
        come.into_iter().chain(held).chain(go).chain([0; 15]).collect()
    }

    #[test]
    fn a_press_that_a_filter_blurs_is_one() {
        assert_eq!(presses(&mut PressWatch::default(), 0, &filtered(20)), 1);
        assert_eq!(presses(&mut PressWatch::default(), 0, &filtered(4)), 0);
        let twice = [&filtered(5)[..15], &filtered(5)[4..]].concat();
        assert_eq!(presses(&mut PressWatch::default(), 0, &twice), 0, "two short pushes are no long one");
    }

    #[test]
    fn a_long_press_is_one_and_a_short_or_endless_one_is_none() {
        assert_eq!(presses(&mut PressWatch::default(), 0, &hand(25)), 1);
        assert_eq!(presses(&mut PressWatch::default(), 0, &hand(12)), 0);
        assert_eq!(presses(&mut PressWatch::default(), 0, &hand(120)), 0);
        assert_eq!(presses(&mut PressWatch::default(), 0, &[hand(25), hand(30)].concat()), 2);
    }

    #[test]
    fn scrap_that_is_pushed_down_is_no_press() {
        let shoves: Vec<i64> =
            [0; 5].into_iter().chain([2500, 2600, 90, 40, 2700, 2500, 60, 2400].repeat(4)).chain([0; 15]).collect();
        assert_eq!(presses(&mut PressWatch::default(), 0, &shoves), 0);
        let mut right_after_a_drop = PressWatch::default();
        right_after_a_drop.stepped(Moment(10_000_000_000), Mass::grams(3000));
        assert_eq!(presses(&mut right_after_a_drop, 11_000, &hand(25)), 0);
    }

    #[test]
    fn a_load_that_comes_to_rest_is_no_press() {
        let mut watch = PressWatch::default();
        assert_eq!(presses(&mut watch, 0, &[0, 0, 640, 640, 640, 640]), 0);
        watch.stepped(Moment(700_000_000), Mass::grams(3640));
        // The rest is the new one now: lifting the piece out goes below it.
        assert_eq!(presses(&mut watch, 800, &[0, 0, 0, -640, -640, -640, -640]), 0);
    }

    /// As far as the hand keeps still it looks like a load, and a step is made of it.
    #[test]
    fn a_hand_that_keeps_still_for_a_moment_still_presses() {
        let rest = Mass::grams(3000);
        let press = |still: usize, wavers: bool, taken_back: bool| {
            let mut watch = PressWatch::default();
            let leaning = (0..20).map(|tenth| 940 - (19 - tenth) * (19 - tenth) * 2).collect::<Vec<_>>();
            let held = match wavers {
                true => [&hand(10)[..15], &vec![940; still], &hand(12)[5..]].concat(),
                false => [&[0; 5][..], &leaning, &[600, 200], &[0; 12]].concat(),
            };
            let mut felt = 0;
            for (index, push) in held.iter().enumerate() {
                let at = Moment((20_000 + index as u64 * 100) * 1_000_000);
                let stepped = Mass::grams(3940);
                let home = held.len() - 12;
                match index {
                    18 => watch.stepped(at, stepped),
                    _ if index == home && taken_back => watch.taken_back(),
                    _ if index == home => watch.stepped(at, rest),
                    _ => {}
                }
                let before = if (18..home).contains(&index) { stepped } else { rest };
                felt += u32::from(watch.reading(at, rest + Mass::grams(*push), before, Mass::grams(1)));
            }
            felt
        };
        assert_eq!(press(5, true, true), 1);
        assert_eq!(press(0, false, true), 0, "somebody leaned there");
        assert_eq!(press(12, true, true), 0, "a piece lay there");
        assert_eq!(press(5, true, false), 0, "a load was put on and taken off");
    }

    #[test]
    fn a_step_that_was_taken_back_is_no_drop_that_is_pushed_down() {
        let mut watch = PressWatch::default();
        watch.stepped(Moment(10_000_000_000), Mass::grams(3000));
        watch.stepped(Moment(14_000_000_000), Mass::grams(3100));
        watch.taken_back();
        assert_eq!(presses(&mut watch, 15_100, &hand(25)), 1);
    }

    proptest! {
        /// Whatever a load does that does not come back to the rest, it is no press.
        #[test]
        fn without_a_return_there_is_no_press(pushes in proptest::collection::vec(3_i64..5000, 1..200)) {
            prop_assert_eq!(presses(&mut PressWatch::default(), 0, &pushes), 0);
        }
    }
}

//! The books of one epoch: every change of the rest is a step, pending or forgiven, and the three add up exactly.

use super::finding::{Act, Finding, Rest, Step};
use crate::measure::{Mass, Moment, Span};
use std::collections::VecDeque;

/// Where an epoch stands: `current - first = steps + pending + forgiven`, exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Balance {
    pub first: Mass,
    pub current: Mass,
    /// Sum of the steps that were not cancelled.
    pub steps: Mass,
    pub pending: Mass,
    pub forgiven: Mass,
}

/// One epoch's rests and steps.
#[derive(Debug)]
pub struct Account {
    first: Rest,
    /// The rest that steps are counted from.
    anchor: Rest,
    /// The rest that the platform is at; it differs from the anchor by what is pending.
    current: Rest,
    steps: Mass,
    forgiven: Mass,
    empty: Option<Mass>,
    near: Mass,
    number: u32,
    /// The provisional steps.
    open: VecDeque<Open>,
    /// The level that the display stands at: within a division or so of the rest.
    level: Mass,
    /// The last step emptied the platform.
    cleared: bool,
}

/// A provisional step.
#[derive(Debug, Clone, Copy)]
struct Open {
    step: Step,
    /// The level that the display stood at before it.
    level: Mass,
    /// The longest time for which the display has kept within one division at its rest.
    stood: Span,
    /// Since when it had been about that rest when it came to it.
    about: Moment,
    /// The longest time for which it was about that rest, and not at it, before it went.
    wavered: Span,
    /// It has gone from there.
    gone: bool,
    /// The display has been nearly back since, without coming to rest there.
    eased: bool,
}

impl Account {
    /// More provisional steps than a person can make while one of them is still open.
    const OPEN_MAX: usize = 32;
    /// A hand that leans harder and harder stops for less than this on the way.
    const STOOD: Span = Span::millis(1600);
    /// Somebody who lifts at what lies there lets go of it within this time.
    const LIFTED: Span = Span::millis(2200);
    /// No hand keeps still for so long while it presses.
    const STILL: Span = Span::millis(900);
    /// A load is down and has rung out within this time.
    const LAID: Span = Span::millis(2000);
    /// What has come to rest within this time was laid down, however quick the bench is.
    const SOON: Span = Span::millis(500);
    /// The longest calm that is asked of a display before it is believed.
    const CALM: Span = Span::millis(675);
    /// A load that is lifted off is well away from its rest sooner.
    const WAVERED: Span = Span::millis(300);
    /// Scrap that is shoved down in several goes, some of them still for a moment, is left alone again within this time.
    const SHOVED: Span = Span::seconds(15);

    /// Opens with the first rest. `near` is how far from the empty level still counts as empty.
    pub fn open(first: Rest, near: Mass) -> Account {
        let empty = (first.load.abs() <= near).then_some(first.load);
        Account {
            first,
            anchor: first,
            current: first,
            steps: Mass::ZERO,
            forgiven: Mass::ZERO,
            empty,
            near,
            number: 0,
            open: VecDeque::with_capacity(Account::OPEN_MAX + 1),
            level: first.load,
            cleared: false,
        }
    }

    /// How far from the empty level still counts as empty: the division may become known later.
    pub fn set_near(&mut self, near: Mass) {
        self.near = near;
    }

    /// The display stands at `level`, which is no change of the rest.
    pub fn stands(&mut self, level: Mass) {
        self.level = level;
    }

    /// The display has kept within one division at its rest for so long.
    pub fn still(&mut self, calm: Span) {
        if let Some(last) = self.open.back_mut() {
            last.stood = last.stood.max(calm);
        }
    }

    /// The display came to the newest rest after it had been about it since `about`: before that it may have been at
    /// that of a piece that fell first.
    pub fn came_about(&mut self, about: Moment) {
        if let Some(last) = self.open.back_mut() {
            last.about = last.about.max(about);
        }
    }

    /// How far from a rest at `load` a hand may waver.
    pub fn about(&self, load: Mass) -> Mass {
        let high = (load - self.empty.unwrap_or_default()).abs();
        Mass::from_femtograms(high.femtograms() / 8)
    }

    /// The display shows `load`, and has not been at its rest for `since`.
    pub fn leaves(&mut self, load: Mass, since: Span) {
        let Some(Step { delta, from, to, .. }) = self.open.back().map(|open| open.step) else { return };
        let near = (load - to.load).abs() <= self.about(to.load);
        let Some(last) = self.open.back_mut() else { return };
        last.eased |= !delta.is_negative() && (load - from.load).abs() * 4 <= delta;
        last.gone = !near || last.gone && since > Span::ZERO;
        if !last.gone {
            last.wavered = last.wavered.max(since);
        }
    }

    pub fn anchor(&self) -> Rest {
        self.anchor
    }

    pub fn current(&self) -> Rest {
        self.current
    }

    pub fn balance(&self) -> Balance {
        Balance {
            first: self.first.load,
            current: self.current.load,
            steps: self.steps,
            pending: self.pending(),
            forgiven: self.forgiven,
        }
    }

    pub fn pending(&self) -> Mass {
        self.current.load - self.anchor.load
    }

    /// The newest step, while it is provisional.
    pub fn last_step(&self) -> Option<Mass> {
        self.open.back().map(|open| open.step.delta)
    }

    pub fn forgiven(&self) -> Mass {
        self.forgiven
    }

    /// What the empty platform showed.
    pub fn empty(&self) -> Option<Mass> {
        self.empty
    }

    /// The platform was emptied and nothing has come onto it since.
    pub fn lies_bare(&self) -> bool {
        self.cleared && self.is_empty_level(self.anchor.load)
    }

    pub fn is_empty_level(&self, load: Mass) -> bool {
        self.empty.is_some_and(|empty| (load - empty).abs() <= self.near)
    }

    /// The load is another: one step from the anchor to `to`.
    pub fn step(&mut self, to: Rest, landed: Moment, at: Moment, emit: &mut dyn FnMut(Finding)) {
        if self.open.len() == Account::OPEN_MAX
            && let Some(oldest) = self.open.pop_front()
        {
            emit(Finding::Confirmed { at, number: oldest.step.number });
        }
        // What has lain still for a while before the load changes again was no hand.
        let from = self.anchor;
        let delta = to.load - from.load;
        let follows = |last: &Step| landed.since(last.to.since) >= Account::STOOD && delta.abs() * 4 >= last.delta.abs();
        if self.open.back().is_some_and(|last| follows(&last.step)) {
            self.confirm(at, Span::ZERO, Span::ZERO, emit);
        }
        self.put(to, landed, at, emit);
    }

    fn put(&mut self, to: Rest, landed: Moment, recognised: Moment, emit: &mut dyn FnMut(Finding)) {
        let from = self.anchor;
        let delta = to.load - from.load;
        // Where the program started under a load, the first sight of the display's zero is the empty platform.
        if self.empty.is_none() && to.load.abs() <= self.near {
            self.empty = Some(to.load);
        }
        let act = match (delta.is_negative(), self.is_empty_level(to.load)) {
            (true, true) => Act::Cleared,
            (true, false) => Act::Removed,
            (false, _) => Act::Added,
        };
        self.number = self.number.saturating_add(1);
        let step = Step { number: self.number, act, delta, landed, recognised, from, to };
        self.steps += delta;
        self.anchor = to;
        self.current = to;
        let (stood, wavered) = (Span::ZERO, Span::ZERO);
        self.open.push_back(Open { step, level: self.level, stood, about: landed, wavered, gone: false, eased: false });
        self.level = to.load;
        self.cleared = act == Act::Cleared;
        emit(Finding::Stepped(step));
    }

    /// The rest before one of the provisional steps to which a load of `load` is a return, if it is one.
    ///
    /// What goes on to an empty platform and comes off again, or comes off and goes on again, is never taken for a
    /// hand: with one load at a time that is how weighing looks.
    ///
    /// `left`: when the load left the last rest, where that can be told. A hand that lifts does so for a moment only: what
    /// is put back later than that into what was taken out is another piece.
    ///
    /// A load that came slowly (`slow` or longer) was leaned on and may be left less exactly: by a third more.
    pub fn returns_to(&self, load: Mass, tolerance: Mass, slow: Span, left: Option<Moment>) -> Option<usize> {
        let mut best = None::<(Mass, usize)>;
        for (index, Open { step, level, .. }) in self.open.iter().enumerate().rev() {
            if self.is_empty_level(step.from.load) || self.is_empty_level(step.to.load) {
                break;
            }
            if step.delta.is_negative() && left.is_some_and(|left| left.since(step.landed) > Account::LIFTED) {
                continue;
            }
            // Crumbs that were waiting may lie between the rest and what the display stood at.
            let found = if step.delta.abs() >= self.near * 2 { *level } else { step.from.load };
            let away = (load - step.from.load).abs().min((load - found).abs());
            let wide = if came(step) >= slow { Mass::from_femtograms(tolerance.femtograms() / 3) } else { Mass::ZERO };
            if away <= tolerance + wide && best.is_none_or(|(least, _)| away < least) {
                best = Some((away, index));
            }
        }
        best.map(|(_, index)| index)
    }

    /// The step from the empty platform, as which a hand was taken that has gone now that the load is `load` again.
    ///
    /// What was put on and taken off again is no hand, however soon. But it lies still in between, and a hand that presses
    /// never does for long. It is known by what only a hand does: it wavers about its rest before it goes, it lightens a
    /// little, or it takes longer than a step of its size (`usual`) to come to rest.
    pub fn pressed(&self, load: Mass, tolerance: Mass, usual: impl Fn(Mass) -> Option<Span>) -> Option<usize> {
        let index = self.open.iter().rposition(|open| self.is_empty_level(open.step.from.load))?;
        let first = self.open.get(index).filter(|first| (load - first.step.from.load).abs() <= tolerance)?.step;
        let mut hand = self.open.back()?.wavered >= Account::WAVERED;
        for Open { step, stood, about, .. } in self.open.range(index..) {
            if *stood >= Account::STILL || self.is_empty_level(step.to.load) {
                return None;
            }
            let lightened = step.delta.is_negative() && step.delta.abs() * 8 <= first.delta;
            let usual = usual(step.delta).map_or(Account::LAID, |usual| Span(usual.0 / 4 * 5).max(Account::SOON));
            // Where the display never stood still, only the moment at which it was recognised tells how long it took.
            let late = Span(step.recognised.since(*about).0.saturating_sub(Account::CALM.0));
            hand |= lightened || step.to.since.since(*about).max(late) >= usual;
        }
        hand.then_some(index)
    }

    /// Cancels the provisional step at `index` and every later one.
    pub fn cancel_from(&mut self, index: usize, at: Moment, emit: &mut dyn FnMut(Finding)) {
        while self.open.len() > index
            && let Some(Open { step, level, .. }) = self.open.pop_back()
        {
            self.level = level;
            self.cleared = false;
            self.steps += -step.delta;
            self.anchor = step.from;
            self.current = step.from;
            emit(Finding::Cancelled { at, number: step.number });
        }
    }

    /// Puts the last step anew with a better rest at its end, where it is still provisional. A step that was as good
    /// as right was recognised when it was first put.
    pub fn revise(&mut self, to: Rest, at: Moment, emit: &mut dyn FnMut(Finding)) -> bool {
        let Some(open) = self.open.back().copied().filter(|open| open.step.from.load != to.load) else { return false };
        let last = open.step;
        let near = (to.load - last.to.load).abs().femtograms() * 4 <= self.near.femtograms() * 3;
        self.cancel_from(self.open.len() - 1, at, emit);
        let to = if near { Rest { since: last.to.since, ..to } } else { to };
        self.put(to, last.landed, if near { last.recognised } else { at }, emit);
        self.still(open.stood);
        self.came_about(open.about);
        true
    }

    /// Opens anew with a better first rest, while nothing else has been found.
    pub fn reopen(&mut self, first: Rest, at: Moment, emit: &mut dyn FnMut(Finding)) -> bool {
        let untouched = self.number == 0 && self.pending().is_zero() && self.forgiven.is_zero();
        if untouched {
            (self.first, self.anchor, self.current) = (first, first, first);
            self.level = first.load;
            self.empty = (first.load.abs() <= self.near).then_some(first.load);
            emit(Finding::Rested { at, rest: first });
        }
        untouched
    }

    /// A change below one division is kept until it is one.
    pub fn pend(&mut self, rest: Rest, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.current = rest;
        emit(Finding::Rested { at, rest });
    }

    /// A change that is drift: the anchor follows it without a step.
    pub fn forgive(&mut self, rest: Rest, at: Moment, emit: &mut dyn FnMut(Finding)) {
        // A step that could still be cancelled would take the anchor back to before the drift.
        self.confirm(at, Span::ZERO, Span::ZERO, emit);
        self.forgiven += rest.load - self.anchor.load;
        self.anchor = rest;
        self.pend(rest, at, emit);
    }

    /// What is pending becomes a step of its own.
    pub fn flush(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        if !self.pending().is_zero() {
            self.step(self.current, self.current.since, at, emit);
        }
    }

    /// Confirms the steps that have stood for `age`, and later where it may be a hand still: the load came slowly, it was
    /// nearly gone since, or it has not lain still on the empty platform yet.
    pub fn confirm(&mut self, at: Moment, age: Span, slow: Span, emit: &mut dyn FnMut(Finding)) {
        let due = |open: &Open| {
            let slowly = if came(&open.step) >= slow { age.0 * 4 / 5 } else { 0 };
            match self.is_empty_level(open.step.from.load) {
                _ if age == Span::ZERO => 0,
                true if open.stood < Account::STILL => age.0 * 2,
                false if open.eased => (age.0 + slowly).max(Account::SHOVED.0),
                _ => age.0 + slowly,
            }
        };
        let over = self.open.iter().take_while(|open| at.since(open.step.recognised).0 >= due(open)).count();
        for Open { step, .. } in self.open.drain(..over) {
            emit(Finding::Confirmed { at, number: step.number });
        }
    }

    pub fn close(&mut self, at: Moment, emit: &mut dyn FnMut(Finding)) {
        self.confirm(at, Span::ZERO, Span::ZERO, emit);
        emit(Finding::EpochClosed { at, pending: self.pending(), forgiven: self.forgiven });
    }
}

/// How long the load took to come to rest.
fn came(step: &Step) -> Span {
    step.to.since.since(step.landed)
}

//! The walk through a script that reckons its truth.

use super::script::{Act, Load, Script};
use super::setup::{Mode, Setup};
use super::truth::{ActionTruth, ControlTruth, DropTruth, RestTruth, SwapTruth};
use crate::measure::{Mass, Moment, Span};
use crate::settle::Manner;
use std::collections::{BTreeMap, BTreeSet};

/// Shorter stretches are too short for anybody to call a rest.
const REST_MIN: Span = Span::millis(1600);

pub struct Walk {
    manner: Manner,
    load: Load,
    /// A load above this is shown as overload: no rest that anybody could see.
    most: Mass,
    /// Loads at which a scale shows nothing that anybody could see: one that prints never tells of the empty platform,
    /// and so it tells nothing of one load and then another.
    mute: Option<Mass>,
    since: Moment,
    /// Until when a hand lies on the platform, it is hammered, or frames are missing.
    disturbed: Moment,
    dark: bool,
    unplugged: bool,
    chosen: Option<u32>,
    /// The bin that truly stands there, where the script says so.
    standing: Option<u32>,
    /// What each bin last weighed as it stood here.
    seen: BTreeMap<u32, Mass>,
    /// The true weight of what stands there, without what the corner adds.
    gross: Mass,
    /// When the load on the pan began, and what lay there before it.
    laid: Option<(Moment, Mass)>,
    /// The load taken off last, when, and the bin it belongs to, until the tray is back.
    tipped: Option<(Mass, Moment, Option<u32>)>,
    pub rests: Vec<RestTruth>,
    pub actions: Vec<ActionTruth>,
    pub controls: Vec<ControlTruth>,
    pub drops: Vec<DropTruth>,
    pub swaps: Vec<SwapTruth>,
    pub unseen: Vec<SwapTruth>,
    pub intakes: Vec<DropTruth>,
    pub presses: Vec<Moment>,
    /// The numbers of all bins that the program was told.
    bins: BTreeSet<u32>,
    /// A long press chooses the next bin.
    press_on: bool,
    /// The next load is an intake, and the one that lies there is one.
    asked: bool,
    intake: bool,
}

impl Walk {
    /// Walks the whole script.
    pub fn of(setup: &Setup, script: &Script) -> Walk {
        let mut walk = Walk {
            manner: script.manner,
            load: Load::default(),
            most: setup.capacity,
            mute: match (setup.mode, script.manner) {
                (Mode::OnStable, Manner::Pan) => Some(setup.capacity),
                (Mode::OnStable, _) => Some(Mass::ZERO),
                _ => None,
            },
            since: Moment::default(),
            disturbed: Moment::default(),
            dark: false,
            unplugged: false,
            chosen: None,
            standing: None,
            seen: BTreeMap::new(),
            gross: Mass::ZERO,
            laid: None,
            tipped: None,
            rests: Vec::new(),
            actions: Vec::new(),
            controls: Vec::new(),
            drops: Vec::new(),
            swaps: Vec::new(),
            unseen: Vec::new(),
            intakes: Vec::new(),
            presses: Vec::new(),
            bins: BTreeSet::new(),
            press_on: false,
            asked: false,
            intake: false,
        };
        for deed in script.deeds() {
            walk.pass(deed.at, &deed.act);
        }
        walk.close(script.end());
        walk
    }

    fn pass(&mut self, at: Moment, act: &Act) {
        if let Some(words) = act.words() {
            self.told(&words);
            self.controls.push(ControlTruth { at, words });
        }
        match act {
            Act::Lean { lasting, .. } | Act::Push { lasting, .. } | Act::Hammer { lasting, .. } | Act::Mute(lasting) => {
                self.disturb(at, *lasting);
            }
            Act::Press { lasting, .. } => {
                self.presses.push(at);
                if self.press_on {
                    self.next_bin();
                }
                self.disturb(at, *lasting);
            }
            Act::PowerOff | Act::PowerOn | Act::Sleep | Act::Wake => {
                self.close(at);
                self.dark = matches!(act, Act::PowerOff | Act::Sleep);
            }
            Act::Unplug | Act::Plug => {
                self.close(at);
                self.unplugged = *act == Act::Unplug;
            }
            _ => self.shift(at, act),
        }
    }

    fn told(&mut self, words: &str) {
        match words {
            "next" => self.next_bin(),
            "press on" => self.press_on = true,
            "intake" => self.asked = true,
            _ => {
                if let Some(bin) = words.strip_prefix("choose ") {
                    self.chosen = bin.parse().ok();
                    self.bins.extend(self.chosen);
                }
            }
        }
    }

    /// The bin with the next higher number; behind the last comes the first.
    fn next_bin(&mut self) {
        let behind = self.bins.range(self.chosen.map_or(0, |bin| bin + 1)..).next();
        self.chosen = behind.or(self.bins.first()).copied();
    }

    fn disturb(&mut self, at: Moment, lasting: Span) {
        self.close(at);
        self.disturbed = self.disturbed.max(at.plus(lasting));
    }

    fn shift(&mut self, at: Moment, act: &Act) {
        let before = self.load.now;
        let mut after = self.load;
        let Some(grams) = after.apply(act) else { return };
        self.close(at);
        self.load = after;
        let name = match act {
            Act::Place(_) | Act::SetBack | Act::SetDown { .. } | Act::Lay(_) => "place",
            Act::Drop(_) => "drop",
            Act::Take(_) | Act::Fetch => "take",
            _ => "lift",
        };
        let bin = self.standing.or(self.chosen);
        self.stand(at, act);
        self.actions.push(ActionTruth { at, act: name, grams, bin: self.standing.or(bin) });
        self.credit(at, act, before, grams);
    }

    /// Which bin stands there, and what became of it since it left.
    fn stand(&mut self, at: Moment, act: &Act) {
        match act {
            Act::SetDown { bin, gross, .. } => {
                self.swaps.push(SwapTruth { at, bin: *bin, grams: *gross });
                if let Some(left) = self.seen.get(bin).filter(|left| *left != gross) {
                    self.unseen.push(SwapTruth { at, bin: *bin, grams: *gross - *left });
                }
                self.standing = Some(*bin);
                self.gross = *gross;
            }
            Act::Drop(mass) => self.gross += *mass,
            Act::Take(mass) => self.gross -= *mass,
            Act::Lift => _ = self.standing.take().map(|bin| self.seen.insert(bin, self.gross)),
            _ => {}
        }
    }

    /// What counts as a drop depends on the manner of weighing.
    fn credit(&mut self, at: Moment, act: &Act, before: Mass, change: Mass) {
        match (self.manner, act) {
            (Manner::Heap, Act::Drop(mass)) => self.add(at, *mass),
            (Manner::Heap, Act::Take(mass)) => self.add(at, -*mass),
            (Manner::Sort, Act::Take(mass)) => self.add(at, *mass),
            (Manner::Pan, Act::Drop(_) | Act::Place(_) | Act::SetBack) if self.laid.is_none() => {
                self.laid = Some((at, before));
                self.intake = std::mem::take(&mut self.asked);
            }
            (Manner::Pan, Act::Lift | Act::Take(_)) => {
                if let Some((laid, base)) = self.laid.take_if(|(_, base)| before + change <= *base) {
                    self.add(laid, before - base);
                }
            }
            (Manner::Tray, Act::Lift) => self.tipped = Some((before, at, self.chosen)),
            (Manner::Tray, Act::Place(_) | Act::SetBack) => {
                if let Some((full, lifted, bin)) = self.tipped.take()
                    && full > change
                {
                    self.drops.push(DropTruth { at: lifted, grams: full - change, bin, sure: bin.is_some() });
                }
            }
            _ => {}
        }
    }

    fn add(&mut self, at: Moment, grams: Mass) {
        if std::mem::take(&mut self.intake) {
            self.intakes.push(DropTruth { at, grams, bin: None, sure: true });
            return;
        }
        let bin = self.standing.or(self.chosen);
        self.drops.push(DropTruth { at, grams, bin, sure: bin.is_some() && bin == self.chosen });
    }

    /// Ends the stretch that runs, and keeps it if it was a rest.
    fn close(&mut self, at: Moment) {
        let start = self.since.max(self.disturbed);
        let hidden =
            self.dark || self.unplugged || self.load.now > self.most || self.mute.is_some_and(|mute| self.load.now <= mute);
        if !hidden && at.since(start) >= REST_MIN {
            self.rests.push(RestTruth { start, end: at, grams: self.load.now });
        }
        self.since = at;
    }
}

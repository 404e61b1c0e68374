//! What was really put on: reckoned from the script alone, never from what the scale showed.

use super::indicator::grams;
use super::script::{Act, Load, Script};
use super::setup::{Flag, Setup};
use crate::measure::{Mass, Moment, Span};
use crate::settle::Manner;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Shorter stretches are too short for anybody to call a rest.
const REST_MIN: Span = Span::millis(1600);

/// The truth of one script. As JSON: seconds and grams are plain numbers, for programs that score steps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    pub kind: String,
    pub seed: u64,
    #[serde(rename = "rate_hz")]
    pub rate: u32,
    #[serde(rename = "division_g", serialize_with = "in_grams")]
    pub division: Mass,
    pub format: &'static str,
    pub manner: Manner,
    /// Standard deviation of the load cell's noise, in divisions.
    pub sigma_d: f64,
    pub has_flag: bool,
    /// Stretches of the same load, undisturbed by hands or a lost scale, of at least 1.6 s.
    pub rests: Vec<RestTruth>,
    /// Everything that changed the load.
    pub actions: Vec<ActionTruth>,
    /// What the program was told.
    pub controls: Vec<ControlTruth>,
    /// What each bin got, by its number.
    pub bins: Vec<BinTruth>,
    /// What was dropped with no bin chosen.
    #[serde(rename = "unassigned_grams", serialize_with = "in_grams")]
    pub unassigned: Mass,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RestTruth {
    #[serde(serialize_with = "in_seconds")]
    pub start: Moment,
    #[serde(serialize_with = "in_seconds")]
    pub end: Moment,
    #[serde(serialize_with = "in_grams")]
    pub grams: Mass,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ActionTruth {
    #[serde(serialize_with = "in_seconds")]
    pub at: Moment,
    /// `place`, `drop`, `take` or `lift`.
    pub act: &'static str,
    /// Signed change of the load.
    #[serde(serialize_with = "in_grams")]
    pub grams: Mass,
    /// The bin that was chosen at this moment.
    pub bin: Option<u32>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ControlTruth {
    #[serde(serialize_with = "in_seconds")]
    pub at: Moment,
    pub words: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BinTruth {
    pub bin: u32,
    /// How many drops, by the manner's rule.
    pub drops: u32,
    #[serde(serialize_with = "in_grams")]
    pub grams: Mass,
}

impl Truth {
    /// Reckons the truth of `script` on a scale of this setup.
    pub fn of(setup: &Setup, script: &Script, seed: u64) -> Truth {
        let mut walk = Walk::new(script.manner);
        for deed in script.deeds() {
            walk.pass(deed.at, &deed.act);
        }
        walk.close(script.end());
        let unassigned = walk.got.remove(&None).unwrap_or_default().1;
        Truth {
            kind: script.name.clone(),
            seed,
            rate: setup.rate,
            division: setup.step().unwrap_or_default(),
            format: setup.dialect.name(),
            manner: script.manner,
            sigma_d: setup.noise,
            has_flag: setup.flag != Flag::Absent,
            rests: walk.rests,
            actions: walk.actions,
            controls: walk.controls,
            bins: walk.got.into_iter().filter_map(|(bin, (drops, grams))| Some(BinTruth { bin: bin?, drops, grams })).collect(),
            unassigned,
        }
    }

    /// As text, indented.
    pub fn to_json(&self) -> String {
        // Plain numbers and texts with fixed keys: there is nothing in it that JSON cannot say.
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

struct Walk {
    manner: Manner,
    load: Load,
    since: Moment,
    /// Until when a hand lies on the platform.
    disturbed: Moment,
    dark: bool,
    unplugged: bool,
    bin: Option<u32>,
    /// The load taken off last and the bin it belongs to, until the tray is back.
    tipped: Option<(Mass, Option<u32>)>,
    rests: Vec<RestTruth>,
    actions: Vec<ActionTruth>,
    controls: Vec<ControlTruth>,
    got: BTreeMap<Option<u32>, (u32, Mass)>,
}

impl Walk {
    fn new(manner: Manner) -> Walk {
        Walk {
            manner,
            load: Load::default(),
            since: Moment::default(),
            disturbed: Moment::default(),
            dark: false,
            unplugged: false,
            bin: None,
            tipped: None,
            rests: Vec::new(),
            actions: Vec::new(),
            controls: Vec::new(),
            got: BTreeMap::new(),
        }
    }

    fn pass(&mut self, at: Moment, act: &Act) {
        if let Some(words) = act.words() {
            self.controls.push(ControlTruth { at, words });
        }
        match act {
            Act::Choose(bin) => self.bin = Some(*bin),
            Act::Lean { lasting, .. } => {
                self.close(at);
                self.disturbed = self.disturbed.max(at.plus(*lasting));
            }
            Act::PowerOff | Act::PowerOn => {
                self.close(at);
                self.dark = *act == Act::PowerOff;
            }
            Act::Unplug | Act::Plug => {
                self.close(at);
                self.unplugged = *act == Act::Unplug;
            }
            _ => self.shift(at, act),
        }
    }

    fn shift(&mut self, at: Moment, act: &Act) {
        let before = self.load.now;
        let mut after = self.load;
        let Some(grams) = after.apply(act) else { return };
        self.close(at);
        self.load = after;
        let name = match act {
            Act::Place(_) | Act::SetBack => "place",
            Act::Drop(_) => "drop",
            Act::Take(_) => "take",
            _ => "lift",
        };
        self.actions.push(ActionTruth { at, act: name, grams, bin: self.bin });
        self.credit(act, before, grams);
    }

    /// What counts as a drop depends on the manner of weighing.
    fn credit(&mut self, act: &Act, before: Mass, change: Mass) {
        match (self.manner, act) {
            (Manner::Heap, Act::Drop(mass)) => self.add(self.bin, *mass),
            (Manner::Sort, Act::Take(mass)) => self.add(self.bin, *mass),
            (Manner::Pan, Act::Lift) if !before.is_zero() => self.add(self.bin, before),
            (Manner::Tray, Act::Lift) => self.tipped = Some((before, self.bin)),
            (Manner::Tray, Act::Place(_) | Act::SetBack) => {
                if let Some((full, bin)) = self.tipped.take()
                    && full > change
                {
                    self.add(bin, full - change);
                }
            }
            _ => {}
        }
    }

    fn add(&mut self, bin: Option<u32>, mass: Mass) {
        let (drops, grams) = self.got.entry(bin).or_default();
        *drops += 1;
        *grams += mass;
    }

    /// Ends the stretch that runs, and keeps it if it was a rest.
    fn close(&mut self, at: Moment) {
        let start = self.since.max(self.disturbed);
        if !self.dark && !self.unplugged && at.since(start) >= REST_MIN {
            self.rests.push(RestTruth { start, end: at, grams: self.load.now });
        }
        self.since = at;
    }
}

/// The file is for a scorer that reckons in plain numbers; the exact mass stays in the program.
fn in_grams<S: Serializer>(mass: &Mass, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(grams(*mass))
}

fn in_seconds<S: Serializer>(at: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(at.0 as f64 / 1e9)
}

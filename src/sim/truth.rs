//! What was really put on: reckoned from the script alone, never from what the scale showed.

use super::indicator::grams;
use super::script::Script;
use super::setup::{Flag, Setup};
use super::walk::Walk;
use crate::measure::{Mass, Moment};
use crate::settle::Manner;
use serde::{Serialize, Serializer};

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
    /// Every piece that the program should have credited, or taken out of a bin's books.
    pub drops: Vec<DropTruth>,
    /// What each bin got for sure, by its number, net of what was taken out.
    pub bins: Vec<BinTruth>,
    /// What was dropped where the program could not be sure of the bin.
    #[serde(rename = "unassigned_grams", serialize_with = "in_grams")]
    pub unassigned: Mass,
    /// Which bin was set down when, whatever the program was told.
    pub swaps: Vec<SwapTruth>,
    /// Bins that came back with another content than they had left with.
    pub unseen: Vec<SwapTruth>,
    /// Every load that the program was told is an intake: what is to be taken apart, and in no bin.
    pub intakes: Vec<DropTruth>,
    /// Long presses on the pan.
    #[serde(serialize_with = "all_in_seconds")]
    pub presses: Vec<Moment>,
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

/// One entry of the books that should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DropTruth {
    /// When the piece, or the first of a load, landed.
    #[serde(serialize_with = "in_seconds")]
    pub at: Moment,
    /// Negative for what was taken out.
    #[serde(serialize_with = "in_grams")]
    pub grams: Mass,
    /// The bin that it truly went into.
    pub bin: Option<u32>,
    /// The program was told that bin. Where it was told another or none, the piece may also be without a bin; in
    /// another it must not be.
    pub sure: bool,
}

/// A bin that was set down, and what it weighed; or what its content had become without being seen, signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SwapTruth {
    #[serde(serialize_with = "in_seconds")]
    pub at: Moment,
    pub bin: u32,
    #[serde(serialize_with = "in_grams")]
    pub grams: Mass,
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
        let walk = Walk::of(setup, script);
        let mut bins: Vec<BinTruth> = Vec::new();
        let mut unassigned = Mass::ZERO;
        for drop in &walk.drops {
            let Some(number) = drop.bin.filter(|_| drop.sure) else {
                unassigned += drop.grams;
                continue;
            };
            let at = bins.partition_point(|bin| bin.bin < number);
            if bins.get(at).is_none_or(|bin| bin.bin != number) {
                bins.insert(at, BinTruth { bin: number, drops: 0, grams: Mass::ZERO });
            }
            bins[at].drops += u32::from(!drop.grams.is_negative());
            bins[at].grams += drop.grams;
        }
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
            drops: walk.drops,
            bins,
            unassigned,
            swaps: walk.swaps,
            unseen: walk.unseen,
            intakes: walk.intakes,
            presses: walk.presses,
        }
    }

    /// As text, indented.
    pub fn to_json(&self) -> String {
        // Plain numbers and texts with fixed keys: there is nothing in it that JSON cannot say.
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// The file is for a scorer that reckons in plain numbers; the exact mass stays in the program.
fn in_grams<S: Serializer>(mass: &Mass, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(grams(*mass))
}

fn in_seconds<S: Serializer>(at: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(at.0 as f64 / 1e9)
}

fn all_in_seconds<S: Serializer>(moments: &[Moment], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(moments.iter().map(|at| at.0 as f64 / 1e9))
}

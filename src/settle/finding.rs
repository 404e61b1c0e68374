//! What the settling of readings finds: epochs, rests, steps and what became of them.

use crate::dialect::{Kind, Reading};
use crate::measure::{Displayed, Mass, Moment, Unit};
use serde::{Deserialize, Serialize};

/// How the person weighs. The program may suggest another manner; it never changes it by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Manner {
    /// The bin stands on the scale and pieces are dropped into it.
    #[default]
    Heap,
    /// Pieces pile up in a tray that is tipped into the bin and set back.
    Tray,
    /// One load is put on, weighed and taken off.
    Pan,
    /// A mixed pile lies on the pan and is sorted from it; each decrease is a drop.
    Sort,
}

/// Why the readings from here on belong together and not with those before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EpochCause {
    /// The first reading after a start or a reconnect.
    Link,
    PowerUp,
    Zeroed,
    Tared,
    /// The unit, the kind, the decimals or the division changed.
    Display,
}

/// A stretch in which the load was settled. Its value is one that the scale displayed, or, where the display never
/// stands still, an average to a tenth of a division that [`Finding::Averaged`] follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rest {
    pub load: Mass,
    /// As sent; for an average the nearest value that the display can count to.
    pub shown: Displayed,
    pub unit: Unit,
    /// When the load came to rest.
    pub since: Moment,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Act {
    Added,
    Removed,
    /// The platform is back at the epoch's empty level within two divisions.
    Cleared,
}

/// The change from one rest to the next. `delta` is exactly `to.load - from.load`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// Counts from 1 within its epoch.
    pub number: u32,
    pub act: Act,
    pub delta: Mass,
    /// When the load began to change: the bin and the leg in force at this moment own the step.
    pub landed: Moment,
    /// When the new rest was recognised, within a division and a half of what it is now known to be.
    pub recognised: Moment,
    pub from: Rest,
    pub to: Rest,
}

/// One thing that settling found, in the order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Finding {
    /// A new epoch. Nothing before it is compared with anything after it.
    EpochOpened { at: Moment, cause: EpochCause, unit: Unit, kind: Kind, division: Mass },
    /// The first rest of an epoch, or the platform at rest again where no step was made of it.
    Rested { at: Moment, rest: Rest },
    /// A step, provisional until one of the next two tells what became of it.
    Stepped(Step),
    /// The step stands: another rest followed, or it lasted long enough.
    Confirmed { at: Moment, number: u32 },
    /// The load went back to the rest before the step, as a resting hand's does: it was no material.
    Cancelled { at: Moment, number: u32 },
    /// The rest that was just told is an average, since the display never stands still; this is its standard
    /// uncertainty.
    Averaged { at: Moment, uncertainty: Mass },
    /// A scale that prints one line a load printed the same load again: another piece of the same weight, or the
    /// print key pressed twice. No step; whoever attributes keeps it as doubtful and asks.
    Repeated { at: Moment, rest: Rest },
    /// What the person should do at this bench; told rarely.
    Advise { at: Moment, advice: Advice },
    /// The epoch is over: what it kept under one division, and the drift that it forgave.
    EpochClosed { at: Moment, pending: Mass, forgiven: Mass },
}

/// What settling advises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// Pieces of a few divisions come on near the display's zero, where the scale's own zero tracking swallows them:
    /// a container that stays on the platform keeps the load away from zero.
    TareContainer,
}

/// What the platform looks like at this moment, for the live page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Glance {
    pub reading: Reading,
    pub at: Moment,
    /// The program's own verdict, not the scale's.
    pub settled: bool,
}

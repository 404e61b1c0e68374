//! What is made of a load: how it is known, what became of it, what a correction says that it was.

use serde::{Deserialize, Serialize};

/// What became of the load between two epochs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bridge {
    /// What stood there still weighs the same, or was zeroed or tared away under our eyes.
    SameLoad,
    /// The platform is empty.
    Empty,
    /// Something stands there of which nothing is known: weighing goes on by differences, and it is asked.
    Unknown,
}

/// How it is known which bin was set down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum KnownBy {
    /// It was chosen, and weighs what it should.
    Choice,
    /// Nothing speaks against it but that nobody chose it: it alone weighs what was seen of it last. It is announced.
    Weight,
    /// It was chosen and had never been weighed: this weight less what is booked is taken for its tare.
    FirstSight,
    /// Somebody said afterwards that it was this bin.
    Told,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confirmation {
    /// The load stayed, or another rest followed.
    Stayed,
    /// The load was taken off the pan.
    PanCleared,
    /// The tray came back from the bin.
    TrayReturned,
    /// The epoch ended while it lay there.
    EpochEnded,
    /// The program started again and found it open.
    Restart,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cancellation {
    /// The load went back to the rest before: a hand, not material.
    WentBack,
    /// The person said that it was the bin itself that was set down.
    WasTheBin,
}

/// What a voided drop really was. The metal in the bin is not moved by a void.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Void {
    NeverMaterial,
    /// It is being taken out now: the next removal of its size closes it and is not counted again.
    TakenOutNow,
}

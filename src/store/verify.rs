//! Looking a store over without touching it.

use super::disk::Disk;
use super::fault::StoreFault;
use super::fold;
use super::note::{Health, Note};
use super::open::{notes_of, reasons_of};
use super::roll_dir;
use crate::facts::StoreId;
use std::path::Path;

/// What was found. Every line of the roll was read and its checksum, its place in the chain and its fit were tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    pub store: Option<StoreId>,
    /// The last event that counts, and the hash of its line.
    pub head: u64,
    pub hash: Option<String>,
    pub segments: u64,
    pub bytes: u64,
    pub notes: Vec<Note>,
    pub state: Health,
}

/// Verifies the roll. It may be done while a daemon runs; what that is writing shows as an unfinished write.
pub fn verify(dir: &Path, disk: &dyn Disk) -> Result<Report, StoreFault> {
    let folded = fold::fold_until(disk, &roll_dir(dir), u64::MAX)?;
    let survey = &folded.survey;
    let mut state = Health::Sound;
    for reason in reasons_of(survey, &folded.misfit) {
        state.add(reason);
    }
    Ok(Report {
        store: survey.store,
        head: survey.head(),
        hash: survey.hash_at(survey.head()).map(|hash| hash.to_string()),
        segments: survey.segments.len() as u64,
        bytes: survey.segments.iter().map(|segment| segment.size).sum(),
        notes: notes_of(survey),
        state,
    })
}

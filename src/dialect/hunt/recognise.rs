//! Which family a whole input belongs to.

use super::candidate::Reason;
use super::line::Char;
use super::scorer::{Judgement, Scorer};
use crate::dialect::{Dialect, Options};

/// Why no family was chosen.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Doubt {
    #[error("no frame family fits these bytes")]
    NoneFits,
    #[error("{} fits, but only {run} frames in a row agree and {needed} are needed", dialect.name())]
    TooFew { dialect: Dialect, run: u32, needed: u32 },
    #[error("{} and {} both fit", .0.name(), .1.name())]
    TwoFit(Dialect, Dialect),
    #[error("these frames prove nothing by themselves, such as plain numbers: their family is never taken without being named")]
    MustBeNamed,
}

/// So many bytes are looked at: thousands of frames, and no long wait for a long recording.
const LOOKED_AT: usize = 64 << 10;

/// The one family that the scorer would lock on, given the first 64 KiB and a silence after them.
pub fn recognise(bytes: &[u8], options: &Options) -> Result<Dialect, Doubt> {
    let mut scorer = Scorer::new(*options);
    bytes.iter().take(LOOKED_AT).for_each(|&byte| scorer.push(Char::sound(byte)));
    scorer.silence();
    match scorer.conclude() {
        Judgement::Locked(dialect) => return Ok(dialect),
        Judgement::Ambiguous(fit) => return Err(Doubt::TwoFit(fit[0], fit[1])),
        Judgement::Silent | Judgement::Open | Judgement::Confirm(_) => {}
    }
    let candidates = scorer.candidates();
    let mut nearest = None;
    for candidate in candidates.iter().filter(|candidate| candidate.frames > 0) {
        let Some(needed) = candidate.dialect.facts().lock_after else { continue };
        if nearest.is_none_or(|(_, run, _)| candidate.frames > run) {
            nearest = Some((candidate.dialect, candidate.frames, needed));
        }
    }
    let weak = || candidates.iter().any(|candidate| candidate.reasons.contains(&Reason::ProvesNothing));
    Err(match nearest {
        Some((dialect, run, needed)) => Doubt::TooFew { dialect, run, needed },
        None if weak() => Doubt::MustBeNamed,
        None => Doubt::NoneFits,
    })
}

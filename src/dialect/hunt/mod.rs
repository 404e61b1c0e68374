//! Finding out what an unknown scale sends: pure, fed with characters and times.
//!
//! [`Scorer`] tries every family on the same bytes and says what is proved, what is open and what a person must
//! confirm. [`Hunter`] walks the speeds around it. Neither ever writes to a scale.

mod alphabet;
mod candidate;
mod confusions;
mod hunter;
mod line;
mod recognise;
mod scorer;
mod walk;

pub use alphabet::Factor;
pub use candidate::{Candidate, Reason};
pub use confusions::confused;
pub use hunter::{Hunter, Moved, Start, Step};
pub use line::{Char, LineFault, Picture};
pub use recognise::{Doubt, recognise};
pub use scorer::{Judgement, RAW_KEPT, Scorer};
pub use walk::SPEEDS;

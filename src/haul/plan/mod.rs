//! Which bins to which buyers, in which order of stops, so that value less trip is greatest.
//!
//! The choice is made by the exact difference, to a billionth of the currency; what is shown is rounded once a line, as a
//! ticket is. Floating point stays inside the solver: what it proposes is priced again here, and what does not hold
//! exactly is cut off and solved again.

mod bound;
mod lots;
mod price;
mod problem;
mod rules;
mod search;
mod solver;
mod tour;

pub use price::{Line, Plan, holds, priced};
pub use problem::{Item, Pin, Place, Problem, Reach, Vehicle};
pub use rules::Rule;
pub use search::{Answer, Best, Budget, Progress, nearest, solve};
pub use tour::PLACES_MAX;

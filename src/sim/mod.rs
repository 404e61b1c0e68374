//! A simulated scale and the person at it: seeded, so that the same seed gives the same bytes, and with the truth of
//! what was really put on.

mod cell;
mod indicator;
mod kind;
#[cfg(test)]
mod kind_tests;
mod kinds;
mod maker;
mod platform;
mod scale;
mod scenario;
mod script;
mod session;
mod setup;
mod shaking;
mod speech;
#[cfg(test)]
mod tests;
mod truth;
mod walk;

pub use kind::Kind;
pub use scale::{Frame, Scale, What};
pub use scenario::{BadScenario, Scenario};
pub use script::{Act, Deed, Script};
pub use setup::{BadSetup, Filter, Flag, Mode, Setup};
pub use speech::fluent;
pub use truth::{ActionTruth, BinTruth, ControlTruth, DropTruth, RestTruth, SwapTruth, Truth};

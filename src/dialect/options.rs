//! What the person says about a scale because its frames do not.

use super::Census;
use crate::measure::Unit;

/// What a dialect needs to be told. Nothing of it is ever guessed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// The unit where the frame states none, or only a letter that two makers use differently. Readings stay
    /// [`super::ReadUnit::Unstated`]: who takes the mass applies this unit and can say that it was configured.
    pub unit: Option<Unit>,
    /// A comma may stand for the decimal point.
    pub comma: bool,
    /// How many of the digits are decimals where the scale sends no point.
    pub decimals: Option<u8>,
    /// The bytes begin in the middle of a stream: a format without a start mark loses its first frame.
    pub joined: bool,
    pub census: Census,
}

/// Why a dialect cannot say a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unsayable {
    #[error("the value needs more digits than the frame has columns for")]
    TooWide,
    #[error("the frame cannot place the decimal point there")]
    Point,
    #[error("the frame has no place for a minus")]
    Sign,
    #[error("the frame has no word for this unit")]
    Unit,
    #[error("the frame has no word for this kind of weight")]
    Kind,
    #[error("the frame must say stable or moving")]
    Stability,
    #[error("the frame has no word for this division")]
    Division,
    #[error("the frame has no word for this mark")]
    Mark,
    #[error("the frame has no word for this event")]
    News,
    #[error("there is neither a weight nor a reason why there is none")]
    Nothing,
}

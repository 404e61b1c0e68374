//! The index: sled beside the roll, for questions over the long past. Everything in it can be made anew from the roll.

mod aside;
mod check;
mod code;
mod derive;
mod reader;
mod trees;

pub use aside::{move_aside, move_leftovers};
pub use check::{CheckFault, Verdict, check, surplus};
pub use derive::{Changes, DayTotal, Row, Total, touched};
pub use reader::{Answer, IndexReader, ROWS_MAX, Shared, State};
pub use trees::{Applied, EachLine, IndexFault, Trees, guarded};

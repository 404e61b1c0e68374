//! The pages. They work without script but for the live weight, by keyboard, in light and dark, and on paper.

mod bench;
mod bins;
mod check_plot;
mod checks;
mod density;
mod feeds;
mod frame;
mod grades;
mod hour;
mod hour_plot;
mod kerb;
mod marks;
mod price_history;
mod prices;
mod questions;
mod report;
mod round;
mod trial;
mod week;
mod wire;

pub use bench::{Beside, bench};
pub use bins::bins;
pub use checks::{CheckPlace, checks};
pub use density::{DensityFields, density};
pub use feeds::{FEEDS, FeedsBeside, feeds};
pub use frame::{Frame, LIVE_SCRIPT, STYLE, STYLE_PATH};
pub use grades::{GRADES, grades};
pub use hour::{HOUR, hour};
pub use kerb::{KERB, kerb, kerb_file};
pub use price_history::{HistoryAsked, PRICE_HISTORY, price_history};
pub use prices::{GRID_COLUMNS, GridBeside, PRICES, Typed, grid_field, prices};
pub use report::yard_run;
pub use round::{ROUND, round};
pub use trial::countdown;
pub use week::{WEEK, week};
pub use wire::{WIRE, WireBeside, wire};

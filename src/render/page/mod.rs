//! The pages. They work without script but for the live weight, by keyboard, in light and dark, and on paper.

mod bench;
mod bins;
mod check_plot;
mod checks;
mod density;
mod feeds;
mod frame;
mod hour;
mod hour_plot;
mod questions;
mod report;
mod tickets;
mod trial;
mod week;

pub use bench::{Beside, bench};
pub use bins::bins;
pub use checks::{CheckPlace, checks};
pub use density::{DensityFields, density};
pub use feeds::{FEEDS, FeedsBeside, feeds};
pub use frame::{Frame, LIVE_SCRIPT, STYLE, STYLE_PATH};
pub use hour::{HOUR, hour};
pub use report::yard_run;
pub use tickets::{LINE_COLUMNS, TICKET_LINES, TICKETS, TicketsBeside, ticket, tickets};
pub use trial::countdown;
pub use week::{WEEK, week};

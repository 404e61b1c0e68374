//! Small plots in SVG, drawn for a page: values over days, and values by name.
//!
//! Figures stay exact up to the paper: a decimal is placed on a whole tenth of a pixel, and what a decimal cannot place is
//! left out of the plot, never out of the table that stands beside each. Colours are classes of the style sheet, so that
//! dark and print work, and nothing is told by colour alone: series differ by mark and dash too. Title and description are
//! there for who does not see the plot.

mod days;
mod draw;
mod rows;
mod scale;
#[cfg(test)]
mod tests;

pub use days::{Band, Mark, OverDays, Point, Series, Shape, Size};
pub use rows::{ByName, Named};

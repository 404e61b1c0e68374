//! Values by name, one a row, with their intervals.

use super::draw::{block, dot, line, paper, text, whisker};
use super::scale::Scale;
use maud::{Markup, html};
use rust_decimal::Decimal;

#[derive(Debug, Clone)]
pub struct ByName {
    /// Letters and digits, once on a page.
    pub id: String,
    pub title: String,
    /// What it shows, for who does not see it.
    pub about: String,
    /// Written at the end of the figures: `EUR an hour`.
    pub unit: String,
    pub rows: Vec<Named>,
    /// A value that all are held against, with a word for it.
    pub line: Option<(Decimal, String)>,
}

#[derive(Debug, Clone)]
pub struct Named {
    pub name: String,
    /// None where there is no figure, which is said.
    pub value: Option<Decimal>,
    pub interval: Option<(Decimal, Decimal)>,
    /// Written at the row.
    pub words: String,
}

/// In tenths of a pixel.
const WIDE: i64 = 7200;
const LEFT: i64 = 100;
const RIGHT: i64 = 7100;
const ROW: i64 = 600;
const TOP: i64 = 300;

impl ByName {
    /// Nothing where no row has a value.
    pub fn draw(&self) -> Markup {
        let valued = || self.rows.iter().filter_map(|row| Some((row, row.value?)));
        let held = self.line.as_ref().map(|(value, _)| *value);
        let interval = |row: &Named| row.interval.map_or([None; 2], |(low, high)| [Some(low), Some(high)]);
        let values = valued().flat_map(|(row, value)| interval(row).into_iter().flatten().chain([value]));
        let scale = Scale::over(values.chain(held).chain([Decimal::ZERO]), 7, LEFT, RIGHT);
        let Some(scale) = scale.filter(|_| valued().next().is_some()) else { return html! {} };
        let bottom = TOP + ROW * self.rows.len() as i64;
        let inside = html! {
            @for (place, figure) in scale.ticks() {
                (line("grid", (place, TOP), (place, bottom)))
                (text("middle", (place, bottom + 210), &figure))
            }
            (line("axis", (scale.base(), TOP), (scale.base(), bottom)))
            (text("end", (RIGHT, bottom + 380), &self.unit))
            @for (index, row) in self.rows.iter().enumerate() { (one(&scale, TOP + ROW * index as i64, row)) }
            @if let Some((value, words)) = &self.line { @if let Some(place) = scale.place(*value) {
                (line("marked", (place, TOP - 60), (place, bottom)))
                (text(if place > WIDE / 2 { "end" } else { "start" }, (place, TOP - 120), words))
            } }
        };
        paper(&self.id, (WIDE, bottom + 480), &self.title, &self.about, inside)
    }
}

/// The name over the bar, so that a long one has room.
fn one(scale: &Scale, top: i64, row: &Named) -> Markup {
    let middle = top + 410;
    html! {
        (text("start", (LEFT, top + 210), &format!("{}: {}", row.name, row.words)))
        @if let Some(place) = row.value.and_then(|value| scale.place(value)) {
            (block("bar hue0 pale", (scale.base(), middle - 110), (place, middle + 110), ""))
            @if let Some((Some(low), Some(high))) = row.interval.map(|(low, high)| (scale.place(low), scale.place(high))) {
                (whisker((low, middle), (high, middle)))
            }
            (dot(0, (place, middle), &row.words))
        }
    }
}

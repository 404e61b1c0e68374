//! Values over days: bars, marks, lines and steps, with intervals, bands and marked days.

use super::draw::{block, dot, line, paper, path, text, whisker};
use super::scale::Scale;
use jiff::civil::{Date, Weekday};
use maud::{Markup, html};
use rust_decimal::Decimal;

#[derive(Debug, Clone)]
pub struct OverDays {
    /// Letters and digits, once on a page.
    pub id: String,
    pub title: String,
    /// What it shows, for who does not see it.
    pub about: String,
    /// Written at the head of the figures: `kg`, `EUR/kg`.
    pub unit: String,
    pub from: Date,
    /// The last day, shown too.
    pub to: Date,
    pub series: Vec<Series>,
    pub bands: Vec<Band>,
    pub marks: Vec<Mark>,
    pub size: Size,
    /// The figures reach at least so far: plots that stand side by side are compared.
    pub reach: Option<Decimal>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    Full,
    /// One of several side by side.
    Small,
}

#[derive(Debug, Clone)]
pub struct Series {
    pub name: String,
    pub shape: Shape,
    /// In the order of their days.
    pub points: Vec<Point>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    Bars,
    Points,
    Line,
    /// Each value holds until the next, the last until the end.
    Steps,
}

#[derive(Debug, Clone)]
pub struct Point {
    pub day: Date,
    pub value: Decimal,
    pub interval: Option<(Decimal, Decimal)>,
    /// Shown when it is pointed at.
    pub note: String,
}

/// What lies between two values from one day to another.
#[derive(Debug, Clone)]
pub struct Band {
    pub from: Date,
    pub to: Date,
    pub low: Decimal,
    pub high: Decimal,
}

/// A day on which something happened.
#[derive(Debug, Clone)]
pub struct Mark {
    pub day: Date,
    pub words: String,
}

/// Where things stand on the paper, in tenths of a pixel.
struct Room {
    wide: i64,
    left: i64,
    right: i64,
    top: i64,
    bottom: i64,
}

/// The height of a line of the legend and of the days.
const LINE: i64 = 200;

impl OverDays {
    /// Nothing where there is no value that can be drawn.
    pub fn draw(&self) -> Markup {
        let room = self.room();
        let steps = if self.size == Size::Full { 6 } else { 3 };
        let Some(scale) = Scale::over(self.values(), steps, room.bottom, room.top) else { return html! {} };
        let legend: Vec<&Series> = if self.series.len() > 1 { self.series.iter().collect() } else { Vec::new() };
        let high = room.bottom + LINE * (2 + legend.len() as i64);
        let inside = html! {
            @for band in &self.bands { (self.band(&room, &scale, band)) }
            (text("start", (0, room.top - 120), &self.unit))
            @for (place, figure) in scale.ticks() {
                (line("grid", (room.left, place), (room.right, place)))
                (text("end", (room.left - 60, place + 45), &figure))
            }
            @for (place, day) in self.days(&room) { (text("middle", (place, room.bottom + 210), &day)) }
            (line("axis", (room.left, scale.base()), (room.right, scale.base())))
            @for (row, mark) in self.marks.iter().filter(|mark| self.shows(mark.day)).enumerate() {
                (marked(self.across(&room, mark.day), &room, row as i64, &mark.words))
            }
            @for (hue, series) in self.series.iter().enumerate() { (self.series(&room, &scale, hue, series)) }
            @for (hue, series) in legend.iter().enumerate() {
                (explained(&room, room.bottom + LINE * (2 + hue as i64), hue, series))
            }
        };
        paper(&self.id, (room.wide, high), &self.title, &self.about, inside)
    }

    fn room(&self) -> Room {
        match self.size {
            Size::Full => Room { wide: 7200, left: 700, right: 7100, top: 300, bottom: 2800 },
            Size::Small => Room { wide: 3200, left: 600, right: 3150, top: 300, bottom: 1300 },
        }
    }

    fn shows(&self, day: Date) -> bool {
        (self.from..=self.to).contains(&day)
    }

    /// Every value that must have a place.
    fn values(&self) -> impl Iterator<Item = Decimal> + Clone {
        let points = self.series.iter().flat_map(|series| &series.points).filter(|point| self.shows(point.day));
        let each = |point: &Point| {
            let (low, high) = point.interval.unwrap_or((point.value, point.value));
            [point.value, low, high]
        };
        let bars = self.series.iter().any(|series| series.shape == Shape::Bars);
        let nothing = bars.then_some(Decimal::ZERO);
        let bands = self.bands.iter().flat_map(|band| [band.low, band.high]);
        points.flat_map(each).chain(bands).chain(nothing).chain(self.reach)
    }

    fn count(&self) -> i64 {
        i64::from((self.to - self.from).get_days()).max(0) + 1
    }

    /// The middle of a day.
    fn across(&self, room: &Room, day: Date) -> i64 {
        let index = i64::from((day - self.from).get_days());
        room.left + (room.right - room.left) * (2 * index + 1) / (2 * self.count())
    }

    fn days(&self, room: &Room) -> Vec<(i64, String)> {
        let few = self.count() <= 10;
        let written = |day: Date| match (few, self.size) {
            (true, Size::Full) => format!("{} {}", weekday(day), day.day()),
            (true, Size::Small) => weekday(day).to_owned(),
            _ => day.to_string(),
        };
        let most = match (few, self.size) {
            (true, _) => 10,
            (false, Size::Full) => 6,
            (false, Size::Small) => 2,
        };
        let step = (self.count() as usize).div_ceil(most);
        self.from
            .series(jiff::Span::new().days(step as i64))
            .take_while(|day| *day <= self.to)
            .map(|day| (self.across(room, day), written(day)))
            .collect()
    }

    fn band(&self, room: &Room, scale: &Scale, band: &Band) -> Markup {
        let (from, to) = (band.from.max(self.from), band.to.min(self.to));
        let (Some(low), Some(high)) = (scale.place(band.low), scale.place(band.high)) else { return html! {} };
        if from > to {
            return html! {};
        }
        let half = (room.right - room.left) / (2 * self.count());
        block("band", (self.across(room, from) - half, low), (self.across(room, to) + half, high), "")
    }

    fn series(&self, room: &Room, scale: &Scale, hue: usize, series: &Series) -> Markup {
        let shown = series.points.iter().filter(|point| self.shows(point.day));
        let placed: Vec<(i64, i64, &Point)> =
            shown.filter_map(|point| Some((self.across(room, point.day), scale.place(point.value)?, point))).collect();
        let through: Vec<(i64, i64)> = match series.shape {
            Shape::Bars | Shape::Points => Vec::new(),
            Shape::Line => placed.iter().map(|(x, y, _)| (*x, *y)).collect(),
            Shape::Steps => {
                let next = placed.iter().skip(1).map(|(x, ..)| *x).chain([room.right]);
                placed.iter().zip(next).flat_map(|((x, y, _), next)| [(*x, *y), (next, *y)]).collect()
            }
        };
        html! {
            @if through.len() > 1 { (path(hue, &through)) }
            @for (x, y, point) in &placed {
                @match series.shape {
                    Shape::Bars => (self.bar(room, scale, hue, (*x, *y), point)),
                    _ => (dot(hue, (*x, *y), &point.note)),
                }
                @if let Some((low, high)) = point.interval {
                    @if let (Some(low), Some(high)) = (scale.place(low), scale.place(high)) { (whisker((*x, low), (*x, high))) }
                }
            }
        }
    }

    /// Two thirds of a day wide at most; bars of several series share it.
    fn bar(&self, room: &Room, scale: &Scale, hue: usize, (x, y): (i64, i64), point: &Point) -> Markup {
        let series = self.series.iter().filter(|series| series.shape == Shape::Bars).count().max(1) as i64;
        let day = (room.right - room.left) * 2 / (3 * self.count());
        let wide = (day / series).max(10);
        let before = self.series.iter().take(hue).filter(|series| series.shape == Shape::Bars).count() as i64;
        let left = x - day / 2 + before * wide;
        block(&format!("bar hue{}", hue % super::draw::HUES), (left, scale.base()), (left + wide, y), &point.note)
    }
}

/// Each on a row of its own: two days may lie close to each other.
fn marked(x: i64, room: &Room, row: i64, words: &str) -> Markup {
    let late = x > (room.left + room.right) / 2;
    let (anchor, beside) = if late { ("end", x - 60) } else { ("start", x + 60) };
    html! { (line("marked", (x, room.top - 60), (x, room.bottom))) (text(anchor, (beside, room.top + 60 + row * LINE), words)) }
}

fn explained(room: &Room, y: i64, hue: usize, series: &Series) -> Markup {
    let sample = [(room.left, y + 100), (room.left + 400, y + 100)];
    html! {
        @match series.shape {
            Shape::Bars => (block(&format!("bar hue{}", hue % super::draw::HUES), (room.left, y + 50), (room.left + 400, y + 150), "")),
            Shape::Points => (dot(hue, (room.left + 200, y + 100), "")),
            Shape::Line | Shape::Steps => { (path(hue, &sample)) (dot(hue, (room.left + 200, y + 100), "")) },
        }
        (text("start", (room.left + 520, y + 145), &series.name))
    }
}

fn weekday(day: Date) -> &'static str {
    match day.weekday() {
        Weekday::Monday => "Mon",
        Weekday::Tuesday => "Tue",
        Weekday::Wednesday => "Wed",
        Weekday::Thursday => "Thu",
        Weekday::Friday => "Fri",
        Weekday::Saturday => "Sat",
        Weekday::Sunday => "Sun",
    }
}

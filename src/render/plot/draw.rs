//! What plots are drawn with. Places are tenths of a pixel.

use maud::{Markup, html};

/// A tenth of a pixel, written in pixels.
pub fn px(tenths: i64) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    let (whole, part) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    if part == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") }
}

/// A plot of so many tenths of a pixel, with what it shows said in words.
pub fn paper(id: &str, (wide, high): (i64, i64), title: &str, about: &str, inside: Markup) -> Markup {
    let view = format!("0 0 {} {}", px(wide), px(high));
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(view) role="img" aria-labelledby={ (id) "-title " (id) "-about" } {
            title id={ (id) "-title" } { (title) }
            desc id={ (id) "-about" } { (about) }
            (inside)
        }
    }
}

pub fn line(class: &str, from: (i64, i64), to: (i64, i64)) -> Markup {
    html! { line class=(class) x1=(px(from.0)) y1=(px(from.1)) x2=(px(to.0)) y2=(px(to.1)) {} }
}

/// Two corners, in any order.
pub fn block(class: &str, one: (i64, i64), other: (i64, i64), note: &str) -> Markup {
    let (x, y) = (one.0.min(other.0), one.1.min(other.1));
    let (wide, high) = ((one.0 - other.0).abs(), (one.1 - other.1).abs());
    html! {
        rect class=(class) x=(px(x)) y=(px(y)) width=(px(wide)) height=(px(high)) { @if !note.is_empty() { title { (note) } } }
    }
}

/// `anchor` is `start`, `middle` or `end`.
pub fn text(anchor: &str, at: (i64, i64), words: &str) -> Markup {
    html! { text x=(px(at.0)) y=(px(at.1)) text-anchor=(anchor) { (words) } }
}

/// The mark of a series: each of the first six is another shape.
pub fn dot(hue: usize, (x, y): (i64, i64), note: &str) -> Markup {
    const REACH: i64 = 50;
    let class = format!("dot hue{}", hue % HUES);
    let corners = |corners: &[(i64, i64)]| {
        let points: Vec<String> =
            corners.iter().map(|(across, up)| format!("{},{}", px(x + across * REACH / 5), px(y + up * REACH / 5))).collect();
        points.join(" ")
    };
    let shape: &[(i64, i64)] = match hue % HUES {
        0 => {
            return html! { circle class=(class) cx=(px(x)) cy=(px(y)) r=(px(REACH)) { @if !note.is_empty() { title { (note) } } } };
        }
        1 => &[(-4, -4), (4, -4), (4, 4), (-4, 4)],
        2 => &[(0, -6), (5, 4), (-5, 4)],
        3 => &[(0, -6), (6, 0), (0, 6), (-6, 0)],
        4 => &[(-5, -4), (5, -4), (0, 6)],
        _ => &[(-2, -5), (2, -5), (2, -2), (5, -2), (5, 2), (2, 2), (2, 5), (-2, 5), (-2, 2), (-5, 2), (-5, -2), (-2, -2)],
    };
    html! { polygon class=(class) points=(corners(shape)) { @if !note.is_empty() { title { (note) } } } }
}

/// Colours, marks and dashes there are.
pub const HUES: usize = 6;

/// From one end of an interval to the other, with its ends marked.
pub fn whisker(low: (i64, i64), high: (i64, i64)) -> Markup {
    const END: i64 = 40;
    let end = |(x, y): (i64, i64)| {
        if low.0 == high.0 { line("whisker", (x - END, y), (x + END, y)) } else { line("whisker", (x, y - END), (x, y + END)) }
    };
    html! { (line("whisker", low, high)) (end(low)) (end(high)) }
}

/// A line through all of them.
pub fn path(hue: usize, through: &[(i64, i64)]) -> Markup {
    let points: Vec<String> = through.iter().map(|(x, y)| format!("{},{}", px(*x), px(*y))).collect();
    html! { polyline class={ "path hue" (hue % HUES) } points=(points.join(" ")) {} }
}

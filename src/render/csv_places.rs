//! The kerb list and the round through the stock as CSV (RFC 4180).

use super::csv::{text, write};
use super::json::{KerbView, RoundView};

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

fn yes(is: bool) -> String {
    if is { "yes".into() } else { "no".into() }
}

/// A line a feed, in its order.
pub fn kerb(list: &KerbView) -> String {
    let head = [
        "feed",
        "depth",
        "when",
        "adds_per_hour",
        "adds_low",
        "adds_high",
        "currency",
        "closed_lots",
        "by_trial",
        "reason",
        "strain",
        "mess",
        "space",
        "veto",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(list.lines.iter().map(|line| {
        let figure = line.adds_per_hour.as_ref();
        vec![
            text(&line.feed),
            text(line.depth.as_deref().unwrap_or_default()),
            line.when.clone(),
            own(figure.map(|figure| &figure.value)),
            own(figure.and_then(|figure| figure.low.as_ref())),
            own(figure.and_then(|figure| figure.high.as_ref())),
            list.currency.clone(),
            line.closed_lots.to_string(),
            yes(line.by_trial),
            text(&line.reason),
            line.marks.strain.clone(),
            line.marks.mess.clone(),
            line.marks.space.clone(),
            text(line.marks.veto.as_deref().unwrap_or_default()),
        ]
    }));
    write(&rows)
}

/// A line a bin.
pub fn round(round: &RoundView) -> String {
    let head =
        ["bin", "name", "grade", "booked_kg", "booked_lb", "seen", "booked_then_kg", "looked", "days", "due", "open", "full"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(round.bins.iter().map(|bin| {
        vec![
            bin.number.to_string(),
            text(bin.name.as_deref().unwrap_or_default()),
            text(bin.grade.as_deref().unwrap_or_default()),
            bin.booked.kg.clone(),
            bin.booked.lb.clone(),
            own(bin.seen.as_ref()),
            own(bin.booked_then.as_ref().map(|mass| &mass.kg)),
            own(bin.looked.as_ref().map(|at| &at.time)),
            own(bin.days),
            yes(bin.due),
            yes(bin.open),
            yes(bin.full),
        ]
    }));
    write(&rows)
}

//! The price history as CSV.

use super::csv::{text, write};
use super::json::PriceHistoryView;

/// A line a price, oldest first within its series.
pub fn history(history: &PriceHistoryView) -> String {
    let head = [
        "grade",
        "buyer",
        "currency",
        "per",
        "day",
        "until",
        "amount",
        "exact",
        "given",
        "breaks",
        "minimum",
        "deduction_percent",
        "stale_from",
        "quote",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for series in &history.series {
        rows.extend(series.points.iter().map(|point| {
            vec![
                text(&series.grade),
                text(&series.buyer),
                series.currency.clone(),
                series.per.clone(),
                point.day.clone(),
                point.until.clone().unwrap_or_default(),
                point.amount.clone().unwrap_or_default(),
                if point.exact { "yes".into() } else { "no".into() },
                text(&point.given),
                text(&point.breaks),
                point.minimum.clone(),
                point.deduction_percent.clone().unwrap_or_default(),
                point.stale_from.clone().unwrap_or_default(),
                point.quote.to_string(),
            ]
        }));
    }
    write(&rows)
}

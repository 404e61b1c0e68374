//! The report on wire as CSV (RFC 4180) and for the terminal.

use super::csv::{text, write};
use super::json::{WireKindView, WireReportView};
use super::wire_words::verdict;

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

/// A line a kind of wire, then a line a sample that stands.
pub fn csv(report: &WireReportView) -> String {
    let head = [
        "wire",
        "metal",
        "line",
        "day",
        "insulated_kg",
        "bare_kg",
        "seconds",
        "samples",
        "recovery_percent",
        "recovery_low",
        "recovery_high",
        "uncertainty_percent",
        "buyer",
        "insulated_price_per_kg",
        "bare_price_per_kg",
        "stale",
        "gain_per_kg",
        "gain_per_kg_uncertainty",
        "kg_per_hour",
        "gain_per_hour",
        "gain_per_hour_uncertainty",
        "break_even_percent",
        "currency",
        "verdict",
        "reason",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let kind = |kind: &WireKindView| {
        let share = kind.recovery_percent.as_ref();
        vec![
            text(&kind.feed),
            text(&kind.metal),
            "kind".into(),
            report.day.clone(),
            kind.insulated.kg.clone(),
            kind.bare.kg.clone(),
            String::new(),
            kind.samples.to_string(),
            own(share.map(|share| &share.value)),
            own(share.and_then(|share| share.low.as_ref())),
            own(share.and_then(|share| share.high.as_ref())),
            own(kind.recovery_uncertainty_percent.as_ref()),
            text(kind.buyer.as_deref().unwrap_or_default()),
            own(kind.insulated_price_per_kg.as_ref()),
            own(kind.bare_price_per_kg.as_ref()),
            if kind.stale { "yes".into() } else { "no".into() },
            own(kind.gain_per_kg.as_ref()),
            own(kind.gain_per_kg_uncertainty.as_ref()),
            own(kind.kg_per_hour.as_ref()),
            own(kind.gain_per_hour.as_ref()),
            own(kind.gain_per_hour_uncertainty.as_ref()),
            own(kind.break_even_percent.as_ref()),
            report.currency.clone(),
            kind.verdict.clone(),
            text(&kind.reason),
        ]
    };
    rows.extend(report.kinds.iter().map(kind));
    rows.extend(report.samples.iter().filter(|sample| !sample.voided).map(|sample| {
        let mut row = vec![
            text(&sample.feed),
            text(&sample.metal),
            "sample".into(),
            sample.day.clone(),
            sample.insulated.kg.clone(),
            sample.bare.kg.clone(),
            own(sample.seconds),
        ];
        row.resize(head.len(), String::new());
        row
    }));
    write(&rows)
}

pub fn terminal(report: &WireReportView) -> String {
    let currency = &report.currency;
    let mut out = format!("Wire, {}\n{}\n", report.day, report.caution);
    if report.kinds.is_empty() {
        out.push_str("\nToo little data: no wire was sampled; a sample is told with: bismar wire sample\n");
    }
    for kind in &report.kinds {
        out.push_str(&format!("\n{} to {}: {}\n  {}\n", kind.feed, kind.metal, verdict(&kind.verdict), kind.reason));
        for turn in &kind.turns {
            out.push_str(&format!("  {turn}\n"));
        }
        if let (Some(share), Some(by)) = (&kind.recovery_percent, &kind.recovery_uncertainty_percent) {
            let interval = match (&share.low, &share.high) {
                (Some(low), Some(high)) => format!(" (95 %: {low} to {high})"),
                _ => String::new(),
            };
            out.push_str(&format!("  metal {} ± {by} % of {} kg{interval}\n", share.value, kind.insulated.kg));
        }
        let gains = [
            ("a kilogram", &kind.gain_per_kg, &kind.gain_per_kg_uncertainty),
            ("an hour", &kind.gain_per_hour, &kind.gain_per_hour_uncertainty),
        ];
        for (per, gain, by) in gains {
            if let (Some(gain), Some(by)) = (gain, by) {
                out.push_str(&format!("  {per} gains {gain} ± {by} {currency}\n"));
            }
        }
        for said in &kind.says {
            out.push_str(&format!("  {said}\n"));
        }
    }
    out.push('\n');
    for note in &report.notes {
        out.push_str(&format!("{note}\n"));
    }
    out
}

//! The report on places as CSV (RFC 4180) and for the terminal.

use super::csv::{text, write};
use super::json::{MoneyView, PlaceLineView, PlacesView};
use super::words_of_places::verdict;

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

/// A line a grade, in its order.
pub fn csv(report: &PlacesView) -> String {
    let head = [
        "grade",
        "coarser",
        "bins",
        "places",
        "verdict",
        "rank",
        "month_kg",
        "days",
        "collected_kg",
        "buyer",
        "own_price_per_kg",
        "coarser_price_per_kg",
        "stale",
        "sorting_minutes_a_month",
        "gain_a_month",
        "full_bin_kg",
        "full_learned",
        "full_bin_value",
        "days_to_fill",
        "taps",
        "wrong_piece_costs",
        "currency",
        "reason",
        "turns",
        "coarser_told",
    ];
    let yes = |is: bool| if is { "yes".to_owned() } else { "no".to_owned() };
    let amount = |money: &Option<MoneyView>| own(money.as_ref().map(|money| &money.amount));
    let row = |line: &PlaceLineView| {
        vec![
            text(&line.grade),
            text(line.coarser.as_deref().unwrap_or_default()),
            line.bins.iter().map(u32::to_string).collect::<Vec<_>>().join(" "),
            line.places.to_string(),
            line.verdict.clone(),
            own(line.rank),
            own(line.month.as_ref().map(|month| &month.kg)),
            line.days.to_string(),
            line.collected.kg.clone(),
            text(line.buyer.as_deref().unwrap_or_default()),
            own(line.own_price_per_kg.as_ref()),
            own(line.coarser_price_per_kg.as_ref()),
            yes(line.stale),
            own(line.sorting_minutes_a_month),
            amount(&line.gain_a_month),
            own(line.full_bin.as_ref().map(|full| &full.kg)),
            yes(line.full_learned),
            amount(&line.full_bin_value),
            own(line.days_to_fill.as_ref().map(|days| days.median)),
            own(line.days_to_fill.as_ref().map(|days| days.taps)),
            amount(&line.wrong_piece_costs),
            report.currency.clone(),
            text(&line.reason),
            text(&line.turns.join("; ")),
            yes(line.coarser_told),
        ]
    };
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(report.grades.iter().map(row));
    write(&rows)
}

pub fn terminal(report: &PlacesView) -> String {
    let mut out = format!("Which bins earn their place, {}\n", report.day);
    if report.grades.is_empty() {
        out.push_str("\nThere is no grade yet; one is made with: bismar grade make NAME\n");
    }
    for line in &report.grades {
        let rank = line.rank.map(|rank| format!("{rank}. ")).unwrap_or_default();
        out.push_str(&format!(
            "\n{rank}{}: {}\n  {}\n",
            line.grade,
            verdict(&line.verdict, line.coarser.as_deref()),
            line.reason
        ));
        if !line.turns.is_empty() {
            out.push_str(&format!("  it would change at {}\n", line.turns.join(", or at ")));
        }
        if let Some(month) = &line.month {
            out.push_str(&format!("  {} kg a month", month.kg));
            if let (Some(own), Some(coarser)) = (&line.own_price_per_kg, &line.coarser_price_per_kg) {
                let stale = if line.stale { "*" } else { "" };
                out.push_str(&format!(", {own}{stale} {} a kilogram against {coarser}", report.currency));
            }
            out.push('\n');
        }
        if let Some(full) = &line.full_bin {
            let value = line.full_bin_value.as_ref().map(|value| format!(", worth {} {}", value.amount, value.currency));
            let wrong =
                line.wrong_piece_costs.as_ref().map(|cost| format!("; one wrong piece costs {} at the worst", cost.amount));
            out.push_str(&format!(
                "  a full bin holds {} kg{}{}\n",
                full.kg,
                value.unwrap_or_default(),
                wrong.unwrap_or_default()
            ));
        }
        if let Some(days) = &line.days_to_fill {
            out.push_str(&format!(
                "  {} days to fill ({} to {}, {} taps)\n",
                days.median, days.shortest, days.longest, days.taps
            ));
        }
    }
    out.push('\n');
    for note in &report.notes {
        out.push_str(&format!("{note}\n"));
    }
    out
}

//! Tables as CSV (RFC 4180).
//!
//! A text cell that a spreadsheet would take for a formula is led by an apostrophe (CWE-1236); numbers stay numbers,
//! negative ones too.

use super::json::{BreakEvenView, DropView, FigureView, HourView, WeekView, YardRunView};
use super::place_words;

/// The yard-run report: a line a bin, then a line for what has no bin, then the total.
pub fn yard_run(report: &YardRunView) -> String {
    let mut head: Vec<String> =
        ["bin", "name", "grade", "kg", "lb", "uncertainty_kg", "drops", "filled_percent", "days_since_emptied", "pieces"]
            .map(str::to_owned)
            .to_vec();
    for buyer in &report.buyers {
        let label = text(&format!("{} {}", buyer.name, buyer.currency));
        head.extend([label.clone(), format!("{label} price"), format!("{label} quote day"), format!("{label} stale")]);
    }
    let mut rows = vec![head];
    for bin in &report.bins {
        let mut row = vec![
            bin.number.to_string(),
            text(bin.name.as_deref().unwrap_or_default()),
            text(bin.grade.as_deref().unwrap_or_default()),
            bin.mass.kg.clone(),
            bin.mass.lb.clone(),
            bin.uncertainty_kg.clone(),
            bin.drops.to_string(),
            bin.filled_percent.map(|percent| percent.to_string()).unwrap_or_default(),
            bin.days_since_emptied.map(|days| days.to_string()).unwrap_or_default(),
            bin.pieces.map(|pieces| pieces.to_string()).unwrap_or_default(),
        ];
        for offer in &bin.offers {
            row.extend(match offer {
                None => [const { String::new() }; 4],
                Some(offer) => [
                    offer.value.clone().unwrap_or_default(),
                    text(&format!("{}/{}", offer.price, offer.per)),
                    offer.quote_day.clone(),
                    if offer.stale { "yes".into() } else { "no".into() },
                ],
            });
        }
        rows.push(row);
    }
    let blank = 4;
    let loose = &report.unassigned;
    let mut row = vec![String::new(), "no bin yet".into(), String::new(), loose.mass.kg.clone(), loose.mass.lb.clone()];
    row.extend([String::new(), loose.drops.to_string(), String::new(), String::new(), String::new()]);
    row.extend(vec![String::new(); report.buyers.len() * blank]);
    rows.push(row);
    let mut row = vec![String::new(), "total in bins".into(), String::new(), report.total.kg.clone(), report.total.lb.clone()];
    row.extend([report.total_uncertainty_kg.clone(), String::new(), String::new(), String::new(), String::new()]);
    for total in &report.totals {
        let left_out = if total.left_out_bins == 0 { String::new() } else { format!("without {} kg", total.left_out_kg) };
        let cash = total.in_cash.as_ref().map(|cash| format!("in cash {cash}")).unwrap_or_default();
        row.extend([total.value.clone(), left_out, cash, String::new()]);
    }
    rows.push(row);
    for (name, uncertainty) in [
        ("from the scale's own error", &report.own_error.uncertainty_kg),
        ("total with the scale's own error", &report.own_error.with_readings_kg),
    ] {
        let mut row = vec![String::new(), name.into(), String::new(), String::new(), String::new()];
        row.extend([uncertainty.clone().unwrap_or_else(|| "not known".into())]);
        row.extend(vec![String::new(); 4]);
        row.extend(vec![String::new(); report.buyers.len() * blank]);
        rows.push(row);
    }
    write(&rows)
}

/// What came into each bin day by day: a line a bin, then one for all.
pub fn week(week: &WeekView) -> String {
    let mut head = vec!["bin".to_owned(), "name".into(), "grade".into()];
    head.extend(week.days.iter().map(|day| format!("{day} kg")));
    head.push("kg".into());
    let mut rows = vec![head];
    for bin in &week.bins {
        let own = |cell: &Option<String>| text(cell.as_deref().unwrap_or_default());
        let mut row = vec![bin.number.to_string(), own(&bin.name), own(&bin.grade)];
        row.extend(bin.days.iter().map(|mass| mass.kg.clone()));
        row.push(bin.total.kg.clone());
        rows.push(row);
    }
    let mut row = vec![String::new(), "all bins".into(), String::new()];
    row.extend(week.sums.iter().map(|mass| mass.kg.clone()));
    row.push(week.total.kg.clone());
    rows.push(row);
    write(&rows)
}

/// Drops, one a line.
pub fn drops(drops: &[DropView]) -> String {
    let head = ["drop", "time", "time_sure", "bench", "bin", "session", "grams", "kg", "lb", "state", "origin", "doubt"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let number = |number: Option<u64>| number.map(|number| number.to_string()).unwrap_or_default();
    rows.extend(drops.iter().map(|drop| {
        vec![
            drop.id.to_string(),
            drop.at.time.clone(),
            if drop.at.sure { "yes".into() } else { "no".into() },
            drop.bench.to_string(),
            number(drop.bin.map(u64::from)),
            number(drop.session),
            drop.mass.grams.clone(),
            drop.mass.kg.clone(),
            drop.mass.lb.clone(),
            drop.state.clone(),
            drop.origin.clone(),
            text(drop.doubt.as_deref().unwrap_or_default()),
        ]
    }));
    write(&rows)
}

/// What an hour is worth: a line a feed, then a line for each grade of it, then one for what is missing.
pub fn hour(report: &HourView) -> String {
    let head = [
        "feed",
        "line",
        "grade",
        "kg",
        "percent",
        "percent_low",
        "percent_high",
        "weighing_percent",
        "buyer",
        "price_per_kg",
        "quote_day",
        "stale",
        "value",
        "break_even_price_per_kg",
        "break_even_percent",
        "currency",
        "closed_lots",
        "open_lots",
        "hands_on_seconds",
        "adds_per_hour",
        "adds_low",
        "adds_high",
        "break_even_hours",
        "says",
        "depth",
        "pieces",
        "waited_seconds",
        "consumables",
        "disposal",
        "value_per_piece",
        "marks",
        "price_per_piece",
        "not_counted_kg",
        "charges",
        "break_even_price_per_piece",
    ];
    let parts = |figure: &Option<FigureView>| match figure {
        None => [const { String::new() }; 3],
        Some(figure) => [figure.value.clone(), figure.low.clone().unwrap_or_default(), figure.high.clone().unwrap_or_default()],
    };
    let even = |line: &Option<BreakEvenView>| {
        line.as_ref().map(|line| line.value.clone().unwrap_or_else(|| line.pays.clone())).unwrap_or_default()
    };
    let own = |cell: &Option<String>| cell.clone().unwrap_or_default();
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for feed in &report.feeds {
        let mut row = vec![text(&feed.feed), "feed".into(), String::new(), feed.intake.kg.clone()];
        row.extend(vec![String::new(); 11]);
        row.extend([report.currency.clone(), feed.closed_lots.to_string(), feed.open_lots.to_string()]);
        row.push(feed.hands_on_seconds.to_string());
        row.extend(parts(&feed.adds_per_hour));
        row.extend([even(&feed.break_even_hours), text(&feed.says.join("; "))]);
        let depth = text(feed.depth.as_deref().unwrap_or_default());
        row.extend([depth.clone(), feed.pieces.map(|pieces| pieces.to_string()).unwrap_or_default()]);
        row.extend([
            feed.waited_seconds.to_string(),
            feed.consumables.clone(),
            feed.disposal.clone(),
            own(&feed.value_per_piece),
            text(&place_words::marks_line(&feed.marks).unwrap_or_default()),
        ]);
        row.extend([String::new(), String::new(), feed.charges.clone(), String::new()]);
        rows.push(row);
        for grade in &feed.grades {
            let name = grade.grade.as_deref().unwrap_or("no grade yet");
            let mut row = vec![text(&feed.feed), "grade".into(), text(name), grade.mass.kg.clone()];
            row.extend(parts(&grade.percent));
            row.extend([own(&grade.weighing_percent), text(&own(&grade.buyer)), own(&grade.price_per_kg)]);
            row.extend([own(&grade.quote_day), if grade.stale { "yes".into() } else { "no".into() }, own(&grade.value)]);
            row.extend([even(&grade.break_even_price_per_kg), even(&grade.break_even_percent), report.currency.clone()]);
            row.extend(vec![String::new(); 8]);
            row.push(depth.clone());
            row.extend(vec![String::new(); 6]);
            let not_counted = grade.not_counted.as_ref().map(|mass| mass.kg.clone()).unwrap_or_default();
            row.extend([own(&grade.price_per_piece), not_counted, String::new(), even(&grade.break_even_price_per_piece)]);
            rows.push(row);
        }
        if let Some(loss) = &feed.loss {
            let mut row = vec![text(&feed.feed), "missing".into(), String::new(), loss.mass.kg.clone()];
            row.extend(parts(&loss.percent));
            row.push(own(&loss.weighing_percent));
            row.extend(vec![String::new(); 16]);
            row.push(depth);
            row.extend(vec![String::new(); 10]);
            rows.push(row);
        }
    }
    job(report, &mut rows);
    write(&rows)
}

/// The whole job, a line an amount and a line a stretch of hours; then the trials, each of them one sample.
fn job(report: &HourView, rows: &mut Vec<Vec<String>>) {
    let width = rows.first().map_or(0, Vec::len);
    let at = |name: &str| rows.first().and_then(|head| head.iter().position(|cell| cell == name)).unwrap_or_default();
    let (value, currency, hands_on, adds) = (at("value"), at("currency"), at("hands_on_seconds"), at("adds_per_hour"));
    let (says, pieces, kg) = (at("says"), at("pieces"), at("kg"));
    let line = |feed: &str, what: &str, cells: &[(usize, String)]| {
        let mut row = vec![String::new(); width];
        (row[0], row[1]) = (text(feed), what.to_owned());
        for (at, cell) in cells {
            row[*at].clone_from(cell);
        }
        row
    };
    let job = &report.job;
    let money = report.currency.clone();
    let whole = [
        (adds, job.per_hour.clone().unwrap_or_default()),
        (value, job.brings.clone().unwrap_or_default()),
        (currency, money.clone()),
        (says, text(&job.says.join("; "))),
    ];
    let mut more = vec![line("", "whole job", &whole)];
    let amounts = [
        ("received", &job.received),
        ("stock", &job.stock),
        ("bought", &job.bought),
        ("spent", &job.spent),
        ("trips", &job.trips),
    ];
    more.extend(amounts.map(|(what, amount)| line("", what, &[(value, amount.clone()), (currency, money.clone())])));
    let times = [("fetching", job.fetching_seconds), ("bench", job.bench_seconds), ("yard", job.yard_seconds)];
    more.extend(times.map(|(what, seconds)| line("", what, &[(hands_on, seconds.to_string())])));
    more.extend(report.trials.iter().map(|trial| {
        let cells = [
            (kg, trial.mass.as_ref().map(|mass| mass.kg.clone()).unwrap_or_default()),
            (hands_on, trial.worked_seconds.to_string()),
            (adds, trial.adds_per_hour.clone().unwrap_or_default()),
            (value, trial.brings_per_hour.clone().unwrap_or_default()),
            (pieces, trial.pieces.map(|pieces| pieces.to_string()).unwrap_or_default()),
            (currency, money.clone()),
            (says, text(&trial.says.join("; "))),
        ];
        line(&trial.feed, "trial", &cells)
    }));
    rows.extend(more);
}

pub(super) fn write(rows: &[Vec<String>]) -> String {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).expect("rows of one length into memory");
    }
    let bytes = writer.into_inner().expect("memory does not fail");
    String::from_utf8(bytes).expect("made of strings")
}

pub(super) fn text(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_no_formula() {
        assert_eq!(text("=HYPERLINK(1)"), "'=HYPERLINK(1)");
        assert_eq!(text("-5 brass"), "'-5 brass");
        assert_eq!(text("brass"), "brass");
    }

    #[test]
    fn quotes_and_commas_survive() {
        let line = write(&[vec!["a,b".into(), "c\"d".into()]]);
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
        let record = reader.records().next().unwrap().unwrap();
        assert_eq!((&record[0], &record[1]), ("a,b", "c\"d"));
    }
}

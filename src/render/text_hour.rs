//! What an hour is worth, for the terminal.

use super::figures::clock;
use super::json::{BreakEvenView, FeedHourView, FigureView, GradeHourView, HourView};
use super::place_words;
use super::text::{Cell, Table, counted};
use super::words;
use crate::measure::Span;

/// The report: a line a feed and, where a lot is closed, a table of what came out.
pub fn hour(report: &HourView) -> String {
    let mut text = format!("What an hour is worth, {}\nPrices: {}.\n", report.day, report.prices);
    if report.feeds.is_empty() {
        text.push_str(
            "\nToo little data: nothing was weighed before it was taken apart. The next load is with: bismar intake ask\n",
        );
    }
    for feed in &report.feeds {
        text.push_str(&one(report, feed));
    }
    text.push_str(&job(report));
    text.push('\n');
    for line in &report.left_out {
        text.push_str(&format!("Not in these figures: {line}.\n"));
    }
    for note in &report.notes {
        text.push_str(&format!("{note}\n"));
    }
    text.push_str(&format!("{}\n", words::SELLING));
    text
}

fn one(report: &HourView, feed: &FeedHourView) -> String {
    let adds = feed
        .adds_per_hour
        .as_ref()
        .map_or("no figure".to_owned(), |adds| format!("{} {} an hour{}", adds.value, report.currency, interval(adds)));
    let hands_on = clock(Span::seconds(feed.hands_on_seconds));
    let depth = feed.depth.as_ref().map(|depth| format!(", taken apart to {depth}")).unwrap_or_default();
    let lots = counted(feed.closed_lots, "closed lot");
    let mut text = format!("\n{}{depth}: {adds}; {lots}, {hands_on} hands-on\n", feed.feed);
    if let Some(marks) = place_words::marks_line(&feed.marks) {
        text.push_str(&format!("  your marks: {marks}\n"));
    }
    if feed.waited_seconds > 0 {
        text.push_str(&format!("  {} hands-off\n", clock(Span::seconds(feed.waited_seconds))));
    }
    if feed.consumables != "0.00" || feed.disposal != "0.00" {
        let (used, rid, currency) = (&feed.consumables, &feed.disposal, &report.currency);
        text.push_str(&format!("  {used} {currency} used up, {rid} {currency} to be rid of the rest: taken off\n"));
    }
    if feed.charges != "0.00" {
        text.push_str(&format!("  {} {} of it is charged by buyers\n", feed.charges, report.currency));
    }
    if let (Some(value), Some(pieces)) = (&feed.value_per_piece, feed.pieces) {
        text.push_str(&format!("  {value} {} from a piece, of {pieces}\n", report.currency));
    }
    if let Some(value) = &feed.value_per_kg {
        text.push_str(&format!("  {value} {} from a kilogram\n", report.currency));
    }
    if let Some(hours) = &feed.break_even_hours {
        text.push_str(&format!("  brings {} an hour: {}\n", report.floor_per_hour, line(hours, " hours hands-on at most")));
    }
    for said in &feed.says {
        text.push_str(&format!("  {said}\n"));
    }
    if feed.closed_lots == 0 {
        return text;
    }
    let mut table = Table::new();
    let mut head = ["Grade", "kg", "%", "± %", "Price/kg", "Value", "Pays from price", "Pays from %"].map(Cell::right);
    head[0] = Cell::left("Grade");
    table.row(head.to_vec());
    table.rule();
    for grade in &feed.grades {
        let even = |even: &Option<BreakEvenView>| even.as_ref().map_or("-".to_owned(), |even| line(even, ""));
        let stale = if grade.stale { "*" } else { "" };
        table.row(vec![
            Cell::left(grade.grade.as_deref().unwrap_or("no grade yet")),
            Cell::right(&grade.mass.kg),
            Cell::right(grade.percent.as_ref().map_or("-".to_owned(), |known| format!("{}{}", known.value, interval(known)))),
            Cell::right(grade.weighing_percent.as_deref().unwrap_or("-")),
            Cell::right(price(grade).map_or("no quote".to_owned(), |price| format!("{price}{stale}"))),
            Cell::right(grade.value.as_deref().unwrap_or("-")),
            Cell::right(pays_from(grade)),
            Cell::right(even(&grade.break_even_percent)),
        ]);
    }
    if let Some(loss) = &feed.loss {
        table.row(vec![
            Cell::left("missing"),
            Cell::right(&loss.mass.kg),
            Cell::right(loss.percent.as_ref().map_or("-".to_owned(), |known| format!("{}{}", known.value, interval(known)))),
            Cell::right(loss.weighing_percent.as_deref().unwrap_or("-")),
        ]);
    }
    table.rule();
    table.row(vec![Cell::left("taken apart"), Cell::right(&feed.intake.kg)]);
    text + &table.text()
}

/// Of a kilogram, or of a piece.
fn price(grade: &GradeHourView) -> Option<String> {
    grade.price_per_kg.clone().or_else(|| grade.price_per_piece.as_ref().map(|price| format!("{price}/piece")))
}

/// A price of a kilogram, or of a piece.
fn pays_from(grade: &GradeHourView) -> String {
    match (&grade.break_even_price_per_kg, &grade.break_even_price_per_piece) {
        (Some(even), _) => line(even, ""),
        (None, Some(even)) => line(even, "/piece"),
        (None, None) => "-".to_owned(),
    }
}

/// The whole job, and the trials.
fn job(report: &HourView) -> String {
    let (job, currency) = (&report.job, &report.currency);
    let figure = job.per_hour.as_ref().map_or("no figure".to_owned(), |figure| format!("{figure} {currency} an hour"));
    let mut text = format!("\nThe whole job: {figure}\n");
    text.push_str(&format!(
        "  received {} + stock {} - bought {} - spent {} - trips {}\n",
        job.received, job.stock, job.bought, job.spent, job.trips
    ));
    let [fetching, bench, yard] =
        [job.fetching_seconds, job.bench_seconds, job.yard_seconds].map(|span| clock(Span::seconds(span)));
    text.push_str(&format!("  over {fetching} fetching, {bench} bench, {yard} trips and yard\n"));
    for said in &job.says {
        text.push_str(&format!("  {said}\n"));
    }
    for trial in &report.trials {
        let worked = clock(Span::seconds(trial.worked_seconds));
        let adds = trial.adds_per_hour.as_ref().map_or("no figure".to_owned(), |adds| format!("{adds} {currency} an hour"));
        let day = trial.at.time.get(..10).unwrap_or_default();
        text.push_str(&format!("\nTrial {} of {day}, {}, {worked}: {adds}\n", trial.id, trial.feed));
        if let Some(brings) = &trial.brings_per_hour {
            text.push_str(&format!("  {brings} {currency} an hour before what it would have brought whole\n"));
        }
        if let (Some(add), Some(seconds)) = (&trial.hundred_pieces_add, trial.hundred_pieces_seconds) {
            text.push_str(&format!("  a hundred pieces like these: {add} {currency} in {}\n", clock(Span::seconds(seconds))));
        }
        for said in &trial.says {
            text.push_str(&format!("  {said}\n"));
        }
    }
    text
}

fn interval(figure: &FigureView) -> String {
    match (&figure.low, &figure.high) {
        (Some(low), Some(high)) => format!(" ({low} to {high})"),
        _ => String::new(),
    }
}

fn line(even: &BreakEvenView, unit: &str) -> String {
    match (even.pays.as_str(), &even.value) {
        ("at", Some(value)) => format!("{value}{unit}"),
        ("always", _) => "always".into(),
        _ => "never".into(),
    }
}

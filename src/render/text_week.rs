//! What came into each bin day by day, for the terminal.

use super::json::{MassView, WeekView};
use super::text::{Cell, Table};

pub fn week(week: &WeekView) -> String {
    let mut table = Table::new();
    let mut head = vec![Cell::left("Bin"), Cell::left("Grade")];
    head.extend(week.days.iter().map(|day| Cell::right(day.get(5..).unwrap_or(day))));
    head.push(Cell::right("kg"));
    table.row(head);
    table.rule();
    let cells = |masses: &[MassView]| masses.iter().map(|mass| Cell::right(&mass.kg)).collect::<Vec<_>>();
    for bin in &week.bins {
        let label = bin.name.as_ref().map_or(bin.number.to_string(), |name| format!("{} {name}", bin.number));
        let mut row = vec![Cell::left(label), Cell::left(bin.grade.as_deref().unwrap_or("no grade yet"))];
        row.extend(cells(&bin.days));
        row.push(Cell::right(&bin.total.kg));
        table.row(row);
    }
    table.rule();
    let mut row = vec![Cell::left("all bins"), Cell::left("")];
    row.extend(cells(&week.sums));
    row.push(Cell::right(&week.total.kg));
    table.row(row);
    let mut text = format!("What came into each bin, kg by local day\n\n{}", table.text());
    if week.undated.grams != "0" {
        text.push_str(&format!("{} kg came while the clock could not be trusted and has no day.\n", week.undated.kg));
    }
    text
}

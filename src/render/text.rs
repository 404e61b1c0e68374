//! Reports for the terminal, in plain columns.

use super::json::{DensityView, MetalView, OfferView, RowView, YardRunView};
use super::words;

/// The yard-run report.
pub fn yard_run(report: &YardRunView) -> String {
    let mut table = Table::new();
    let mut head = vec!["Bin", "Grade", "kg", "± kg", "lb", "Drops", "Pieces", "Full", "Days"]
        .into_iter()
        .map(Cell::left)
        .collect::<Vec<_>>();
    for cell in head.iter_mut().skip(2) {
        cell.right = true;
    }
    head.extend(report.buyers.iter().map(|buyer| Cell::right(format!("{} {}", buyer.name, buyer.currency))));
    table.row(head);
    table.rule();
    for bin in &report.bins {
        let label = bin.name.as_ref().map_or(bin.number.to_string(), |name| format!("{} {name}", bin.number));
        let mut row = vec![
            Cell::left(label),
            Cell::left(bin.grade.as_deref().unwrap_or("no grade yet")),
            Cell::right(&bin.mass.kg),
            Cell::right(&bin.uncertainty_kg),
            Cell::right(&bin.mass.lb),
            Cell::right(bin.drops.to_string()),
            Cell::right(pieces(bin)),
            Cell::right(bin.filled_percent.map_or("-".into(), |percent| format!("{percent} %"))),
            Cell::right(bin.days_since_emptied.map_or("?".into(), |days| days.to_string())),
        ];
        row.extend(bin.offers.iter().map(|offer| Cell::right(offer.as_ref().map_or("no quote".into(), value))));
        table.row(row);
    }
    table.rule();
    let mut row = vec![Cell::left("all bins"), Cell::left(""), Cell::right(&report.total.kg)];
    row.extend([Cell::right(&report.total_uncertainty_kg), Cell::right(&report.total.lb)]);
    row.extend(["", "", "", ""].map(Cell::right));
    row.extend(report.totals.iter().map(|total| Cell::right(&total.value)));
    table.row(row);

    let mut text = format!("Before the yard run, {}\n\n{}", report.day, table.text());
    let mut say = |line: String| text.push_str(&format!("{line}\n"));
    say(String::new());
    say(format!("All bins: {}", report.own_error.text));
    for bin in report.bins.iter().filter(|bin| bin.pieces_at_kg.is_some()) {
        say(format!("Bin {}: {}.", bin.number, words::counted_before(bin)));
    }
    for (buyer, total) in report.buyers.iter().zip(&report.totals) {
        if let Some(cash) = &total.in_cash {
            say(format!(
                "{}: {cash} {} where it is paid in cash; the total is rounded, never a line.",
                buyer.name, buyer.currency
            ));
        }
        if total.left_out_bins > 0 {
            say(format!(
                "{}: without {} kg in {} that have no quote, lie under the minimum, or are not counted.",
                buyer.name,
                total.left_out_kg,
                counted(total.left_out_bins, "bin")
            ));
        }
        if total.stale_bins > 0 {
            say(format!("{}: a stale quote (marked *) for {}.", buyer.name, counted(total.stale_bins, "bin")));
        }
    }
    if report.unassigned.drops > 0 {
        say(format!("Not in any bin yet: {} kg in {}.", report.unassigned.mass.kg, counted(report.unassigned.drops, "drop")));
    }
    if report.provisional_drops > 0 {
        say(format!("Not confirmed yet and in no figure: {}.", counted(report.provisional_drops, "drop")));
    }
    for riddle in &report.to_settle {
        say(format!("To settle: {riddle}."));
    }
    for note in &report.notes {
        say(note.clone());
    }
    say(words::SELLING.to_owned());
    text
}

fn value(offer: &OfferView) -> String {
    let mark = if offer.stale { "*" } else { "" };
    match (&offer.value, &offer.minimum_kg) {
        (Some(value), _) => format!("{value}{mark}"),
        (None, Some(minimum)) => format!("under {minimum} kg"),
        (None, None) if offer.not_counted => "not counted".into(),
        (None, None) => "-".into(),
    }
}

/// The count of a bin; with a mark where it was another mass that was counted.
fn pieces(bin: &RowView) -> String {
    let mark = if bin.pieces_at_kg.is_some() { "?" } else { "" };
    bin.pieces.map_or(String::new(), |pieces| format!("{pieces}{mark}"))
}

/// A density and what it says.
pub fn density(view: &DensityView) -> String {
    let names = |metals: &[MetalView]| match metals.iter().map(|metal| metal.name.as_str()).collect::<Vec<_>>().join(", ") {
        names if names.is_empty() => "none".to_owned(),
        names => names,
    };
    let mut lines = vec![
        format!("{} ± {} kg/m³", view.kg_per_m3, view.uncertainty_kg_per_m3),
        format!("(a scale that shows {} g, water within {} °C; ± is about 95 %)", view.division.grams, view.water_within),
        view.said.clone(),
        format!("Fits: {}.", names(&view.fits)),
        format!("Ruled out: {}.", names(&view.ruled_out)),
    ];
    lines.extend(view.finer_words());
    lines.push(view.caution.clone());
    lines.join("\n") + "\n"
}

/// `1 bin`, `2 bins`.
pub fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// A cell of a table.
#[derive(Debug, Clone)]
pub struct Cell {
    text: String,
    right: bool,
}

impl Cell {
    pub fn left(text: impl Into<String>) -> Cell {
        Cell { text: text.into(), right: false }
    }

    pub fn right(text: impl Into<String>) -> Cell {
        Cell { text: text.into(), right: true }
    }
}

/// Columns as wide as their widest cell.
#[derive(Debug, Default)]
pub struct Table {
    /// An empty row is a rule.
    rows: Vec<Vec<Cell>>,
}

impl Table {
    pub fn new() -> Table {
        Table::default()
    }

    pub fn row(&mut self, row: Vec<Cell>) {
        self.rows.push(row);
    }

    pub fn rule(&mut self) {
        self.rows.push(Vec::new());
    }

    pub fn text(&self) -> String {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.text.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(width).collect();
        let mut text = String::new();
        for row in &self.rows {
            let line = if row.is_empty() {
                widths.iter().map(|width| "-".repeat(*width)).collect::<Vec<_>>().join("  ")
            } else {
                let cells = row.iter().zip(&widths).map(|(cell, width)| {
                    let gap = " ".repeat(width - cell.text.chars().count());
                    if cell.right { format!("{gap}{}", cell.text) } else { format!("{}{gap}", cell.text) }
                });
                cells.collect::<Vec<_>>().join("  ")
            };
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

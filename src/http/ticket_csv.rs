//! Tickets from a table: one line a line, and lines of one buyer and number that stand together are one ticket.

use super::bodies::MassBody;
use super::site::Site;
use super::ticket_bodies::{ShareBody, TicketBody, TicketLineBody};
use crate::command::{Refusal, Taking, TicketRefusal, would_take};
use crate::render::json::{TicketFaultView, TicketImportView};
use crate::render::words;
use std::collections::BTreeMap;

/// The columns that may stand there, in any order.
pub const COLUMNS: [&str; 20] = [
    "buyer",
    "day",
    "number",
    "run",
    "currency",
    "unit",
    "division",
    "text",
    "grade",
    "gross",
    "tare",
    "net",
    "off",
    "off_percent",
    "refused",
    "price",
    "amount",
    "bins",
    "total",
    "due",
];

const MOST_LINES: usize = 5000;

type Row = BTreeMap<&'static str, String>;

/// Reads the table: the tickets, and what would be taken or is wrong, line by line of the file.
pub fn read(site: &Site, text: &str) -> (Vec<Taking>, TicketImportView) {
    let (numbered, mut report) = parse(site, text);
    let takings: Vec<Taking> = numbered.iter().map(|(_, taking)| taking.clone()).collect();
    if report.faults.is_empty()
        && let Err(refusal) = would_take(&site.desk.books(), &takings)
    {
        report.faults.push(placed(&numbered, &refusal));
    }
    (takings, report)
}

/// A refusal at its line of the file.
fn placed(numbered: &[(u64, Taking)], refusal: &Refusal) -> TicketFaultView {
    let Refusal::Tickets(TicketRefusal::At { ticket, line, field, fault }) = refusal else {
        return TicketFaultView { line: 1, column: None, what: words::refusal(refusal) };
    };
    let at = usize::try_from(ticket.unwrap_or(1)).ok().and_then(|ticket| numbered.get(ticket.checked_sub(1)?));
    let first = at.map_or(1, |(line, _)| *line);
    let line = first + u64::from(line.unwrap_or(1)) - 1;
    TicketFaultView { line, column: Some((*field).to_owned()), what: words::refusal(fault) }
}

fn parse(site: &Site, text: &str) -> (Vec<(u64, Taking)>, TicketImportView) {
    let mut report = TicketImportView { tickets: 0, lines: 0, faults: Vec::new() };
    let rows = rows(text, &mut report);
    let mut groups: Vec<(u64, Vec<(u64, Row)>)> = Vec::new();
    for (line, row) in rows {
        report.lines += 1;
        let cell = |row: &Row, column: &str| row.get(column).cloned().unwrap_or_default();
        let same = |other: &Row| ["buyer", "number", "day"].into_iter().all(|column| cell(other, column) == cell(&row, column));
        match groups.last_mut().filter(|(_, rows)| !cell(&row, "number").is_empty() && same(&rows[0].1)) {
            Some((_, rows)) => rows.push((line, row)),
            None => groups.push((line, vec![(line, row)])),
        }
    }
    let mut takings = Vec::new();
    for (line, rows) in groups {
        match body(&rows).and_then(|body| body.taking(site).map_err(|problem| (line, None, problem.detail))) {
            Ok(taking) => takings.push((line, taking)),
            Err((line, column, what)) => report.faults.push(TicketFaultView { line, column: column.map(str::to_owned), what }),
        }
    }
    if takings.is_empty() && report.faults.is_empty() {
        report.faults.push(TicketFaultView { line: 1, column: None, what: "there is no ticket in it".into() });
    }
    report.tickets = takings.len();
    (takings, report)
}

fn rows(text: &str, report: &mut TicketImportView) -> Vec<(u64, Row)> {
    // The reader counts lines by their last character, and would be one behind after a CR.
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let mut fault = |line, column: Option<&str>, what: String| {
        report.faults.push(TicketFaultView { line, column: column.map(str::to_owned), what });
    };
    let head = match reader.headers() {
        Ok(head) => head.clone(),
        Err(broken) => {
            fault(1, None, format!("this is no table: {broken}"));
            return Vec::new();
        }
    };
    let mut columns = Vec::new();
    for name in &head {
        let known = COLUMNS.iter().copied().find(|known| *known == name.trim().to_lowercase());
        match known {
            Some(known) => columns.push(known),
            None => {
                fault(1, Some(name), format!("this column is not known; these are: {}", COLUMNS.join(", ")));
                return Vec::new();
            }
        }
    }
    for needed in ["buyer", "net"] {
        if !columns.contains(&needed) {
            fault(1, Some(needed), "this column is missing".into());
            return Vec::new();
        }
    }
    let mut rows = Vec::new();
    for record in reader.records().take(MOST_LINES) {
        match record {
            Err(broken) => fault(broken.position().map_or(0, csv::Position::line), None, format!("not readable: {broken}")),
            Ok(record) => {
                let line = record.position().map_or(0, csv::Position::line);
                if record.len() > columns.len() {
                    fault(line, None, format!("{} cells under {} columns", record.len(), columns.len()));
                    continue;
                }
                let cells = columns.iter().copied().zip(record.iter().map(|cell| cell.trim().to_owned()));
                rows.push((line, cells.filter(|(_, cell)| !cell.is_empty()).collect()));
            }
        }
    }
    rows
}

type Fault = (u64, Option<&'static str>, String);

fn body(rows: &[(u64, Row)]) -> Result<TicketBody, Fault> {
    let (first_line, first) = &rows[0];
    let own = |column: &'static str| first.get(column).cloned();
    let run =
        own("run").map(|text| text.parse().map_err(|_| (*first_line, Some("run"), format!("{text:?} is no number of a run"))));
    let mut lines = Vec::new();
    for (line, row) in rows {
        for column in ["currency", "division", "total", "due", "run"] {
            // What belongs to the whole ticket may stand on its first line alone, and may not say something else below.
            if row.get(column).is_some_and(|cell| first.get(column) != Some(cell)) {
                return Err((*line, Some(column), "one ticket, and its lines say two things here".into()));
            }
        }
        lines.push(ticket_line(*line, row)?);
    }
    Ok(TicketBody {
        buyer: own("buyer").ok_or((*first_line, Some("buyer"), "say who the buyer is".to_owned()))?,
        day: own("day"),
        number: own("number"),
        run: run.transpose()?,
        currency: own("currency"),
        passes: Vec::new(),
        division: weight(*first_line, first, "division")?,
        lines,
        off: Vec::new(),
        total: own("total"),
        due: own("due"),
    })
}

fn weight(line: u64, row: &Row, column: &'static str) -> Result<Option<MassBody>, Fault> {
    let Some(text) = row.get(column) else { return Ok(None) };
    let body = in_unit(text, row.get("unit").map(String::as_str)).map_err(|what| (line, Some(column), what))?;
    body.mass().map_err(|problem| (line, Some(column), problem.detail))?;
    Ok(Some(body))
}

/// A number in a unit; the unit is never guessed.
pub fn in_unit(text: &str, unit: Option<&str>) -> Result<MassBody, String> {
    let mut body = MassBody { grams: None, kg: None, lb: None, oz: None };
    let place = match unit {
        Some("g") => &mut body.grams,
        Some("kg") => &mut body.kg,
        Some("lb") => &mut body.lb,
        Some("oz") => &mut body.oz,
        _ => return Err("say in which unit the weights are: g, kg, lb or oz".into()),
    };
    *place = Some(text.to_owned());
    Ok(body)
}

fn ticket_line(line: u64, row: &Row) -> Result<TicketLineBody, Fault> {
    let own = |column: &str| row.get(column).cloned();
    let unit = row.get("unit").map(String::as_str);
    for column in ["price", "amount", "off_percent"] {
        let number =
            |text: &String| text.split('/').next().is_some_and(|text| crate::measure::Price::amount(text.trim()).is_ok());
        if let Some(text) = row.get(column).filter(|text| !number(text)) {
            return Err((line, Some(column), format!("{text:?} is no number, as in 4.00")));
        }
    }
    Ok(TicketLineBody {
        text: own("text").unwrap_or_default(),
        grade: own("grade"),
        gross: weight(line, row, "gross")?,
        tare: weight(line, row, "tare")?,
        net: weight(line, row, "net")?.ok_or((line, Some("net"), "a line has a net weight".to_owned()))?,
        off: weight(line, row, "off")?,
        off_percent: own("off_percent"),
        refused: weight(line, row, "refused")?,
        price: own("price"),
        amount: own("amount"),
        bins: own("bins").map_or(Ok(Vec::new()), |text| bins(&text, unit)).map_err(|what| (line, Some("bins"), what))?,
    })
}

/// `3` is bin 3 to its ground, `3=1.25` so much of it by their scale, `3=1.25 all` the last of it; parted by `;` or `,`.
pub fn bins(text: &str, unit: Option<&str>) -> Result<Vec<ShareBody>, String> {
    let share = |part: &str| {
        let (number, rest) = part.split_once('=').map_or((part, None), |(number, rest)| (number.trim(), Some(rest.trim())));
        let bin = number.parse().map_err(|_| format!("{number:?} is not the number of a bin"))?;
        let (mass, all) = match rest {
            None => (None, true),
            Some(rest) => match rest.strip_suffix("all") {
                Some(mass) => (Some(mass.trim()), true),
                None => (Some(rest), false),
            },
        };
        let mass = mass.map(|mass| in_unit(mass, unit)).transpose()?;
        if let Some(Err(problem)) = mass.as_ref().map(MassBody::mass) {
            return Err(problem.detail);
        }
        Ok(ShareBody { bin, mass, whole: Some(all), weighed: None, weighed_here: false })
    };
    text.split([';', ',']).map(str::trim).filter(|part| !part.is_empty()).map(share).collect()
}

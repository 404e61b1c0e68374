//! The yard-run report in its four forms, each read back as a person or a program reads it.

use super::daemon::bismar;
use super::web::Web;
use bismar::render::json::YardRunView;
use std::path::Path;

/// What every form must agree on, as it is written there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figures {
    /// Bin, grade, kilograms, uncertainty, pounds, drops, then the value at each buyer.
    pub bins: Vec<Vec<String>>,
    /// Kilograms, uncertainty, pounds, then the total at each buyer.
    pub total: Vec<String>,
}

/// The report as JSON, and its figures.
pub fn from_json(web: &Web) -> (YardRunView, Figures) {
    let view: YardRunView = serde_json::from_str(&web.get("/v1/reports/yard-run.json").body).unwrap();
    let offer = |offer: &Option<bismar::render::json::OfferView>| match offer {
        Some(offer) => offer.value.clone().unwrap_or_default(),
        None => String::new(),
    };
    let bins = view.bins.iter().map(|bin| {
        let grade = bin.grade.clone().unwrap_or_default();
        let mass = [bin.mass.kg.clone(), bin.uncertainty_kg.clone(), bin.mass.lb.clone()];
        let row = [bin.number.to_string(), grade].into_iter().chain(mass).chain([bin.drops.to_string()]);
        row.chain(bin.offers.iter().map(offer)).collect()
    });
    let total = [view.total.kg.clone(), view.total_uncertainty_kg.clone(), view.total.lb.clone()];
    let total = total.into_iter().chain(view.totals.iter().map(|total| total.value.clone())).collect();
    let figures = Figures { bins: bins.collect(), total };
    (view, figures)
}

pub fn from_csv(web: &Web) -> Figures {
    let answer = web.get("/v1/reports/yard-run.csv");
    assert!(answer.header("content-type").unwrap().starts_with("text/csv"));
    let mut reader = csv::Reader::from_reader(answer.body.as_bytes());
    let head = reader.headers().unwrap().clone();
    let column = |name: &str| head.iter().position(|known| known == name).unwrap_or_else(|| panic!("{name}: {head:?}"));
    let main = ["kg", "uncertainty_kg", "lb"].map(column);
    let values: Vec<usize> = (column("pieces") + 1..head.len()).step_by(4).collect();
    let (mut bins, mut total) = (Vec::new(), Vec::new());
    for record in reader.records().map(Result::unwrap) {
        let pick = |columns: &[usize]| columns.iter().map(|at| record[*at].to_owned()).collect::<Vec<_>>();
        if !record[column("bin")].is_empty() {
            let lead = pick(&[column("bin"), column("grade")]);
            bins.push([lead, pick(&main), pick(&[column("drops")]), pick(&values)].concat());
        } else if &record[column("name")] == "total in bins" {
            total = [pick(&main), pick(&values)].concat();
        }
    }
    Figures { bins, total }
}

pub fn from_page(web: &Web) -> Figures {
    let page = web.get("/v1/reports/yard-run.html").body;
    assert_eq!(page_table(&web.get("/reports/yard-run").body), page_table(&page), "the page and the report's own form");
    let table = page_table(&page);
    let rows = |part: &str| -> Vec<Vec<String>> {
        let inside = between(&table, &format!("<{part}>"), &format!("</{part}>"));
        inside.split("<tr").skip(1).map(cells).collect()
    };
    let bins = rows("tbody").into_iter().map(|row| [&row[..6], &row[8..]].concat()).collect();
    let foot = rows("tfoot").remove(0);
    Figures { bins, total: [&foot[2..5], &foot[8..]].concat() }
}

fn page_table(page: &str) -> String {
    between(page, "<table class=\"report\">", "</table>").to_owned()
}

fn between<'a>(text: &'a str, open: &str, close: &str) -> &'a str {
    let (_, rest) = text.split_once(open).unwrap_or_else(|| panic!("no {open} in {text}"));
    rest.split_once(close).unwrap().0
}

/// The first words of each cell: what stands before a line break or a small note.
fn cells(row: &str) -> Vec<String> {
    let cells = row.split("<t").skip(1).filter(|cell| cell.starts_with('d') || cell.starts_with('h'));
    let text = cells.map(|cell| cell.split_once('>').unwrap().1.split('<').next().unwrap());
    text.map(|text| if text == "no quote" { String::new() } else { text.to_owned() }).collect()
}

/// What the command line prints: asked over the daemon's socket (`--at`), or read from the books (`--store`).
pub fn from_terminal(option: &str, path: &Path) -> Figures {
    let output = bismar().args(["report", "yard-run", option]).arg(path).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    // Columns are at least two blanks apart.
    let split = |line: &str| -> Vec<String> {
        line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).map(str::to_owned).collect()
    };
    let (mut bins, mut total) = (Vec::new(), Vec::new());
    for line in text.lines() {
        let cells = split(line);
        match cells.first().map(String::as_str) {
            Some("all bins") => total = cells[1..].to_vec(),
            Some(first) if first.parse::<u32>().is_ok() => {
                let values = cells[8..].iter().map(|cell| cell.replace("no quote", ""));
                bins.push(cells[..6].iter().cloned().chain(values).collect());
            }
            _ => {}
        }
    }
    Figures { bins, total }
}

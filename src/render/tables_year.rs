//! Buyers over time and the year as one set of tables: the page, the CSV and the terminal show the same cells.

use super::csv;
use super::json::{BuyersView, IncomeView, MoneyView, YearView};
use super::text::{Cell, Table};

/// A titled table. Its first cells are words and the last `figures` are numbers.
pub struct Titled {
    pub title: &'static str,
    pub head: Vec<&'static str>,
    pub figures: usize,
    pub rows: Vec<Vec<String>>,
}

fn own<T: ToString>(cell: Option<T>) -> String {
    cell.map(|cell| cell.to_string()).unwrap_or_default()
}

fn sums(sums: &[MoneyView]) -> String {
    sums.iter().map(|sum| format!("{} {}", sum.amount, sum.currency)).collect::<Vec<_>>().join(", ")
}

/// What is said above the tables of the buyers.
pub fn buyers_say(view: &BuyersView) -> Vec<String> {
    let mut say = vec![
        "Per cent of the load by our scale, less where they find less. The interval is 95 % over tickets by Student; our own \
         calibration does not average out, and stands beside it whole."
            .to_owned(),
        "An expected price is a guess from what this buyer paid of their quotes so far. The quote is what holds.".to_owned(),
    ];
    if let Some(side) = &view.suspect_our_scale {
        let side = if side == "under" { "less" } else { "more" };
        say.insert(0, format!("All buyers find {side} than we do: look at our own scale first, and lay a check weight on it."));
    }
    say
}

pub fn buyers(view: &BuyersView) -> Vec<Titled> {
    let bias = view.buyers.iter().map(|buyer| {
        let mut row = vec![buyer.buyer.clone(), buyer.tickets.to_string(), buyer.seen.len().to_string()];
        match &buyer.bias {
            None => row.extend([const { String::new() }; 5]),
            Some(bias) => {
                row.extend([bias.percent.clone(), bias.low.clone(), bias.high.clone()]);
                row.extend([own(bias.low_with_ours.as_ref()), own(bias.high_with_ours.as_ref())]);
            }
        }
        row.extend([buyer.graded_lines.to_string(), buyer.downgraded_lines.to_string(), sums(&buyer.downgrade_cost)]);
        row
    });
    let prices = view.buyers.iter().flat_map(|buyer| {
        buyer.prices.iter().map(|paid| {
            let against = format!("{} {}", paid.against_quote.amount, paid.against_quote.currency);
            let (quoted, expected) = (own(paid.quoted.as_ref()), own(paid.expected.as_ref()));
            vec![buyer.buyer.clone(), paid.grade.clone(), paid.lines.to_string(), against, quoted, expected]
        })
    });
    vec![
        Titled {
            title: "Their scales and ours",
            head: vec![
                "buyer",
                "tickets",
                "weighed at home",
                "per cent",
                "low",
                "high",
                "low with ours",
                "high with ours",
                "graded lines",
                "downgraded",
                "which cost",
            ],
            figures: 10,
            rows: bias.collect(),
        },
        Titled {
            title: "Paid against quoted",
            head: vec!["buyer", "grade", "lines", "paid less quoted", "quote", "expected"],
            figures: 4,
            rows: prices.collect(),
        },
    ]
}

pub fn year(view: &YearView) -> Vec<Titled> {
    let grade = |row: &IncomeView| row.grade.clone().unwrap_or_else(|| "beside the lines".to_owned());
    let amount = |row: &IncomeView| [row.amount.amount.clone(), row.amount.currency.clone()];
    let earned = view.earned.iter().map(|row| {
        let [amount, currency] = amount(row);
        vec![row.month.clone(), row.buyer.clone(), grade(row), row.mass.kg.clone(), amount, currency]
    });
    // Money that came for a part of a ticket is for no weight of its own.
    let received = view.received.iter().map(|row| {
        let [amount, currency] = amount(row);
        vec![row.month.clone(), row.buyer.clone(), grade(row), amount, currency]
    });
    let open = [("fees", &view.fees), ("not paid yet", &view.unpaid), ("of that, held", &view.held)];
    let open = open
        .into_iter()
        .flat_map(|(what, sums)| sums.iter().map(move |sum| vec![what.to_owned(), sum.amount.clone(), sum.currency.clone()]));
    let spent = view
        .spent
        .iter()
        .map(|row| vec![row.month.clone(), row.sort.clone(), row.amount.amount.clone(), row.amount.currency.clone()]);
    let trips = view.trips.iter().map(|trip| {
        let what = if trip.fetching { "fetching" } else { "to buyers" };
        let cost = own(trip.cost.as_ref().map(|cost| format!("{} {}", cost.amount, cost.currency)));
        vec![trip.day.clone(), trip.to.clone(), what.to_owned(), own(trip.distance_km.as_ref()), own(trip.minutes), cost]
    });
    let stock = view.stock.iter().map(|row| {
        let value = own(row.value.as_ref().map(|value| format!("{} {}", value.amount, value.currency)));
        vec![row.grade.clone().unwrap_or_else(|| "no grade yet".into()), row.mass.kg.clone(), value]
    });
    let lots = view.lots.iter().map(|lot| {
        let first = [
            lot.lot.to_string(),
            own(lot.day.as_ref()),
            own(lot.feed.as_ref()),
            own(lot.from.as_ref()),
            own(lot.arrived.as_ref()),
        ];
        let mut row = first.to_vec();
        row.extend([lot.tickets.join(" "), own(lot.mass.as_ref().map(|mass| &mass.kg)), own(lot.pieces), sums(&lot.received)]);
        row
    });
    let on_ticket = vec!["month", "buyer", "grade", "kg", "amount", "currency"];
    let as_paid = vec!["month", "buyer", "grade", "amount", "currency"];
    vec![
        Titled { title: "Income by the day on the ticket", head: on_ticket, figures: 3, rows: earned.collect() },
        Titled { title: "Income by the day it was paid", head: as_paid, figures: 2, rows: received.collect() },
        Titled { title: "Fees, and what is open", head: vec!["what", "amount", "currency"], figures: 2, rows: open.collect() },
        Titled { title: "Spending", head: vec!["month", "sort", "amount", "currency"], figures: 2, rows: spent.collect() },
        Titled {
            title: "Trips",
            head: vec!["day", "to", "what for", "km", "minutes", "cost"],
            figures: 3,
            rows: trips.collect(),
        },
        Titled { title: "Stock", head: vec!["grade", "kg", "at the best quote"], figures: 2, rows: stock.collect() },
        Titled {
            title: "Where it came from",
            head: vec!["lot", "day", "what", "from", "arrived", "tickets", "kg", "pieces", "received"],
            figures: 3,
            rows: lots.collect(),
        },
    ]
}

/// All tables in one file: the first column says which, and each begins with its own head.
pub fn to_csv(tables: &[Titled]) -> String {
    let width = tables.iter().map(|table| table.head.len()).max().unwrap_or_default() + 1;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let padded = |mut row: Vec<String>| {
        row.resize(width, String::new());
        row
    };
    for table in tables {
        let head = std::iter::once("table").chain(table.head.iter().copied()).map(str::to_owned);
        rows.push(padded(head.collect()));
        for row in &table.rows {
            let words = row.len() - table.figures;
            let cells = row.iter().enumerate().map(|(at, cell)| if at < words { csv::text(cell) } else { cell.clone() });
            rows.push(padded(std::iter::once(table.title.to_owned()).chain(cells).collect()));
        }
    }
    csv::write(&rows)
}

pub fn to_text(title: &str, say: &[String], tables: &[Titled]) -> String {
    let mut text = format!("{title}\n");
    for table in tables {
        text.push_str(&format!("\n{}\n\n", table.title));
        if table.rows.is_empty() {
            text.push_str("None.\n");
            continue;
        }
        let words = table.head.len() - table.figures;
        let cell = |(at, cell): (usize, &str)| if at < words { Cell::left(cell) } else { Cell::right(cell) };
        let mut shown = Table::new();
        shown.row(table.head.iter().copied().enumerate().map(cell).collect());
        shown.rule();
        for row in &table.rows {
            shown.row(row.iter().map(String::as_str).enumerate().map(cell).collect());
        }
        text.push_str(&shown.text());
    }
    for line in say {
        text.push_str(&format!("\n{line}\n"));
    }
    text
}

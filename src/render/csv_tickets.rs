//! Tickets as CSV: one line a line of the slip, what belongs to the whole ticket on its first.

use super::csv::{text, write};
use super::json::TicketView;

pub fn tickets(tickets: &[TicketView]) -> String {
    let head = [
        "ticket",
        "buyer",
        "day",
        "number",
        "line",
        "text",
        "grade",
        "gross_kg",
        "tare_kg",
        "net_kg",
        "off_kg",
        "paid_kg",
        "refused_kg",
        "price",
        "amount",
        "currency",
        "bins",
        "verdict",
        "ours_kg",
        "theirs_kg",
        "difference_kg",
        "uncertainty_kg",
        "downgraded_from",
        "downgrade_cost",
        "quoted",
        "against_quote",
        "total",
        "paid",
        "held",
        "unpaid",
        "due",
        "state",
        "odd",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for ticket in tickets {
        for (line, number) in ticket.lines.iter().zip(1_u32..) {
            let own = |cell: &Option<String>| cell.clone().unwrap_or_default();
            let kg = |mass: &Option<super::json::MassView>| mass.as_ref().map(|mass| mass.kg.clone()).unwrap_or_default();
            let first = |cell: String| if number == 1 { cell } else { String::new() };
            let load = ticket.loads.iter().find(|load| load.lines.contains(&number));
            let compared = load.filter(|load| load.lines[0] == number).and_then(|load| load.compared.as_ref());
            let bins: Vec<String> = line.bins.iter().map(|tied| format!("{}={}", tied.bin, tied.mass.kg)).collect();
            let state = match (ticket.voided, ticket.settled) {
                (true, _) => "void",
                (false, true) => "looked at",
                (false, false) => "",
            };
            let odd: Vec<String> = ticket.flags.iter().map(|flag| flag.text.clone()).collect();
            let mut row = vec![ticket.id.to_string(), text(&ticket.buyer), ticket.day.clone(), text(&own(&ticket.number))];
            row.extend([number.to_string(), text(&line.text), text(&own(&line.grade)), kg(&line.gross), kg(&line.tare)]);
            row.extend([line.net.kg.clone(), line.off.kg.clone(), line.paid.kg.clone(), kg(&line.refused), own(&line.price)]);
            row.extend([own(&line.amount), ticket.currency.clone(), bins.join("; ")]);
            row.push(load.map(|load| load.verdict.clone()).unwrap_or_default());
            row.extend(match compared {
                None => [const { String::new() }; 4],
                Some(both) => {
                    [both.ours.kg.clone(), both.theirs.kg.clone(), both.difference.kg.clone(), both.uncertainty_kg.clone()]
                }
            });
            row.extend([
                text(&own(&line.downgraded_from)),
                line.downgrade_cost.as_ref().map(|cost| cost.amount.clone()).unwrap_or_default(),
            ]);
            row.extend([own(&line.quoted), own(&line.against_quote)]);
            row.extend([first(own(&ticket.total)), first(ticket.paid.clone()), first(ticket.held.clone())]);
            row.extend([
                first(own(&ticket.unpaid)),
                first(own(&ticket.due)),
                first(state.to_owned()),
                first(text(&odd.join("; "))),
            ]);
            rows.push(row);
        }
    }
    write(&rows)
}

//! `bismar ticket`: buyers' slips, what our scale says of them, and their money.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed;
use crate::render::json::{TicketImportView, TicketView};
use crate::render::text::Cell;
use anyhow::{Context, bail};
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::json;
use std::path::PathBuf;

/// Tickets: what buyers found, paid, and still owe.
#[derive(Args)]
pub struct Ticket {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every ticket, newest first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// One ticket, line by line.
    Show {
        ticket: u64,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Takes tickets from a table in CSV, all of them or none.
    Import {
        file: PathBuf,
        /// Only say what would be taken and what is wrong.
        #[arg(long)]
        dry: bool,
    },
    /// Books money for a ticket.
    Pay {
        ticket: u64,
        #[arg(value_parser = typed::amount)]
        amount: Decimal,
        #[arg(long, value_enum)]
        method: Method,
        /// What cashing or sending it cost.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        fee: Option<Decimal>,
        /// The buyer holds it until that day.
        #[arg(long)]
        held: bool,
        /// The day, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
    },
    /// What is odd about it was looked at, and stays as it is printed.
    Settle {
        ticket: u64,
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Takes a ticket back: what it moved goes back to its bins.
    Void {
        ticket: u64,
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Method {
    Cash,
    Cheque,
    Transfer,
    Card,
    Other,
}

impl Ticket {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.tickets()?, form, list),
            Act::Show { ticket, shelf } => {
                let all = shelf.open(at)?.tickets()?;
                let view = all.iter().find(|view| view.id == ticket);
                one(view.with_context(|| format!("there is no ticket {ticket}; `bismar ticket list` shows them"))?)
            }
            Act::Import { file, dry } => {
                let table = std::fs::read_to_string(&file).with_context(|| file.display().to_string())?;
                let daemon = reach(at)?;
                let report: TicketImportView = daemon.table("/v1/tickets/import?dry=true", &table)?;
                let faults: Vec<String> = report
                    .faults
                    .iter()
                    .map(|fault| {
                        let column = fault.column.as_ref().map(|column| format!(", {column}")).unwrap_or_default();
                        format!("{}:{}{column}: {}", file.display(), fault.line, fault.what)
                    })
                    .collect();
                if !faults.is_empty() {
                    bail!("nothing was taken:\n{}", faults.join("\n"));
                }
                if !dry {
                    daemon.table::<serde_json::Value>("/v1/tickets/import", &table)?;
                }
                let said = if dry { "can be taken" } else { "are taken" };
                format!("{} tickets in {} lines {said}\n", report.tickets, report.lines)
            }
            Act::Pay { ticket, amount, method, fee, held, day } => {
                let method = format!("{method:?}").to_lowercase();
                let body = json!({ "amount": { "amount": amount.to_string() }, "method": method, "fee": fee.map(|fee| fee.to_string()), "held": held, "day": day.map(|day| day.to_string()) });
                let kept = reach(at)?.post(&format!("/v1/tickets/{ticket}/payments"), &body)?;
                format!("payment {} is booked\n", kept.id)
            }
            Act::Settle { ticket, reason } => {
                reach(at)?.post(&format!("/v1/tickets/{ticket}/settle"), &json!({ "reason": reason }))?;
                format!("ticket {ticket} stays as it is printed\n")
            }
            Act::Void { ticket, reason } => {
                reach(at)?.post(&format!("/v1/tickets/{ticket}/void"), &json!({ "reason": reason }))?;
                format!("ticket {ticket} is void\n")
            }
        };
        Ok(show::print(&done)?)
    }
}

fn list(tickets: &[TicketView]) -> String {
    let head = [
        Cell::right("Ticket"),
        Cell::left("Day"),
        Cell::left("Buyer"),
        Cell::left("Number"),
        Cell::right("Total"),
        Cell::right("Unpaid"),
        Cell::left("Our scale says"),
        Cell::left("Odd"),
    ];
    let rows = tickets.iter().map(|ticket| {
        let verdicts: Vec<&str> = ticket.loads.iter().map(|load| load.verdict.as_str()).collect();
        let odd = match (ticket.voided, ticket.settled, ticket.flags.len()) {
            (true, ..) => "void".to_owned(),
            (false, true, _) => "looked at".to_owned(),
            (false, false, 0) => String::new(),
            (false, false, many) => many.to_string(),
        };
        vec![
            Cell::right(ticket.id.to_string()),
            Cell::left(&ticket.day),
            Cell::left(&ticket.buyer),
            Cell::left(ticket.number.as_deref().unwrap_or("")),
            Cell::right(format!("{} {}", ticket.total.as_deref().unwrap_or("-"), ticket.currency)),
            Cell::right(ticket.unpaid.as_deref().unwrap_or("-")),
            Cell::left(verdicts.join(", ")),
            Cell::left(odd),
        ]
    });
    show::table(&head, rows.collect(), "No tickets yet: take one on the page, or from a table with: bismar ticket import FILE")
}

fn one(ticket: &TicketView) -> String {
    let head = [
        Cell::right("Line"),
        Cell::left("Text"),
        Cell::left("Grade"),
        Cell::right("Net kg"),
        Cell::right("Price"),
        Cell::right("Amount"),
        Cell::left("Bins"),
    ];
    let rows = ticket.lines.iter().zip(1..).map(|(line, number)| {
        let bins: Vec<String> = line.bins.iter().map(|tied| format!("{}: {} kg", tied.bin, tied.mass.kg)).collect();
        vec![
            Cell::right(number.to_string()),
            Cell::left(&line.text),
            Cell::left(line.grade.as_deref().unwrap_or("not known")),
            Cell::right(&line.net.kg),
            Cell::right(line.price.as_deref().unwrap_or("-")),
            Cell::right(line.amount.as_deref().unwrap_or("-")),
            Cell::left(bins.join(", ")),
        ]
    });
    let number = ticket.number.as_deref().unwrap_or("without a number");
    let mut text = format!("Ticket {number}, {}, {}\n\n", ticket.buyer, ticket.day);
    text.push_str(&show::table(&head, rows.collect(), ""));
    for load in &ticket.loads {
        let lines: Vec<String> = load.lines.iter().map(u32::to_string).collect();
        let both = load.compared.as_ref().map_or_else(String::new, |both| {
            format!(
                " ({} kg against our {} kg, {} ± {} kg)",
                both.theirs.kg, both.ours.kg, both.difference.kg, both.uncertainty_kg
            )
        });
        text.push_str(&format!("Line {}: {}{both}\n", lines.join(", "), load.says));
    }
    for flag in &ticket.flags {
        text.push_str(&format!("Odd: {}\n", flag.text));
    }
    let dash = |cell: &Option<String>| cell.clone().unwrap_or_else(|| "-".into());
    text.push_str(&format!(
        "Total {} {}, paid {}, held {}, unpaid {}\n",
        dash(&ticket.total),
        ticket.currency,
        ticket.paid,
        ticket.held,
        dash(&ticket.unpaid)
    ));
    text
}

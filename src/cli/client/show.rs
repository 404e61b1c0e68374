//! Showing lists on the terminal.

use crate::render::json::{MassView, StampView};
use crate::render::text::{Cell, Table};
use clap::ValueEnum;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::io::{self, Write};

/// The form of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Form {
    /// A table to read.
    #[default]
    Text,
    /// As the daemon gives it.
    Json,
}

/// Prints a list in the form that was asked for.
pub fn list<T: Serialize>(items: &[T], form: Form, table: impl FnOnce(&[T]) -> String) -> anyhow::Result<()> {
    match form {
        Form::Text => print(&table(items))?,
        Form::Json => json(items)?,
    }
    Ok(())
}

pub fn json<T: Serialize + ?Sized>(answer: &T) -> anyhow::Result<()> {
    Ok(print(&format!("{}\n", serde_json::to_string_pretty(answer)?))?)
}

/// Writes to standard output. A reader that has seen enough, such as `head`, is no failure.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(fault) if fault.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// A table with a head, or a line that says that there is nothing.
pub fn table(head: &[Cell], rows: Vec<Vec<Cell>>, nothing: &str) -> String {
    if rows.is_empty() {
        return format!("{nothing}\n");
    }
    let mut table = Table::new();
    table.row(head.to_vec());
    table.rule();
    rows.into_iter().for_each(|row| table.row(row));
    table.text()
}

/// A time to the minute, in this machine's zone; a question mark where the clock could not be trusted.
pub fn time(at: &StampView) -> String {
    let Ok(time) = at.time.parse::<Timestamp>() else { return at.time.clone() };
    let local = TimeZone::system().to_datetime(time);
    format!("{}{}", local.strftime("%Y-%m-%d %H:%M"), if at.sure { "" } else { " ?" })
}

/// `1:05:09`.
pub fn clock(seconds: u64) -> String {
    format!("{}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// `1 drop`, `2 drops`.
pub fn drops(count: u32) -> String {
    if count == 1 { "1 drop".into() } else { format!("{count} drops") }
}

/// Kilograms of a mass that may be unknown.
pub fn kg(mass: Option<&MassView>) -> String {
    mass.map_or_else(|| "-".into(), |mass| mass.kg.clone())
}

/// What may be missing.
pub fn or_dash(value: Option<impl ToString>) -> String {
    value.map_or_else(|| "-".into(), |value| value.to_string())
}

//! A tape through settling: each step that was confirmed.

use super::{Bench, seconds};
use crate::dialect::Reading;
use crate::measure::{Mass, Moment};
use crate::settle::{Act, Finding, Settle, Setup, Step};
use anyhow::Context;
use std::collections::VecDeque;
use std::io::Write;

pub struct Steps {
    settle: Settle,
    out: Printer,
}

impl Steps {
    pub fn new(setup: Setup, json: bool) -> Steps {
        let out = std::io::BufWriter::new(std::io::stdout());
        Steps { settle: Settle::new(setup), out: Printer { json, open: VecDeque::new(), out, fault: None } }
    }
}

impl Bench for Steps {
    fn tick(&mut self, at: Moment) -> anyhow::Result<()> {
        self.settle.tick(at, &mut |finding| self.out.take(finding));
        self.out.so_far()
    }

    fn reading(&mut self, at: Moment, reading: &Reading) -> anyhow::Result<()> {
        self.settle.reading(at, reading, &mut |finding| self.out.take(finding));
        self.out.so_far()
    }

    /// The operator's commands act on drops; steps are found without them.
    fn control(&mut self, _: Moment, _: &str) -> anyhow::Result<()> {
        Ok(())
    }

    fn end(&mut self, at: Moment) -> anyhow::Result<()> {
        self.settle.flush_pending(at, &mut |finding| self.out.take(finding));
        self.settle.cut(at, &mut |finding| self.out.take(finding));
        self.out.so_far()?;
        self.out.out.flush().context("standard output")
    }
}

/// Prints a step when it is confirmed; a cancelled one never.
struct Printer {
    json: bool,
    open: VecDeque<Step>,
    out: std::io::BufWriter<std::io::Stdout>,
    fault: Option<std::io::Error>,
}

#[derive(serde::Serialize)]
struct Line {
    /// The tape's second at which the step was recognised.
    at: f64,
    act: Act,
    grams: Mass,
}

impl Printer {
    fn take(&mut self, finding: Finding) {
        match finding {
            Finding::Stepped(step) => self.open.push_back(step),
            Finding::Cancelled { number, .. } => self.open.retain(|step| step.number != number),
            Finding::Confirmed { number, .. } => {
                while let Some(step) = self.open.pop_front() {
                    let result = self.print(&step);
                    self.fault = self.fault.take().or(result.err());
                    if step.number == number {
                        break;
                    }
                }
            }
            _ => {}
        }
    }

    fn print(&mut self, step: &Step) -> std::io::Result<()> {
        let line = Line { at: seconds(step.recognised), act: step.act, grams: step.delta };
        if self.json {
            serde_json::to_writer(&mut self.out, &line)?;
            return self.out.write_all(b"\n");
        }
        let act = match step.act {
            Act::Added => "added",
            Act::Removed => "removed",
            Act::Cleared => "cleared",
        };
        writeln!(self.out, "{:>10.3} s  {act:8}{:>12} g", line.at, step.delta.exact_grams())
    }

    fn so_far(&mut self) -> anyhow::Result<()> {
        self.fault.take().map_or(Ok(()), |fault| Err(fault).context("standard output"))
    }
}

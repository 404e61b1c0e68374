//! `bismar report plan`.

use super::at::At;
use super::report::{Form, frame};
use super::shelf::{Shelf, ShelfArgs, told};
use super::shelf_places::{asked, today};
use super::typed;
use crate::config::{CURRENCY, STALE_AFTER};
use crate::measure::Currency;
use crate::query::{self, EFFORT_MAX, PlanQuestion};
use crate::render::json::PlanView;
use crate::render::page::{self, PlanAsked};
use crate::render::plan_forms;
use clap::Args;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;

/// What to load and where to drive: which bins to which buyers, in which order of stops, and what else you could do.
#[derive(Args)]
pub struct Plan {
    #[arg(long, value_enum, default_value_t)]
    form: Form,
    /// As in 2026-03-01; without it, the next day on which anybody is open who buys what lies there.
    #[arg(long, value_name = "DAY", value_parser = typed::day)]
    day: Option<Date>,
    /// What an hour must bring; without it, what you told.
    #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
    floor: Option<Decimal>,
    /// Plan by what each buyer will likely pay, where their tickets tell, and not by what they quote.
    #[arg(long)]
    expected: bool,
    /// How long to search.
    #[arg(long, value_name = "TIMES", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(EFFORT_MAX)))]
    effort: u32,
    #[command(flatten)]
    shelf: ShelfArgs,
}

impl Plan {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let Plan { form, day, floor, expected, effort, shelf } = self;
        let plan = shelf.open(at)?.plan(day, floor, expected, effort)?;
        let page = |view: &PlanView| Ok(page::plan(&frame(page::PLAN), view, &PlanAsked::default()));
        form.print(&plan, plan_forms::terminal, plan_forms::csv, page)
    }
}

impl Shelf {
    fn plan(&self, day: Option<Date>, floor: Option<Decimal>, expected: bool, effort: u32) -> anyhow::Result<PlanView> {
        let books = match self {
            Shelf::Daemon(daemon) => {
                let fields = [("day", day.map(|day| day.to_string())), ("floor", floor.map(|floor| floor.to_string()))];
                let query = asked(&format!("?expected={expected}&effort={effort}"), fields);
                return told(daemon.get(&format!("/v1/reports/plan.json{query}")));
            }
            Shelf::Folded(books) => books,
        };
        let question = PlanQuestion {
            today: today(),
            day,
            zone: TimeZone::system(),
            stale_after: STALE_AFTER,
            currency: Currency::parse(CURRENCY).expect("three capital letters"),
            floor,
            by_expected: expected,
            effort,
        };
        Ok(PlanView::from(&query::plan(books, &question, &mut |_| true)))
    }
}

//! The words of the whole job and of trials, in English.

use super::figures::{clock, kilograms};
use super::hour_words::no_pay;
use super::text::counted;
use crate::economy::pay::NoPay;
use crate::measure::Span;
use crate::query::{JobHour, TrialHour};

/// What must be known beside the figure of the whole job.
pub fn job(job: &JobHour) -> Vec<String> {
    let mut lines = Vec::new();
    match job.answer {
        Err(NoPay::NoHours) => lines.push("no hours are known yet: work in a stretch, or tell the minutes".into()),
        Err(why) => lines.push(no_pay(why)),
        Ok(_) => {}
    }
    let kg = |mass| kilograms(mass);
    if !job.job.stock_without_quote.is_zero() {
        lines.push(format!("without {} kg in the bins that have no quote", kg(job.job.stock_without_quote)));
    }
    if !job.not_worked.is_zero() {
        lines.push(format!("without {} kg of opening stock and catch-ups: these hours did not make them", kg(job.not_worked)));
    }
    if !job.without_ticket.is_zero() {
        lines.push(format!(
            "{} kg went out of emptied bins and stand on no ticket: what they fetched is missing",
            kg(job.without_ticket)
        ));
    }
    if job.open_lots > 0 {
        lines.push(format!("without what lies in {} still being worked on", counted(job.open_lots, "lot")));
    }
    if job.unpaid_arrivals > 0 {
        lines.push(format!("of {} nobody has said what was paid", counted(job.unpaid_arrivals, "arrival")));
    }
    for other in &job.other_currencies {
        lines.push(format!("without a balance of {:.2} {}, which is another currency", other.amount, other.currency));
    }
    if job.untold > Span::ZERO {
        lines.push(format!(
            "nothing moved for {} (h:mm:ss) of it, and nobody has said whether you were working",
            clock(job.untold)
        ));
    }
    if !job.clock_sure {
        lines.push("the clock of these hours is not certain".into());
    }
    lines
}

/// What the figure of the whole job is.
pub const JOB_HOW: &str = "Received by tickets and the stock at today's best quotes, less goods bought, money spent and trips, \
     over all hours: fetching, bench and yard. Time away is out. One total has no interval. Money paid for an arrival counts \
     once: say it with the arrival, or as money spent.";

/// What must be known beside the figure of a trial.
pub fn trial(trial: &TrialHour) -> Vec<String> {
    if trial.running {
        return vec!["the clock still runs".into()];
    }
    let mut lines = vec!["one sample: too little data for an interval".to_owned()];
    if trial.drops == 0 {
        lines.push("nothing landed in it".into());
    }
    match &trial.pay {
        Err(NoPay::WholeUnknown { .. }) if trial.mass.is_none() => {
            lines.push(
                "what it would have brought whole is not known: tell what it weighed before, or that you would have left it"
                    .into(),
            );
        }
        Err(why) if trial.drops > 0 => lines.push(no_pay(*why)),
        Ok(pay) if !pay.without_quote.is_zero() => {
            lines.push(format!("without {} kg that have no quote, or no count", kilograms(pay.without_quote)));
        }
        _ => {}
    }
    lines
}

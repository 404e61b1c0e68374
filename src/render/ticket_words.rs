//! The words of tickets, their refusals and their verdicts.

use super::figures::kilograms;
use super::words;
use crate::command::TicketRefusal;
use crate::facts::{LoadWhy, PayMethod};
use crate::haul::paper::PaperFlag;
use crate::haul::reconcile::{Verdict, WhyNot};
use crate::query::TicketFlag;

/// What is wrong, where and what to do.
pub fn refusal(refusal: &TicketRefusal) -> String {
    match refusal {
        TicketRefusal::At { ticket, line, field, fault } => {
            let ticket = ticket.map(|ticket| format!("ticket {ticket}, ")).unwrap_or_default();
            let line = line.map(|line| format!("line {line}, ")).unwrap_or_default();
            format!("{ticket}{line}{field}: {}", words::refusal(fault))
        }
        TicketRefusal::SameTicket { number, ticket } if ticket.0 == 0 => {
            format!("{number:?} stands twice in what was sent; one buyer has one ticket of a number")
        }
        TicketRefusal::SameTicket { number, ticket } => {
            format!("this buyer's ticket {number:?} is here already, as {ticket}; void that one first if it was wrong")
        }
        TicketRefusal::SplitTooLarge { split, delivered } => {
            format!(
                "the bins add up to {} kg, and the line has {} kg; let one bin take the rest",
                kilograms(*split),
                kilograms(*delivered)
            )
        }
        TicketRefusal::NoLines => "a ticket has at least one line".into(),
        TicketRefusal::NegativeWeight { mass } => {
            format!("{} kg is below nothing; write the weight without a sign", kilograms(*mass))
        }
        TicketRefusal::NegativeAmount => "this is below nothing; write it without a sign".into(),
        TicketRefusal::UnknownTicket { ticket } => format!("there is no ticket {ticket}; /v1/tickets lists them"),
        TicketRefusal::TicketGone { ticket } => format!("ticket {ticket} is void already"),
        TicketRefusal::UnknownLine { line, lines } => format!("there is no line {line}; this ticket has {lines}"),
        TicketRefusal::UnknownRun { run } => format!("there is no run {run}; leave it out, or set out first"),
        TicketRefusal::RunGone { run } => format!("run {run} is taken back already"),
        TicketRefusal::RunTicketed { run, ticket } => {
            format!("ticket {ticket} has what was on board of run {run}; void the ticket first if it is wrong too")
        }
        TicketRefusal::EmptiedSince { number } => {
            format!("bin {number} was emptied or tipped again since; take that back first, if it was a run, or leave this one")
        }
        TicketRefusal::LineTied { line } => format!("line {line} has its bins already; void the ticket and take it anew"),
        TicketRefusal::NoLoads => "say which bins are on board".into(),
        TicketRefusal::NoStops => "say to which buyer".into(),
        TicketRefusal::BinTwice { number } => format!("bin {number} stands here twice"),
        TicketRefusal::MoreThanThere { mass, there } => {
            format!("{} kg is more than the {} kg that the books hold there", kilograms(*mass), kilograms(*there))
        }
    }
}

pub fn code(refusal: &TicketRefusal) -> &'static str {
    match refusal {
        TicketRefusal::At { fault, .. } => words::code(fault),
        TicketRefusal::SameTicket { .. } => "same-ticket",
        TicketRefusal::SplitTooLarge { .. } => "split-too-large",
        TicketRefusal::NoLines => "no-lines",
        TicketRefusal::NegativeWeight { .. } => "negative-weight",
        TicketRefusal::NegativeAmount => "negative-amount",
        TicketRefusal::UnknownTicket { .. } => "unknown-ticket",
        TicketRefusal::TicketGone { .. } => "ticket-gone",
        TicketRefusal::UnknownLine { .. } => "unknown-line",
        TicketRefusal::UnknownRun { .. } => "unknown-run",
        TicketRefusal::RunGone { .. } => "run-gone",
        TicketRefusal::RunTicketed { .. } => "run-ticketed",
        TicketRefusal::EmptiedSince { .. } => "emptied-since",
        TicketRefusal::LineTied { .. } => "line-tied",
        TicketRefusal::NoLoads => "no-loads",
        TicketRefusal::NoStops => "no-stops",
        TicketRefusal::BinTwice { .. } => "bin-twice",
        TicketRefusal::MoreThanThere { .. } => "more-than-there",
    }
}

/// What is odd, with both figures.
pub fn flag(flag: &TicketFlag) -> String {
    let kg = kilograms;
    match flag {
        TicketFlag::Paper(flag) => match flag {
            PaperFlag::Net { line, printed, reckoned } => {
                format!("line {line}: the net is {} kg, and gross less tare is {} kg", kg(*printed), kg(*reckoned))
            }
            PaperFlag::Amount { line, printed, reckoned } => {
                format!("line {line}: the amount is {printed}, and the price makes it {reckoned}")
            }
            PaperFlag::Total { printed, reckoned } => format!("the total is {printed}, and the lines make it {reckoned}"),
            PaperFlag::Pass { line, printed, reckoned } => {
                format!("line {line}: the net is {} kg, and the two passes differ by {} kg", kg(*printed), kg(*reckoned))
            }
            PaperFlag::Load { printed, reckoned } => {
                format!("the nets add up to {} kg, and the two passes differ by {} kg", kg(*printed), kg(*reckoned))
            }
            PaperFlag::Passes { passes, lines } => format!("{passes} passes over the scale do not make {lines} lines"),
            PaperFlag::Grid { line } => format!("line {line}: a weight that a scale of this division cannot show"),
            PaperFlag::AllOff { line } => format!("line {line}: more is off than there is"),
        },
        TicketFlag::NoBin { line, mass } => format!("line {line}: {} kg are tied to no bin", kg(*mass)),
        TicketFlag::NotPlanned { line, number } => format!("line {line}: bin {number} was not on board by the plan"),
        TicketFlag::SecondTicket { other } => format!("the same buyer gave ticket {other} for the same run"),
        TicketFlag::NoGrade { line } => format!("line {line}: no grade here has the buyer's name for it"),
    }
}

pub fn flag_code(flag: &TicketFlag) -> &'static str {
    match flag {
        TicketFlag::Paper(PaperFlag::Net { .. }) => "net",
        TicketFlag::Paper(PaperFlag::Amount { .. }) => "amount",
        TicketFlag::Paper(PaperFlag::Total { .. }) => "total",
        TicketFlag::Paper(PaperFlag::Pass { .. }) => "pass",
        TicketFlag::Paper(PaperFlag::Load { .. }) => "load",
        TicketFlag::Paper(PaperFlag::Passes { .. }) => "passes",
        TicketFlag::Paper(PaperFlag::Grid { .. }) => "grid",
        TicketFlag::Paper(PaperFlag::AllOff { .. }) => "all-off",
        TicketFlag::NoBin { .. } => "no-bin",
        TicketFlag::NotPlanned { .. } => "not-planned",
        TicketFlag::SecondTicket { .. } => "second-ticket",
        TicketFlag::NoGrade { .. } => "no-grade",
    }
}

pub fn verdict_code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Agrees => "agrees",
        Verdict::LooksShort => "looks-short",
        Verdict::Short { .. } => "short",
        Verdict::Over => "over",
        Verdict::CannotTell(_) => "cannot-tell",
    }
}

pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Agrees => "agrees",
        Verdict::LooksShort => "looks short: a correct buyer shows this on one ticket in forty",
        Verdict::Short { repeated: false } => "short, beyond three times the uncertainty",
        Verdict::Short { repeated: true } => "short: the third ticket in a row that runs short, beyond our own scale's bound",
        Verdict::Over => "over: they found more than we did",
        Verdict::CannotTell(WhyNot::NotWeighed) => "cannot tell: it was not weighed at home",
        Verdict::CannotTell(WhyNot::Unchecked) => "cannot tell: no check weight says how far our own scale is off",
        Verdict::CannotTell(WhyNot::TooCoarse) => "cannot tell: the scales are too coarse for so little",
        Verdict::CannotTell(WhyNot::NoBin) => "cannot tell: tied to no bin",
    }
}

/// Every way of paying, by its code and its words.
pub const METHODS: [(PayMethod, &str, &str); 5] = [
    (PayMethod::Cash, "cash", "cash"),
    (PayMethod::Cheque, "cheque", "cheque"),
    (PayMethod::Transfer, "transfer", "transfer"),
    (PayMethod::Card, "card", "card"),
    (PayMethod::Other, "other", "some other way"),
];

pub fn method(method: PayMethod) -> &'static str {
    METHODS.iter().find(|(known, ..)| *known == method).map_or("other", |(_, code, _)| code)
}

pub fn method_of(text: &str) -> Option<PayMethod> {
    METHODS.iter().find(|(_, code, _)| *code == text).map(|(method, ..)| *method)
}

/// What became of mass that no ticket and no bin holds.
pub fn why(why: LoadWhy) -> &'static str {
    match why {
        LoadWhy::Sold => "sold",
        LoadWhy::ScaleDifference => "scale-difference",
        LoadWhy::BroughtHome => "brought-home",
        LoadWhy::SoldUnweighed => "sold-unweighed",
        LoadWhy::GivenAway => "given-away",
    }
}

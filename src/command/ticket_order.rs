//! What is asked about the drive and the ticket, and why it may be refused.

use super::{BinRef, NameRef, Refusal};
use crate::facts::{PaperOff, PayMethod, TicketId, WeighedPart};
use crate::measure::{Currency, Mass, Money, Price, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;

#[derive(Debug, Clone, PartialEq)]
pub enum TicketOrder {
    /// Drives off with bins: whole ones are empty at home from now on.
    SetOut(SettingOut),
    /// It was never driven: the bins stand where they stood.
    TakeRunBack {
        run: u64,
        reason: String,
    },
    /// Takes tickets as they are printed: all of them or none.
    Take(Vec<Taking>),
    /// Says what a line that was left open is about.
    Tie {
        ticket: TicketId,
        line: u32,
        shares: Vec<Share>,
    },
    Void {
        ticket: TicketId,
        reason: String,
    },
    /// It is as odd as it is printed, and stays so.
    Settle {
        ticket: TicketId,
        reason: String,
    },
    Pay {
        ticket: TicketId,
        day: Date,
        method: PayMethod,
        amount: Money,
        fee: Option<Decimal>,
        held: bool,
    },
    /// A bin, or so much of it, was sold unweighed or given away.
    Away {
        bin: BinRef,
        mass: Option<Mass>,
        given: bool,
        reason: String,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub struct SettingOut {
    pub day: Date,
    pub stops: Vec<NameRef>,
    /// A bin without a mass goes whole.
    pub loads: Vec<(BinRef, Option<Mass>)>,
    pub distance_km: Option<Decimal>,
    pub span: Option<Span>,
    pub cost: Option<Money>,
}

/// A slip as it is typed in.
#[derive(Debug, Clone, PartialEq)]
pub struct Taking {
    pub buyer: NameRef,
    pub day: Date,
    pub number: Option<String>,
    pub run: Option<u64>,
    pub currency: Currency,
    pub passes: Vec<Mass>,
    pub division: Option<Mass>,
    pub lines: Vec<TakingLine>,
    pub off: Vec<PaperOff>,
    pub total: Option<Decimal>,
    pub due: Option<Date>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct TakingLine {
    pub text: String,
    pub grade: Option<NameRef>,
    pub gross: Option<Mass>,
    pub tare: Option<Mass>,
    pub net: Mass,
    /// The step of the last digit as it is printed.
    pub digit: Mass,
    pub off: Option<Mass>,
    pub off_percent: Option<Decimal>,
    pub refused: Option<Mass>,
    pub price: Option<Price>,
    pub amount: Option<Decimal>,
    pub shares: Vec<Share>,
}

/// Which bin a line, or so much of it, was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    pub bin: BinRef,
    /// By their scale; none takes what the other bins of the line leave.
    pub mass: Option<Mass>,
    /// The bin was sold to its ground.
    pub whole: bool,
    /// What a part weighed at home.
    pub weighed: Option<WeighedPart>,
}

/// Why such an order is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TicketRefusal {
    /// In which field. Lines count from 1; so do tickets, where there are many.
    At {
        ticket: Option<u32>,
        line: Option<u32>,
        field: &'static str,
        fault: Box<Refusal>,
    },
    /// This buyer's ticket with this number is here already.
    SameTicket {
        number: String,
        ticket: TicketId,
    },
    /// What its bins are said to hold is more than the line.
    SplitTooLarge {
        split: Mass,
        delivered: Mass,
    },
    NoLines,
    NegativeWeight {
        mass: Mass,
    },
    NegativeAmount,
    UnknownTicket {
        ticket: TicketId,
    },
    TicketGone {
        ticket: TicketId,
    },
    UnknownLine {
        line: u32,
        lines: u32,
    },
    UnknownRun {
        run: u64,
    },
    RunGone {
        run: u64,
    },
    /// What was on board stands on this ticket.
    RunTicketed {
        run: u64,
        ticket: TicketId,
    },
    /// What stands there now is no longer what was begun when it left.
    EmptiedSince {
        number: u32,
    },
    /// It says already which bins it is.
    LineTied {
        line: u32,
    },
    NoLoads,
    NoStops,
    /// A bin twice in one load or one line.
    BinTwice {
        number: u32,
    },
    MoreThanThere {
        mass: Mass,
        there: Mass,
    },
}

impl From<TicketRefusal> for Refusal {
    fn from(refusal: TicketRefusal) -> Refusal {
        Refusal::Tickets(refusal)
    }
}

//! The drive, the buyer's slip, what it says of the bins, and the money.
//!
//! The paper is a fact and stands as it was printed, right or wrong; what it means for the bins is a fact of its own beside it.

use super::{BinId, BuyerId, EntryId, FillId, GradeId, TicketId};
use crate::measure::{Currency, Mass, Money, Price, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A drive with chosen bins. Bins that went whole are emptied by events of their own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunSetOut {
    pub day: Date,
    /// In the order in which they are driven to.
    pub stops: Vec<BuyerId>,
    pub loads: Vec<RunLoad>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub distance_km: Option<Decimal>,
    /// Driving and waiting, there and back.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub span: Option<Span>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cost: Option<Money>,
}

/// A bin on board: all that was in it, or a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunLoad {
    pub bin: BinId,
    pub fill: FillId,
    pub whole: bool,
    /// Of a part, where somebody weighed it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mass: Option<Mass>,
}

/// A drive that never was: the bins that were taken for gone stand where they stood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunTakenBack {
    /// By its event.
    pub run: u64,
    pub home: Vec<BackHome>,
    pub reason: String,
}

/// A bin that went whole with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct BackHome {
    pub bin: BinId,
    /// What was taken for gone.
    pub fill: FillId,
    /// What stands there since: it goes on in the other one.
    pub since: FillId,
}

/// A buyer's slip, word for word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TicketTaken {
    pub buyer: BuyerId,
    pub day: Date,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub number: Option<String>,
    /// The run that it came from, by its event.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub run: Option<u64>,
    pub currency: Currency,
    /// What a vehicle scale showed, pass by pass in order; empty where each line has a scale of its own.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub passes: Vec<Mass>,
    /// Of the buyer's scale, where it is known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub division: Option<Mass>,
    pub lines: Vec<PaperLine>,
    /// Amounts off the whole ticket.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub off: Vec<PaperOff>,
    /// As printed; none where the slip has none.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub total: Option<Decimal>,
    /// When the money is due.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub due: Option<Date>,
}

/// One line of the slip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PaperLine {
    /// As the buyer wrote it.
    pub text: String,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub grade: Option<GradeId>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub gross: Option<Mass>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub tare: Option<Mass>,
    pub net: Mass,
    /// The step of the last digit of the net as it is printed.
    pub digit: Mass,
    /// Taken off the weight before it is paid.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub off: Option<Mass>,
    /// The same in per cent.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub off_percent: Option<Decimal>,
    /// Not taken by the buyer and brought home: in no net.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub refused: Option<Mass>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub price: Option<Price>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub amount: Option<Decimal>,
}

/// An amount off the whole ticket, as printed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PaperOff {
    pub what: String,
    pub amount: Decimal,
}

/// Mass that left a bin, or came back to it, beside the scale. Each is an entry in its fill, positive for what went in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadMoved {
    pub why: LoadWhy,
    pub bin: BinId,
    pub fill: FillId,
    pub mass: Mass,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub ticket: Option<TicketId>,
    /// The line, from 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub line: Option<u32>,
    /// The bin was sold to its ground with this ticket.
    #[serde(default)]
    pub whole: bool,
    /// Of a part that was weighed at home before: by what its display resolves.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub weighed: Option<WeighedPart>,
    /// In a person's words, where no ticket tells.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub reason: Option<String>,
}

/// A part of a bin as it was weighed before the drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeighedPart {
    pub mass: Mass,
    pub division: Mass,
    /// On this bench's scale, whose own error is known from its check weights.
    pub here: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadWhy {
    /// By the weight on a ticket.
    Sold,
    /// What two scales say of one load is never quite the same: the rest of a bin that was sold whole, or of a part.
    ScaleDifference,
    /// Brought home: out of the fill that was on board, into the bin that stands there now.
    BroughtHome,
    /// Sold by eye, or for a lump of money.
    SoldUnweighed,
    GivenAway,
}

/// A ticket that was never right: what it moved goes back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TicketVoided {
    pub ticket: TicketId,
    /// What it moved, which counts no more.
    pub moves: Vec<EntryId>,
    pub reason: String,
}

/// Somebody looked at what is odd about a ticket, and it stays as it is printed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TicketSettled {
    pub ticket: TicketId,
    pub reason: String,
}

/// Money for a ticket, or word that it is held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PaymentCame {
    pub ticket: TicketId,
    /// The day on which it came, or until which it is held.
    pub day: Date,
    pub method: PayMethod,
    pub amount: Money,
    /// What cashing or sending it cost.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub fee: Option<Decimal>,
    /// The buyer keeps it back until that day: it is not paid yet.
    #[serde(default)]
    pub held: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PayMethod {
    Cash,
    Cheque,
    Transfer,
    Card,
    Other,
}

impl TicketTaken {
    /// The total as printed, else the lines and what is off added up; none where a line has no amount.
    pub fn worth(&self) -> Option<Money> {
        let amount = match self.total {
            Some(total) => total,
            None => self.reckoned()?,
        };
        Some(Money { amount, currency: self.currency })
    }

    /// The lines less what is off the whole.
    pub fn reckoned(&self) -> Option<Decimal> {
        let lines = self.lines.iter().try_fold(Decimal::ZERO, |sum, line| sum.checked_add(line.amount?))?;
        self.off.iter().try_fold(lines, |sum, off| sum.checked_sub(off.amount))
    }
}

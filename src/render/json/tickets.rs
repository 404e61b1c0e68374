//! Tickets as JSON.

use super::outlays::MoneyView;
use super::{MassView, expanded};
use crate::haul::reconcile::Compared;
use crate::measure::{Money, Price};
use crate::query::{LoadAnswer, PaymentAnswer, TicketAnswer, TicketLineAnswer};
use crate::render::ticket_words as words;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A buyer's slip, what our scale says of it, and the money.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketView {
    pub id: u64,
    pub buyer: String,
    pub day: String,
    pub number: Option<String>,
    /// The run that it came from.
    pub run: Option<u64>,
    pub currency: String,
    /// What a vehicle scale showed, pass by pass.
    pub passes: Vec<MassView>,
    pub lines: Vec<TicketLineView>,
    /// What is off the whole.
    pub off: Vec<TicketOffView>,
    /// As printed, else the lines added up.
    pub total: Option<String>,
    /// The total stands on the slip.
    pub total_printed: bool,
    pub loads: Vec<LoadView>,
    /// All loads that can be compared, together.
    pub whole: Option<ComparedView>,
    pub flags: Vec<TicketFlagView>,
    /// Somebody has looked at what is odd.
    pub settled: bool,
    pub voided: bool,
    pub due: Option<String>,
    pub payments: Vec<PaymentView>,
    pub paid: String,
    pub held: String,
    pub unpaid: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketLineView {
    /// As the buyer wrote it.
    pub text: String,
    pub grade: Option<String>,
    pub gross: Option<MassView>,
    pub tare: Option<MassView>,
    pub net: MassView,
    pub off: MassView,
    /// What is off, at the price of the line.
    pub off_worth: Option<MoneyView>,
    /// What is paid for.
    pub paid: MassView,
    pub refused: Option<MassView>,
    /// As in `3.40/kg`.
    pub price: Option<String>,
    pub amount: Option<String>,
    pub bins: Vec<TiedView>,
    /// The grade of its bins, where it was paid as another.
    pub downgraded_from: Option<String>,
    /// What that cost at the quote then.
    pub downgrade_cost: Option<MoneyView>,
    /// The quote that held before the ticket.
    pub quoted: Option<String>,
    pub quote_day: Option<String>,
    /// What was paid less what was quoted.
    pub against_quote: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TiedView {
    pub bin: u32,
    /// By their scale.
    pub mass: MassView,
    /// The bin was sold to its ground.
    pub whole: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketOffView {
    pub what: String,
    pub amount: String,
}

/// Lines and bins that hang together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LoadView {
    pub lines: Vec<u32>,
    /// `agrees`, `looks-short`, `short`, `over` or `cannot-tell`.
    pub verdict: String,
    /// The same in words.
    pub says: String,
    pub compared: Option<ComparedView>,
    /// The difference at the price of its first line.
    pub worth: Option<MoneyView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ComparedView {
    pub ours: MassView,
    pub theirs: MassView,
    /// Negative where they have less.
    pub difference: MassView,
    /// Twice the standard uncertainty of the difference, our calibration with it.
    pub uncertainty_kg: String,
    /// The same without our calibration.
    pub readings_uncertainty_kg: String,
    /// Weighed where no check weight bounds the calibration.
    pub unbounded: MassView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketFlagView {
    /// `net`, `amount`, `total`, `pass`, `load`, `passes`, `grid`, `all-off`, `no-bin`, `not-planned`, `second-ticket` or
    /// `no-grade`.
    pub code: String,
    pub text: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PaymentView {
    pub id: u64,
    /// On which it came, or until which it is held.
    pub day: String,
    /// `cash`, `cheque`, `transfer`, `card` or `other`.
    pub method: String,
    pub amount: MoneyView,
    pub fee: Option<String>,
    pub held: bool,
}

impl From<&Compared> for ComparedView {
    fn from(compared: &Compared) -> ComparedView {
        ComparedView {
            ours: compared.ours.into(),
            theirs: compared.theirs.into(),
            difference: compared.difference().into(),
            uncertainty_kg: expanded(compared.whole),
            readings_uncertainty_kg: expanded(compared.readings),
            unbounded: compared.unbounded.into(),
        }
    }
}

impl From<&LoadAnswer> for LoadView {
    fn from(load: &LoadAnswer) -> LoadView {
        LoadView {
            lines: load.lines.clone(),
            verdict: words::verdict_code(load.verdict).to_owned(),
            says: words::verdict(load.verdict).to_owned(),
            compared: load.compared.as_ref().map(ComparedView::from),
            worth: load.worth.map(MoneyView::from),
        }
    }
}

impl From<&PaymentAnswer> for PaymentView {
    fn from(payment: &PaymentAnswer) -> PaymentView {
        let came = &payment.came;
        PaymentView {
            id: payment.id,
            day: came.day.to_string(),
            method: words::method(came.method).to_owned(),
            amount: came.amount.into(),
            fee: came.fee.map(|fee| fee.to_string()),
            held: came.held,
        }
    }
}

/// With two decimals, or with as many as are printed.
fn cents(mut amount: Decimal) -> String {
    amount.rescale(amount.scale().max(2));
    amount.to_string()
}

/// `3.40/kg`, the currency beside it.
fn priced(price: &Price) -> String {
    format!("{}/{}", price.amount, price.per.symbol())
}

fn line(paper: &crate::facts::PaperLine, answer: &TicketLineAnswer) -> TicketLineView {
    TicketLineView {
        text: paper.text.clone(),
        grade: answer.grade.clone(),
        gross: paper.gross.map(MassView::from),
        tare: paper.tare.map(MassView::from),
        net: paper.net.into(),
        off: answer.weighed.off.into(),
        off_worth: answer.off_worth.map(MoneyView::from),
        paid: answer.weighed.paid.into(),
        refused: paper.refused.map(MassView::from),
        price: paper.price.as_ref().map(priced),
        amount: paper.amount.map(|amount| amount.to_string()),
        bins: answer.bins.iter().map(|tied| TiedView { bin: tied.number, mass: tied.mass.into(), whole: tied.whole }).collect(),
        downgraded_from: answer.downgrade.as_ref().map(|down| down.from.clone()),
        downgrade_cost: answer.downgrade.as_ref().and_then(|down| down.cost).map(|cost: Money| cost.into()),
        quoted: answer.quoted.as_ref().map(|quoted| priced(&quoted.price)),
        quote_day: answer.quoted.as_ref().map(|quoted| quoted.day.to_string()),
        against_quote: answer.quoted.as_ref().and_then(|quoted| quoted.difference).map(|difference| difference.to_string()),
    }
}

impl From<&TicketAnswer> for TicketView {
    fn from(ticket: &TicketAnswer) -> TicketView {
        let paper = &ticket.paper;
        let text = cents;
        TicketView {
            id: ticket.id.0,
            buyer: ticket.buyer_name.clone(),
            day: paper.day.to_string(),
            number: paper.number.clone(),
            run: paper.run,
            currency: paper.currency.to_string(),
            passes: paper.passes.iter().copied().map(MassView::from).collect(),
            lines: paper.lines.iter().zip(&ticket.lines).map(|(paper, answer)| line(paper, answer)).collect(),
            off: paper.off.iter().map(|off| TicketOffView { what: off.what.clone(), amount: text(off.amount) }).collect(),
            total: ticket.total.map(|total| text(total.amount)),
            total_printed: paper.total.is_some(),
            loads: ticket.loads.iter().map(LoadView::from).collect(),
            whole: ticket.whole.as_ref().map(ComparedView::from),
            flags: ticket
                .flags
                .iter()
                .map(|flag| TicketFlagView { code: words::flag_code(flag).to_owned(), text: words::flag(flag) })
                .collect(),
            settled: ticket.settled,
            voided: ticket.voided,
            due: paper.due.map(|due| due.to_string()),
            payments: ticket.payments.iter().map(PaymentView::from).collect(),
            paid: text(ticket.paid),
            held: text(ticket.held),
            unpaid: ticket.unpaid.map(text),
        }
    }
}

/// What a table of tickets would make, and what is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketImportView {
    pub tickets: usize,
    pub lines: usize,
    /// Empty where all of it can be taken.
    pub faults: Vec<TicketFaultView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TicketFaultView {
    /// Of the file, from 1.
    pub line: u64,
    pub column: Option<String>,
    pub what: String,
}

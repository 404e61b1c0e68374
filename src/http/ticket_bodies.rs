//! What requests about runs, tickets and payments carry.

use super::bodies::{MassBody, bad_price, day as civil, name};
use super::feed_bodies::MoneyBody;
use super::problem::Problem;
use super::site::Site;
use crate::command::{BinRef, SettingOut, Share, Taking, TakingLine};
use crate::facts::{PaperOff, WeighedPart};
use crate::measure::{Currency, Mass, Price, Span};
use rust_decimal::Decimal;
use serde::Deserialize;
use utoipa::ToSchema;

/// A buyer's slip, as it is printed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TicketBody {
    pub buyer: String,
    /// As in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
    #[serde(default)]
    pub number: Option<String>,
    /// The run that it came from.
    #[serde(default)]
    pub run: Option<u64>,
    /// None means the usual one.
    #[serde(default)]
    pub currency: Option<String>,
    /// What a vehicle scale showed, pass by pass in order.
    #[serde(default)]
    pub passes: Vec<MassBody>,
    /// The step of the buyer's display.
    #[serde(default)]
    pub division: Option<MassBody>,
    pub lines: Vec<TicketLineBody>,
    /// What is off the whole.
    #[serde(default)]
    pub off: Vec<TicketOffBody>,
    #[serde(default)]
    pub total: Option<String>,
    /// When the money is due.
    #[serde(default)]
    pub due: Option<String>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TicketLineBody {
    /// As the buyer wrote it.
    #[serde(default)]
    pub text: String,
    #[serde(default)]
    pub grade: Option<String>,
    #[serde(default)]
    pub gross: Option<MassBody>,
    #[serde(default)]
    pub tare: Option<MassBody>,
    pub net: MassBody,
    /// Off the weight before it is paid.
    #[serde(default)]
    pub off: Option<MassBody>,
    #[serde(default)]
    pub off_percent: Option<String>,
    /// Not taken, and brought home: in no net.
    #[serde(default)]
    pub refused: Option<MassBody>,
    /// As in `3.40/kg`.
    #[serde(default)]
    pub price: Option<String>,
    #[serde(default)]
    pub amount: Option<String>,
    #[serde(default)]
    pub bins: Vec<ShareBody>,
}

/// Which bin a line was, or so much of it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShareBody {
    pub bin: u32,
    /// By their scale; without it, what the other bins of the line leave.
    #[serde(default)]
    pub mass: Option<MassBody>,
    /// The bin was sold to its ground; without it, so it was where no mass is said.
    #[serde(default)]
    pub whole: Option<bool>,
    /// What a part weighed at home.
    #[serde(default)]
    pub weighed: Option<MassBody>,
    /// It was weighed on this bench's own scale.
    #[serde(default)]
    pub weighed_here: bool,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TicketOffBody {
    pub what: String,
    pub amount: String,
}

/// The bins of a line that was left open.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TieBody {
    pub bins: Vec<ShareBody>,
}

/// A drive with bins.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RunBody {
    #[serde(default)]
    pub day: Option<String>,
    /// Buyers in the order of the drive.
    pub stops: Vec<String>,
    pub loads: Vec<RunLoadBody>,
    /// There and back.
    #[serde(default)]
    pub distance_km: Option<String>,
    #[serde(default)]
    pub minutes: Option<u32>,
    #[serde(default)]
    pub cost: Option<MoneyBody>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RunLoadBody {
    pub bin: u32,
    /// Of a part; without it, all that is in the bin.
    #[serde(default)]
    pub mass: Option<MassBody>,
}

/// Money for a ticket, or word that it is held.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PaymentBody {
    /// On which it came, or until which it is held; none means today.
    #[serde(default)]
    pub day: Option<String>,
    /// `cash`, `cheque`, `transfer`, `card` or `other`.
    pub method: String,
    pub amount: MoneyBody,
    /// What cashing or sending it cost.
    #[serde(default)]
    pub fee: Option<String>,
    #[serde(default)]
    pub held: bool,
}

/// What left a bin unweighed, or as a gift.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AwayBody {
    /// Without it, all that is in the bin.
    #[serde(default)]
    pub mass: Option<MassBody>,
    /// Given away; else sold by eye.
    #[serde(default)]
    pub given: bool,
    pub reason: String,
}

/// A fault with its field before it.
pub fn at<T>(field: impl std::fmt::Display, result: Result<T, Problem>) -> Result<T, Problem> {
    result.map_err(|mut problem| {
        problem.detail = format!("{field}: {}", problem.detail);
        problem
    })
}

fn mass(field: String, body: Option<&MassBody>) -> Result<Option<Mass>, Problem> {
    at(field, body.map(MassBody::mass).transpose())
}

fn amount(field: impl std::fmt::Display, text: Option<&str>) -> Result<Option<Decimal>, Problem> {
    at(field, text.map(|text| Price::amount(text.trim()).map_err(bad_price)).transpose())
}

impl TicketBody {
    pub fn taking(&self, site: &Site) -> Result<Taking, Problem> {
        let currency = match &self.currency {
            None => site.currency,
            Some(code) => Currency::parse(code)
                .ok_or_else(|| Problem::bad_body(format!("currency: {code:?} is not three capital letters, as in EUR")))?,
        };
        let passes = (1..).zip(&self.passes).map(|(pass, body)| at(format!("passes, {pass}"), body.mass()));
        Ok(Taking {
            buyer: name(&self.buyer),
            day: at("day", self.day.as_deref().map_or_else(|| Ok(site.today()), civil))?,
            number: self.number.clone(),
            run: self.run,
            currency,
            passes: passes.collect::<Result<_, _>>()?,
            division: mass("division".into(), self.division.as_ref())?,
            lines: (1..).zip(&self.lines).map(|(number, line)| line.line(number, currency)).collect::<Result<_, _>>()?,
            off: self.off.iter().map(TicketOffBody::off).collect::<Result<_, _>>()?,
            total: amount("total", self.total.as_deref())?,
            due: at("due", self.due.as_deref().map(civil).transpose())?,
        })
    }
}

impl TicketOffBody {
    fn off(&self) -> Result<PaperOff, Problem> {
        Ok(PaperOff { what: self.what.clone(), amount: amount("off", Some(&self.amount))?.unwrap_or_default() })
    }
}

impl TicketLineBody {
    fn line(&self, number: u32, currency: Currency) -> Result<TakingLine, Problem> {
        let field = |field: &str| format!("line {number}, {field}");
        let price = self.price.as_deref().map(|text| Price::parse(text, currency).map_err(bad_price));
        Ok(TakingLine {
            text: self.text.clone(),
            grade: self.grade.as_deref().filter(|grade| !grade.trim().is_empty()).map(name),
            gross: mass(field("gross"), self.gross.as_ref())?,
            tare: mass(field("tare"), self.tare.as_ref())?,
            net: at(field("net"), self.net.mass())?,
            digit: self.net.last_digit().unwrap_or_default(),
            off: mass(field("off"), self.off.as_ref())?,
            off_percent: amount(field("off_percent"), self.off_percent.as_deref())?,
            refused: mass(field("refused"), self.refused.as_ref())?,
            price: at(field("price"), price.transpose())?,
            amount: amount(field("amount"), self.amount.as_deref())?,
            shares: at(field("bins"), shares(&self.bins))?,
        })
    }
}

pub fn shares(bodies: &[ShareBody]) -> Result<Vec<Share>, Problem> {
    bodies.iter().map(ShareBody::share).collect()
}

impl ShareBody {
    fn share(&self) -> Result<Share, Problem> {
        let mass = self.mass.as_ref().map(MassBody::mass).transpose()?;
        let weighed = self.weighed.as_ref().map(|body| {
            let division = body.last_digit().unwrap_or_default();
            Ok::<_, Problem>(WeighedPart { mass: body.mass()?, division, here: self.weighed_here })
        });
        let whole = self.whole.unwrap_or(mass.is_none() && self.weighed.is_none());
        Ok(Share { bin: BinRef(self.bin), mass, whole, weighed: weighed.transpose()? })
    }
}

impl RunBody {
    pub fn setting_out(&self, site: &Site) -> Result<SettingOut, Problem> {
        let load = |load: &RunLoadBody| Ok((BinRef(load.bin), mass(format!("loads, bin {}", load.bin), load.mass.as_ref())?));
        Ok(SettingOut {
            day: at("day", self.day.as_deref().map_or_else(|| Ok(site.today()), civil))?,
            stops: self.stops.iter().map(|stop| name(stop)).collect(),
            loads: self.loads.iter().map(load).collect::<Result<_, Problem>>()?,
            distance_km: amount("distance_km", self.distance_km.as_deref())?,
            span: self.minutes.map(|minutes| Span::seconds(60 * u64::from(minutes))),
            cost: at("cost", self.cost.as_ref().map(|cost| cost.money(site)).transpose())?,
        })
    }
}

/// An amount that may be absent.
pub fn fee(text: Option<&str>) -> Result<Option<Decimal>, Problem> {
    amount("fee", text)
}

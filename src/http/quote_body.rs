//! The body of a quote.

use super::bodies::{MassBody, bad_price, day, name, positive};
use super::problem::Problem;
use super::site::Site;
use crate::command::Quoting;
use crate::facts::Break;
use crate::measure::{Currency, Notation, Price};
use serde::Deserialize;
use utoipa::ToSchema;

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteBody {
    pub buyer: String,
    pub grade: String,
    /// Amount and unit, as in `4.00/lb` or `0.35/piece`; a minus makes it a charge. A ton must say which.
    pub price: String,
    #[serde(default)]
    pub currency: Option<String>,
    /// The first day on which it holds, as in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
    #[serde(default)]
    pub stale_after_days: Option<u16>,
    #[serde(default)]
    pub breaks: Vec<BreakBody>,
    #[serde(default)]
    pub minimum: Option<MassBody>,
    /// Per cent taken off the weight.
    #[serde(default)]
    pub deduction_percent: Option<String>,
}

/// Another amount from a quantity on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BreakBody {
    pub from: MassBody,
    pub amount: String,
}

impl QuoteBody {
    /// What it asks to be kept; `site` says what goes without saying. A fault names its field.
    pub fn quoting(&self, site: &Site) -> Result<Quoting, Problem> {
        let usual = match &self.currency {
            None => site.currency,
            Some(code) => Currency::parse(code).ok_or_else(|| {
                Problem::bad_body(format!("{code:?} is not a currency of three capital letters, as in EUR")).at("currency")
            })?,
        };
        let typed = Notation::parse(&self.price).map_err(|fault| bad_price(fault).at("price"))?;
        if let Some(other) = typed.currency.filter(|other| self.currency.is_some() && *other != usual) {
            let detail = format!("the price is in {other} and the currency says {usual}: say it once, or the same twice");
            return Err(Problem::bad_body(detail).at("currency"));
        }
        let step = |step: &BreakBody| {
            let from = step.from.mass()?;
            Ok::<_, Problem>(Break { from, amount: Price::signed(&step.amount).map_err(bad_price)? })
        };
        let breaks: Result<Vec<Break>, Problem> = self.breaks.iter().map(step).collect();
        let today = || Ok(site.today());
        let percent = self.deduction_percent.as_deref().map(|text| Price::amount(text).map_err(bad_price));
        Ok(Quoting {
            buyer: name(&self.buyer),
            grade: name(&self.grade),
            rate: typed.rate(usual),
            day: self.day.as_deref().map_or_else(today, day).map_err(|problem| problem.at("day"))?,
            stale_after: self.stale_after_days,
            breaks: breaks.map_err(|problem| problem.at("breaks"))?,
            minimum: self.minimum.as_ref().map(positive).transpose().map_err(|problem| problem.at("minimum"))?,
            deduction: percent.transpose().map_err(|problem| problem.at("deduction_percent"))?,
        })
    }
}

//! What requests carry. A decimal is a text: a JSON number passes through binary floating point in many programs.

use super::problem::Problem;
use crate::command::{NameRef, Refusal};
use crate::economy::coins::Coin;
use crate::facts::KnownWeight;
use crate::facts::{Source, Void};
use crate::measure::{Displayed, Mass, Unit};
use crate::render::check_words;
use axum::extract::{FromRequest, Request};
use axum::http::{StatusCode, header};
use jiff::civil::Date;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize};
use utoipa::ToSchema;

/// A JSON body, or a problem that says what is wrong with it and where.
pub struct Body<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Body<T>, Problem> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("nothing");
        if kind.split(';').next().map(str::trim) != Some("application/json") {
            let detail = format!("the body must be sent as application/json, and this says {kind}");
            return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "not-json", detail));
        }
        let bytes = axum::body::Bytes::from_request(request, state).await.map_err(|fault| {
            Problem::new(StatusCode::PAYLOAD_TOO_LARGE, "body-unreadable", format!("the body cannot be read: {fault}"))
        })?;
        let bytes = if bytes.is_empty() { axum::body::Bytes::from_static(b"{}") } else { bytes };
        // A list would be taken for the fields in their order, which nobody who reads the document would expect.
        if bytes.trim_ascii_start().first() == Some(&b'[') {
            return Err(Problem::bad_body("the body must be an object with named keys, and this is a list"));
        }
        serde_json::from_slice(&bytes)
            .map(Body)
            .map_err(|fault| Problem::bad_body(format!("the body is not what is asked for: {fault}")))
    }
}

/// A weight in one unit.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MassBody {
    #[serde(default)]
    pub grams: Option<String>,
    #[serde(default)]
    pub kg: Option<String>,
    #[serde(default)]
    pub lb: Option<String>,
    #[serde(default)]
    pub oz: Option<String>,
}

impl MassBody {
    pub fn mass(&self) -> Result<Mass, Problem> {
        let named = [(&self.grams, Unit::Gram), (&self.kg, Unit::Kilogram), (&self.lb, Unit::Pound), (&self.oz, Unit::Ounce)];
        let mut given = named.into_iter().filter_map(|(text, unit)| Some((text.as_ref()?, unit)));
        let (Some((text, unit)), None) = (given.next(), given.next()) else {
            return Err(Problem::bad_body("a weight has one of grams, kg, lb or oz, as in {\"kg\": \"1.25\"}"));
        };
        let exact = Mass::parse(text, unit);
        exact.map_err(|fault| Problem::bad_body(format!("{text:?} is not a weight in {unit}: {fault}; write it as \"1.25\"")))
    }

    /// The step of the last digit that was written: what a display of this number resolves.
    pub fn last_digit(&self) -> Option<Mass> {
        let named = [(&self.grams, Unit::Gram), (&self.kg, Unit::Kilogram), (&self.lb, Unit::Pound), (&self.oz, Unit::Ounce)];
        let (text, unit) = named.into_iter().find_map(|(text, unit)| Some((text.as_ref()?, unit)))?;
        let shown = Displayed::from_digits(text.trim_start_matches('-').as_bytes()).ok()?;
        Mass::of(Displayed { count: 1, exponent: shown.exponent }, unit)
    }
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseBody {
    /// The bin's number, or null for none.
    pub number: Option<u32>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MannerBody {
    /// `heap`, `tray`, `pan` or `sort`.
    pub manner: String,
}

#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct FeedBody {
    /// What is taken apart, by its name.
    pub feed: Option<String>,
}

#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct EmptyBody {}

#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct BinBody {
    /// The number painted on it; none means one more than the highest.
    pub number: Option<u32>,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub tare: Option<MassBody>,
    pub capacity: Option<MassBody>,
}

/// What is to be changed: a key that is absent is left alone, null clears it.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct BinChangeBody {
    pub number: Option<u32>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub name: Option<Option<String>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub grade: Option<Option<String>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<MassBody>)]
    pub tare: Option<Option<MassBody>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<MassBody>)]
    pub capacity: Option<Option<MassBody>>,
    /// Room that it takes in the vehicle.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u32>)]
    pub litres: Option<Option<u32>>,
    pub retired: Option<bool>,
}

pub fn present<'de, D: Deserializer<'de>, T: Deserialize<'de>>(deserializer: D) -> Result<Option<Option<T>>, D::Error> {
    Option::deserialize(deserializer).map(Some)
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NameBody {
    pub name: String,
}

#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct NameChangeBody {
    pub name: Option<String>,
    pub retired: Option<bool>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReasonBody {
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TipBody {
    /// The bin that it is tipped into, by its number.
    pub to: u32,
    pub reason: String,
}

/// Where a weight comes from.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", tag = "from")]
pub enum SourceBody {
    /// This bench's scale, weighed again.
    BenchScale {
        #[serde(default)]
        division: Option<MassBody>,
    },
    HangingScale {
        #[serde(default)]
        division: Option<MassBody>,
    },
    YardScale {
        #[serde(default)]
        division: Option<MassBody>,
    },
    Label {
        #[serde(default)]
        division: Option<MassBody>,
    },
    Estimate {
        low: MassBody,
        high: MassBody,
    },
}

impl SourceBody {
    /// A source that names no division resolves the last digit of `mass` as it was written.
    pub fn source(&self, mass: &MassBody) -> Result<Source, Problem> {
        let division = |given: &Option<MassBody>| match given {
            Some(given) => given.mass(),
            None => mass.last_digit().ok_or_else(|| Problem::bad_body("name the division of the scale that showed it")),
        };
        Ok(match self {
            SourceBody::BenchScale { division: given } => Source::BenchScale { division: division(given)? },
            SourceBody::HangingScale { division: given } => Source::HangingScale { division: division(given)? },
            SourceBody::YardScale { division: given } => Source::YardScale { division: division(given)? },
            SourceBody::Label { division: given } => Source::Label { division: division(given)? },
            SourceBody::Estimate { low, high } => Source::Estimate { low: low.mass()?, high: high.mass()? },
        })
    }
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WeightBody {
    /// The bin's number; none keeps it without a bin.
    #[serde(default)]
    pub bin: Option<u32>,
    pub mass: MassBody,
    pub source: SourceBody,
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockBody {
    pub mass: MassBody,
    pub source: SourceBody,
    pub reason: String,
}

#[derive(Debug, Clone, Copy, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VoidKind {
    /// It was no material; the weight came back off.
    NeverMaterial,
    /// It is being taken out of the bin now.
    TakenOutNow,
}

impl From<VoidKind> for Void {
    fn from(kind: VoidKind) -> Void {
        match kind {
            VoidKind::NeverMaterial => Void::NeverMaterial,
            VoidKind::TakenOutNow => Void::TakenOutNow,
        }
    }
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VoidBody {
    pub which: VoidKind,
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveBody {
    /// The bin that it belongs to, by its number.
    pub to: u32,
    /// This drop and every later one of the bench that lies in the same bin.
    #[serde(default)]
    pub since: bool,
    pub reason: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum PressKind {
    /// Presses are counted and do nothing.
    Trial,
    /// A long press chooses the next bin; only after a trial of ten.
    On,
    Off,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PressBody {
    pub press: PressKind,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IntakeBody {
    /// Whether the next load is an intake.
    pub asked: bool,
    /// What is to be taken apart; without it, what is at hand when it lands.
    #[serde(default)]
    pub feed: Option<String>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LotFeedBody {
    pub feed: String,
}

/// An intake that was weighed elsewhere, counted, or drawn from a bin.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LotBody {
    pub feed: String,
    /// With its source; without both it is only counted.
    #[serde(default)]
    pub mass: Option<MassBody>,
    #[serde(default)]
    pub source: Option<SourceBody>,
    #[serde(default)]
    pub pieces: Option<u32>,
    /// To which depth it is taken apart, in a word of your own.
    #[serde(default)]
    pub depth: Option<String>,
    /// The number of the bin that it was drawn from: the bin goes down by the mass.
    #[serde(default)]
    pub from_bin: Option<u32>,
    pub reason: String,
}

/// Minutes that a lot took away from the bench.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MinutesBody {
    pub minutes: u32,
    /// What for, in a few words.
    pub what: String,
    /// As in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StillnessBody {
    /// Away from the bench, or working all the same.
    pub away: bool,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WasBinBody {
    /// The bin that was set down, by its number.
    pub number: u32,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandBody {
    /// The removal, by its number in the list of what is to settle.
    pub removal: u64,
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckBody {
    /// What the weight weighs.
    pub nominal: MassBody,
    /// What it is and who says so.
    pub source: String,
    /// How far it may itself be off; without it, it bounds nothing.
    #[serde(default)]
    pub within: Option<MassBody>,
    /// What the scale showed; without it, what it shows now.
    #[serde(default)]
    pub shown: Option<MassBody>,
    /// The scale's; without it, that of the scale on the bench, else the last digit of what it showed.
    #[serde(default)]
    pub division: Option<MassBody>,
}

/// So many coins of one kind, as in `{"code": "us-nickel", "count": 40}`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CoinsBody {
    pub code: String,
    pub count: u32,
}

/// A known weight: its mass with what it is, or coins.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KnownWeightBody {
    #[serde(default)]
    pub nominal: Option<MassBody>,
    /// What it is and who says so; coins say it themselves.
    #[serde(default)]
    pub source: Option<String>,
    /// How far it may itself be off; without it, it bounds nothing.
    #[serde(default)]
    pub within: Option<MassBody>,
    #[serde(default)]
    pub coins: Option<CoinsBody>,
}

impl KnownWeightBody {
    pub fn weight(&self) -> Result<KnownWeight, Problem> {
        let within = self.within.as_ref().map(MassBody::mass).transpose()?;
        let (nominal, source) = match (&self.nominal, &self.coins) {
            (Some(nominal), None) => (nominal.mass()?, self.source.clone().unwrap_or_default()),
            (None, Some(coins)) => {
                let coin = Coin::of(&coins.code).ok_or_else(|| Problem::bad_body(check_words::unknown_coin(&coins.code)))?;
                (coin.times(coins.count), check_words::coins(coin, coins.count))
            }
            _ => return Err(Problem::bad_body("say what the weight weighs, or which coins it is: one of both")),
        };
        Ok(KnownWeight { nominal, within, source })
    }
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckAskBody {
    /// Whether the next load of about its weight is a check weight.
    pub asked: bool,
    #[serde(default)]
    pub weight: Option<KnownWeightBody>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WasCheckBody {
    pub weight: KnownWeightBody,
    /// The scale's when it was weighed; without it, that of the scale on the bench if it is still in that stretch.
    #[serde(default)]
    pub division: Option<MassBody>,
}

#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DisturbanceBody {
    /// `moved`, `mended` or `exchanged`.
    pub how: String,
    pub reason: String,
}

pub fn positive(mass: &MassBody) -> Result<Mass, Problem> {
    let mass = mass.mass()?;
    if mass > Mass::ZERO { Ok(mass) } else { Err(Refusal::NotPositive { mass }.into()) }
}

pub fn bad_price(fault: crate::measure::BadPrice) -> Problem {
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, "bad-price", fault.to_string())
}

pub fn day(text: &str) -> Result<Date, Problem> {
    text.parse().map_err(|_| Problem::bad_body(format!("{text:?} is not a day such as 2026-03-01")))
}

pub fn name(text: &str) -> NameRef {
    NameRef(text.to_owned())
}

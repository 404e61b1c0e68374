//! The density check. It reads nothing of the books.

use super::report::{given, read};
use crate::http::pages::framed;
use crate::http::problem::Problem;
use crate::http::site::Site;
use crate::measure::Written;
use crate::query::{self, DensityQuestion};
use crate::render::json::DensityView;
use crate::render::metal_words;
use crate::render::page::{self, DensityFields};
use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;
use utoipa::IntoParams;

#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
pub struct DensityQuery {
    /// The dry weight with its unit, as in `250.0g`.
    pub dry: Option<String>,
    /// The weight hung in water, as in `220.7g`.
    pub in_water: Option<String>,
    /// The water's temperature in degrees Celsius.
    pub water: Option<String>,
    /// How far the thermometer may be off, in kelvin; without it, 1.
    pub within: Option<String>,
    /// The scale's division, as in `0.1g`; without it, the coarser of the last digits of the two weights.
    pub division: Option<String>,
}

type Asked = Result<Query<DensityQuery>, QueryRejection>;

impl DensityQuery {
    fn question(&self) -> Result<DensityQuestion, Problem> {
        let division = given(&self.division).map(|text| weight("division", text)).transpose()?;
        Ok(DensityQuestion {
            dry: weight("dry", wanted("dry", &self.dry)?)?,
            in_water: weight("in_water", wanted("in_water", &self.in_water)?)?,
            water: degrees("water", wanted("water", &self.water)?)?,
            within: given(&self.within).map(|text| degrees("within", text)).transpose()?,
            division: division.map(|written| written.mass),
        })
    }

    fn view(&self) -> Result<DensityView, Problem> {
        let answer = query::density(&self.question()?).map_err(|bad| {
            let code = metal_words::bad_density_code(bad);
            Problem::new(StatusCode::UNPROCESSABLE_ENTITY, code, metal_words::bad_density(bad))
        })?;
        Ok(DensityView::from(&answer))
    }
}

fn wanted<'a>(key: &str, text: &'a Option<String>) -> Result<&'a str, Problem> {
    given(text).ok_or_else(|| Problem::bad_query(format!("{key} is missing: dry, in_water and water are needed")))
}

fn weight(key: &str, text: &str) -> Result<Written, Problem> {
    Written::parse(text).map_err(|fault| Problem::bad_query(format!("{key}, {text:?}: {fault}")))
}

fn degrees(key: &str, text: &str) -> Result<Decimal, Problem> {
    let fault = || Problem::bad_query(format!("{key}, {text:?}: degrees Celsius are a number with a point, as in 20.5"));
    Decimal::from_str_exact(text).map_err(|_| fault())
}

/// Which metals fit a piece that was weighed dry and hung in water.
#[utoipa::path(get, path = "/v1/density", params(DensityQuery), responses((status = 200, body = DensityView), (status = 400, body = Problem), (status = 422, body = Problem)))]
pub async fn show(asked: Asked) -> Result<Json<DensityView>, Problem> {
    let query = read(asked)?;
    query.view().map(Json)
}

/// The page with the form.
pub async fn page(State(site): State<Site>, asked: Asked) -> Result<Response, Problem> {
    let query = read(asked)?;
    let typed = |text: &Option<String>| given(text).unwrap_or_default().to_owned();
    let fields = DensityFields {
        dry: typed(&query.dry),
        in_water: typed(&query.in_water),
        water: typed(&query.water),
        within: typed(&query.within),
        division: typed(&query.division),
    };
    let nothing_asked = [&query.dry, &query.in_water, &query.water].into_iter().all(|text| given(text).is_none());
    let answer = (!nothing_asked).then(|| query.view());
    let told = answer.as_ref().map(|answer| answer.as_ref().map_err(|problem| problem.detail.as_str()));
    Ok(framed(&site, "Which metal", None, false, |frame| page::density(frame, &fields, told)))
}

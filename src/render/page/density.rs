//! The density check: a form that works without script, and what it comes to.

use super::Frame;
use crate::render::json::{DensityView, MetalView};
use crate::render::metal_words::{DENSITY_CAUTION, DENSITY_HOW};
use maud::{Markup, html};

/// What stands in the form, as it was typed.
#[derive(Debug, Clone, Default)]
pub struct DensityFields {
    pub dry: String,
    pub in_water: String,
    pub water: String,
    pub within: String,
    pub division: String,
}

/// The page; `answer` is none while nothing is asked, and a fault is told in its place.
pub fn density(frame: &Frame, fields: &DensityFields, answer: Option<Result<&DensityView, &str>>) -> String {
    let body = html! {
        h1 { "Which metal is it?" }
        p { (DENSITY_HOW) }
        form method="get" action="/density" {
            (field("dry", "Dry, with its unit", &fields.dry, "250.0g", true))
            (field("in_water", "Hung in water", &fields.in_water, "220.7g", true))
            (field("water", "Water, °C", &fields.water, "20", true))
            (field("within", "Thermometer right within, °C", &fields.within, "1", false))
            (field("division", "The scale shows every", &fields.division, "0.1g", false))
            button { "Reckon the density" }
        }
        @match answer {
            None => {},
            Some(Err(fault)) => p.said role="status" { (fault) },
            Some(Ok(view)) => (result(view)),
        }
        p { (DENSITY_CAUTION) }
    };
    frame.around(body)
}

fn field(name: &str, label: &str, value: &str, example: &str, required: bool) -> Markup {
    html! { label { (label) " " input name=(name) value=(value) placeholder=(example) required[required] autocomplete="off"; } }
}

fn result(view: &DensityView) -> Markup {
    html! {
        section aria-labelledby="density" {
            h2 #density { (view.kg_per_m3) " ± " (view.uncertainty_kg_per_m3) " kg/m³" }
            p.said role="status" { (view.said) }
            p { "With a scale that shows " (view.division.grams) " g and water known within " (view.water_within) " °C; ± is about 95 %." }
            @if !view.fits.is_empty() { h3 { "These fit" } (metals(&view.fits)) }
            @if !view.finer.is_empty() {
                h3 { "What a finer scale would tell" }
                ul { @for sentence in view.finer_words() { li { (sentence) } } }
            }
            @if !view.ruled_out.is_empty() { h3 { "These are ruled out" } (metals(&view.ruled_out)) }
        }
    }
}

fn metals(metals: &[MetalView]) -> Markup {
    html! {
        table {
            thead { tr { th { "Metal" } th.figure { "from kg/m³" } th.figure { "to kg/m³" } } }
            tbody {
                @for metal in metals {
                    tr { th scope="row" { (metal.name) } td.figure { (metal.from_kg_per_m3) } td.figure { (metal.to_kg_per_m3) } }
                }
            }
        }
    }
}

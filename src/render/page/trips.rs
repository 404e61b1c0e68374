//! What a drive is planned from: the vehicle, yards, roads, holds, pins.

use super::Frame;
use crate::measure::{Mass, Unit, Written};
use crate::render::json::{HoldView, MassView, PinView, TripFactsView, VehicleView, YardView};
use crate::render::trip_words::{PINS, weekdays};
use maud::{Markup, html};

/// The title.
pub const TRIPS: &str = "Yards and vehicle";

pub fn trips(frame: &Frame, view: &TripFactsView, currency: &str) -> String {
    let body = html! {
        h1 { (TRIPS) }
        p { "What is told here is what " a href="/reports/plan" { "the plan of a drive" } " stands on. What nobody has told is said there, and never guessed." }
        (vehicle(frame, &view.vehicle, currency))
        section aria-labelledby="yards" {
            h2 #yards { "Where the buyers are" }
            @if view.yards.is_empty() { p { "There is no buyer yet." } }
            @for told in &view.yards { (yard(frame, told)) }
        }
        (roads(frame, view))
        section aria-labelledby="holds" {
            h2 #holds { "Grades that wait for a price" }
            p.small { "Sold at this price or above. From the day, or from the weight in all bins, it goes anyway." }
            @for told in &view.holds { (hold(frame, told)) }
        }
        section aria-labelledby="bins" {
            h2 #bins { "Bins" }
            p.small { "What is decided about a bin ends when it is emptied or loaded." }
            @for told in &view.bins { (bin(frame, told)) }
        }
    };
    frame.around(body)
}

/// As a person would write it.
fn typed(mass: &MassView) -> String {
    Mass::parse(&mass.grams, Unit::Gram).map_or_else(|_| format!("{}g", mass.grams), Written::shortest)
}

fn vehicle(frame: &Frame, told: &VehicleView, currency: &str) -> Markup {
    let per = |unit: &str| told.running.as_ref().map_or(unit == "km", |running| running.per == unit);
    let cost = told.running.as_ref().map(|running| &running.cost);
    html! {
        section aria-labelledby="vehicle" {
            h2 #vehicle { "The vehicle" }
            form.forms method="post" action="/trips/vehicle" {
                (frame.seal())
                input type="hidden" name="seen" value=(told.version);
                input type="hidden" name="currency" value=(cost.map_or(currency, |cost| &cost.currency));
                label { "Bears, bins with it " input name="payload" size="8" placeholder="450 kg" value=[told.payload.as_ref().map(typed)] autocomplete="off"; }
                label { "Room, litres " input name="litres" inputmode="numeric" size="6" value=[told.litres] autocomplete="off"; }
                label { "Places for bins " input name="bins" inputmode="numeric" size="4" value=[told.bins] autocomplete="off"; }
                label { "Fuel and wear, " (cost.map_or(currency, |cost| &cost.currency)) " " input name="running" inputmode="decimal" size="6" value=[cost.map(|cost| &cost.amount)] autocomplete="off"; }
                label { "for each " select name="per" {
                    option value="km" selected[per("km")] { "kilometre" }
                    option value="mi" selected[per("mi")] { "mile" }
                } }
                button { "Keep the vehicle" }
            }
            p.small { "An empty field sets no limit." }
        }
    }
}

fn yard(frame: &Frame, told: &YardView) -> Markup {
    let distance = told.way.as_ref().map(|way| format!("{} {}", way.distance.amount, way.distance.unit));
    let open = |day: &str| told.open.as_ref().is_some_and(|open| open.iter().any(|known| known == day));
    html! {
        form.forms method="post" action="/trips/yard" data-buyer=(told.buyer) {
            (frame.seal())
            input type="hidden" name="buyer" value=(told.buyer);
            input type="hidden" name="seen" value=(told.version);
            h3 { (told.buyer) }
            label { "From home, one way " input name="distance" size="9" placeholder="12.5 km or 8 mi" value=[distance] autocomplete="off"; }
            label { "Minutes, one way " input name="minutes" inputmode="numeric" size="4" value=[told.way.as_ref().map(|way| way.minutes)] autocomplete="off"; }
            label { "Minutes spent there " input name="minutes_there" inputmode="numeric" size="4" value=[told.minutes_there] autocomplete="off"; }
            fieldset {
                legend { "Open on" @if told.open.is_none() { " (not told)" } }
                @for (code, name) in weekdays() { label.tick { input type="checkbox" name=(code) value="yes" checked[open(code)]; " " (name) } }
            }
            label { "Closed on the days " input name="closed" size="24" placeholder="2026-12-24, 2026-12-26" value=(told.closed.join(", ")) autocomplete="off"; }
            button { "Keep" span.hidden { " where " (told.buyer) " is" } }
        }
    }
}

fn roads(frame: &Frame, view: &TripFactsView) -> Markup {
    let choice = |name: &str| {
        html! { select name=(name) { @for yard in &view.yards { option { (yard.buyer) } } } }
    };
    html! {
        section aria-labelledby="roads" {
            h2 #roads { "Roads between buyers" }
            p.small { "Where no road is told, the way from one to the other counts as the way by home." }
            @for road in &view.roads {
                form.forms method="post" action="/trips/road" {
                    (frame.seal())
                    input type="hidden" name="one" value=(road.one);
                    input type="hidden" name="other" value=(road.other);
                    p { (road.one) " – " (road.other) ": " (road.way.distance.amount) " " (road.way.distance.unit) ", " (road.way.minutes) " min" }
                    button { "Take back" span.hidden { " the road from " (road.one) " to " (road.other) } }
                }
            }
            @if view.yards.len() > 1 {
                form.forms method="post" action="/trips/road" {
                    (frame.seal())
                    label { "From " (choice("one")) }
                    label { "to " (choice("other")) }
                    label { "Distance " input name="distance" size="9" placeholder="12.5 km or 8 mi" required autocomplete="off"; }
                    label { "Minutes " input name="minutes" inputmode="numeric" size="4" required autocomplete="off"; }
                    button { "Keep the road" }
                }
            }
        }
    }
}

fn hold(frame: &Frame, told: &HoldView) -> Markup {
    html! {
        form.forms method="post" action="/trips/hold" data-grade=(told.grade) {
            (frame.seal())
            input type="hidden" name="grade" value=(told.grade);
            input type="hidden" name="seen" value=(told.version);
            @if let Some(currency) = &told.currency { input type="hidden" name="currency" value=(currency); }
            h3 { (told.grade) }
            label { "Tell me at this price or above " input name="at" size="9" placeholder="4.00/lb" value=[told.at.as_ref()] autocomplete="off"; }
            label { "sell anyway by " input name="by" type="date" value=[told.by.as_ref()]; }
            label { "or from this weight on " input name="from" size="8" placeholder="40 kg" value=[told.from.as_ref().map(typed)] autocomplete="off"; }
            button { "Keep" span.hidden { " the hold of " (told.grade) } }
        }
    }
}

fn bin(frame: &Frame, told: &PinView) -> Markup {
    html! {
        section id={ "bin-" (told.bin) } {
            h3 { "Bin " (told.bin) @if let Some(grade) = &told.grade { ", " (grade) } ", " (told.mass.kg) " kg" }
            form.forms method="post" action={ "/bins/" (told.bin) "/litres" } {
                (frame.seal())
                label { "Room that it takes, litres " input name="litres" inputmode="numeric" size="5" value=[told.litres] placeholder="not told" autocomplete="off"; }
                button { "Keep" span.hidden { " the room of bin " (told.bin) } }
            }
            form.forms method="post" action={ "/bins/" (told.bin) "/pin" } {
                (frame.seal())
                label { "On the next drive it " select name="pin" {
                    option value="" selected[told.pin.is_none()] { "goes if it pays" }
                    @for (_, code, words) in PINS { option value=(code) selected[told.pin.as_deref() == Some(code)] { (words) } }
                } }
                button { "Keep" span.hidden { " this of bin " (told.bin) } }
            }
        }
    }
}

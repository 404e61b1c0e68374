//! What a drive is planned from, for the terminal.

use super::json::TripFactsView;

pub fn told(view: &TripFactsView) -> String {
    let vehicle = &view.vehicle;
    let or = |told: Option<String>, unit: &str| told.map_or_else(|| "not told".to_owned(), |told| format!("{told}{unit}"));
    let mut out = format!(
        "The vehicle bears {}; room {}; places for bins: {}; fuel and wear {}\n",
        or(vehicle.payload.as_ref().map(|mass| mass.kg.clone()), " kg"),
        or(vehicle.litres.map(|litres| litres.to_string()), " litres"),
        or(vehicle.bins.map(|bins| bins.to_string()), ""),
        or(vehicle.running.as_ref().map(|told| format!("{} {} a {}", told.cost.amount, told.cost.currency, told.per)), ""),
    );
    for yard in &view.yards {
        let Some((way, there)) = yard.way.as_ref().zip(yard.minutes_there) else {
            out.push_str(&format!("\n{}: nobody has told where it is\n", yard.buyer));
            continue;
        };
        let (distance, open) = (&way.distance, yard.open.as_ref().map(|days| days.join(" ")));
        out.push_str(&format!(
            "\n{}: {} {}, {} min one way, {there} min there; open: {}",
            yard.buyer,
            distance.amount,
            distance.unit,
            way.minutes,
            or(open, "")
        ));
        if !yard.closed.is_empty() {
            out.push_str(&format!("; closed on {}", yard.closed.join(", ")));
        }
        out.push('\n');
    }
    if !view.roads.is_empty() {
        out.push('\n');
    }
    for road in &view.roads {
        let distance = &road.way.distance;
        out.push_str(&format!(
            "{} to {}: {} {}, {} min\n",
            road.one, road.other, distance.amount, distance.unit, road.way.minutes
        ));
    }
    let held = view.holds.iter().filter_map(|hold| Some((hold, hold.at.as_ref()?, hold.currency.as_ref()?)));
    for (hold, at, currency) in held {
        out.push_str(&format!("\n{} is held for {at} {currency} or above", hold.grade));
        if let Some(by) = &hold.by {
            out.push_str(&format!("; it goes anyway from {by} on"));
        }
        if let Some(from) = &hold.from {
            out.push_str(&format!("; it goes anyway from {} kg on", from.kg));
        }
        out.push('\n');
    }
    for bin in view.bins.iter().filter(|bin| bin.pin.is_some()) {
        let words = super::trip_words::PINS.iter().find(|(_, code, _)| Some(*code) == bin.pin.as_deref());
        out.push_str(&format!("\nBin {} {}\n", bin.bin, words.map_or("", |(.., words)| words)));
    }
    out
}

//! The words of the kerb list, in English.

use super::hour_words::another_currency;
use super::text::counted;
use crate::economy::marks::{When, Why};
use crate::facts::Mark;
use crate::query::{Kerb, KerbLine};
use rust_decimal::Decimal;

/// What stands over each part of the list, by the code of its lines.
pub const PARTS: [(&str, &str); 3] =
    [("take-first", "Take it first"), ("room-left", "Take it while there is room"), ("leave-today", "Leave it today")];

/// Which prices the figures stand on.
pub fn prices(kerb: &Kerb) -> String {
    let (day, currency) = (kerb.day, kerb.currency);
    match &kerb.buyer {
        Some(buyer) => format!("quotes of {buyer} in force on {day}, in {currency}"),
        None => format!("the best quotes in force on {day}, in {currency}"),
    }
}

/// Why it stands where it stands, in one line.
pub fn reason(kerb: &Kerb, line: &KerbLine) -> String {
    match &line.when {
        When::First => format!("an hour of it surely brings {}", wanted(kerb)),
        When::IfRoom(why) => one(kerb, line, why),
        When::NotToday(whys) => whys.iter().map(|why| one(kerb, line, why)).collect::<Vec<_>>().join("; "),
    }
}

fn one(kerb: &Kerb, line: &KerbLine, why: &Why) -> String {
    let lots = || counted(line.closed_lots, "lot");
    match why {
        Why::Veto { reason } => format!("not this, you said: {reason}"),
        Why::Strain(mark) => format!("{} strain on the hands, more than today allows", amount(*mark)),
        Why::Mess(mark) => format!("{} mess, more than today allows", amount(*mark)),
        Why::Space(mark) => format!("takes {} space, more than today allows", amount(*mark)),
        Why::UnderFloor => format!("an hour of it surely brings {}", under(kerb)),
        Why::AroundFloor => format!("over {} it cannot be told whether an hour brings {}", lots(), wanted(kerb)),
        Why::NotTried => "nothing is known of it: a trial against the clock would tell".into(),
        Why::FewLots => format!("brings {} so far, over {}: too few to be sure", wanted(kerb), lots()),
        Why::OneTrial => format!("brought {} in one trial against the clock: one sample", wanted(kerb)),
        Why::SoFarUnder => {
            let over = if line.by_trial { "in one trial".to_owned() } else { format!("over {}", lots()) };
            format!("{} so far, {over}: too little to be sure", under(kerb))
        }
    }
}

/// What an hour must bring.
fn wanted(kerb: &Kerb) -> String {
    match kerb.floor.filter(|floor| *floor > Decimal::ZERO) {
        Some(floor) => format!("the {:.2} {} that you ask", floor, kerb.currency),
        None => "something".into(),
    }
}

fn under(kerb: &Kerb) -> String {
    match kerb.floor.filter(|floor| *floor > Decimal::ZERO) {
        Some(_) => format!("less than {}", wanted(kerb)),
        None => "nothing".into(),
    }
}

const fn amount(mark: Mark) -> &'static str {
    match mark {
        Mark::None => "no",
        Mark::Some => "some",
        Mark::Much => "much",
    }
}

/// What the list says of itself.
pub fn notes(kerb: &Kerb) -> Vec<String> {
    let mut notes = vec![
        "By what an hour of taking it apart adds, over lots that are worked off; in brackets where it lies with 95 % from four \
         lots on. Fetching is not in it."
            .to_owned(),
    ];
    notes.push(if kerb.left {
        "What nobody buys whole is counted against leaving it where it stands.".into()
    } else {
        "Of what nobody buys whole there is no figure, since nobody has said that it would have been left.".into()
    });
    if let Some(floor) = kerb.floor.filter(|_| kerb.floor_told) {
        notes.push(format!("An hour must bring {floor:.2} {}, as you told it.", kerb.currency));
    }
    if kerb.floor.is_none() {
        notes.push("You have not said what an hour must bring, so anything above nothing counts.".into());
    }
    if let Some(floor) = kerb.floor_elsewhere {
        notes.push(another_currency(floor));
    }
    notes.push("Take only what is yours to take: what stands at the kerb may belong to somebody, and local rules hold.".into());
    notes
}

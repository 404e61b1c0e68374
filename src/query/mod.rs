//! The read side of every face: a typed question over the books, a typed answer. Pure, and never rounded here.

mod buyers;
mod checks;
mod density;
mod held;
mod hour;
mod kerb;
mod lists;
mod load_sheet;
mod lot_tally;
mod market;
mod outlays;
mod picked;
mod pieces;
mod places;
mod plan;
mod price_history;
mod prices;
mod riddles;
mod round;
mod runs;
mod standing;
mod tickets;
mod trials;
mod week;
mod when;
mod whole_job;
mod wire;
mod worth;
mod yard_run;
mod year;

pub use buyers::{BuyerAnswer, BuyersAnswer, PaidGrade, SeenTicket, buyers, likely_price};
pub use checks::{
    CheckLine, CheckQuestion, CheckRule, DisturbanceLine, ScaleChecks, WARM_UP, bound_ppm, checks, due, ever_checked, warming,
};
pub use density::{BadDensity, DensityAnswer, DensityQuestion, Finer, density};
pub use hour::{FeedHour, GradeHour, HourQuestion, HourReport, buyer_named, grade_named, hour};
pub use kerb::{Kerb, KerbLine, KerbQuestion, kerb};
pub use lists::{
    BinLine, DropLine, DropQuestion, LegLine, LotLine, NameLine, QuoteLine, SessionLine, bins, drops, lots, names, quotes,
    sessions,
};
pub use load_sheet::{Boarding, LoadSheet, SheetBin, SheetLine, SheetQuestion, SheetStop, load_sheet};
pub use lot_tally::Apart;
pub use outlays::{ArrivalLine, SpendingLine, TimeLine, TimeSort, arrivals, spendings, times};
pub use picked::{BadPick, Picked, numbers};
pub use places::{LEAST_DAYS, LOOKED_BACK, PlaceLine, PlacesQuestion, PlacesReport, places};
pub use plan::{
    Beyond, BeyondBuyer, BrokenRule, Drive, EFFORT_MAX, HeldGrade, HoldState, HomeBin, HomeWhy, LoadedBin, Missing, Outcome,
    PlanQuestion, PlanReport, Planned, QuoteRange, Stop, StopLine, WaitUnknown, Waiting, held_grades, plan,
};
pub use price_history::{PriceHistory, PricePoint, PriceSeries, PricesQuestion, price_history};
pub use prices::{BuyerLine, BuyerPrices, GradeLine, GridLine, GridQuestion, Held, buyer_lines, grade_lines, price_grid};
pub use riddles::{Riddle, riddles};
pub use round::{ROUND_DAYS, Round, RoundLine, round};
pub use runs::{RunBin, RunLine, runs};
pub use standing::{BenchLine, IntakeLine, bench};
pub use tickets::{
    Downgrade, LoadAnswer, PaymentAnswer, Quoted, TicketAnswer, TicketFlag, TicketLineAnswer, TicketQuestion, Tied, ticket,
    tickets,
};
pub use trials::{TrialHour, TrialLine, TrialOutput, running_trial};
pub use week::{BinWeek, Week, WeekQuestion, week};
pub use when::{
    BinFill, Deadline, Due, GoBy, GradeFill, LoadDay, MOST_DAYS, SHOWN_DAYS, TripCost, TripFrom, WhenQuestion, WhenReport, when,
};
pub use whole_job::JobHour;
pub use wire::{WireKind, WireLine, WirePriced, WireQuestion, WireReport, WireUnpriced, wire};
pub use worth::{Priced, WholeSaid};
pub use yard_run::{Column, Offer, OwnError, Row, YardRun, YardRunQuestion, yard_run};

pub use year::{Income, LotRecord, Spent, Stock, Trip, Year, YearQuestion, year};

pub use crate::economy::quotes::{Total, days_between};

use crate::measure::Stamp;
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;

/// The local day of a stamp; none when its clock could not be trusted.
pub fn local_day(at: &Stamp, zone: &TimeZone) -> Option<Date> {
    at.trusted.then(|| zone.to_datetime(at.wall).date())
}

/// Whether something dated so was there by the end of a local day. What has no trusted date always was: nothing is dropped
/// silently.
pub(crate) fn by_end_of(day: Date, at: &Stamp, zone: &TimeZone) -> bool {
    // No zone is more than a day and two hours off: what lies two days from noon needs no look at the zone.
    const FAR: i64 = 2 * 86_400;
    let noon = TimeZone::UTC.to_timestamp(day.at(12, 0, 0, 0)).map_or(0, |noon| noon.as_second());
    match at.wall.as_second() - noon {
        _ if !at.trusted => true,
        apart if apart < -FAR => true,
        apart if apart > FAR => false,
        _ => zone.to_datetime(at.wall).date() <= day,
    }
}

/// Where all that is dated in one day of Greenwich lies to the end of a local day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lies {
    Before,
    After,
    /// Some of it here, some there: each has to be looked at.
    Across,
}

/// Where the entries of a sum of this day lie; without a day they always were.
pub(crate) fn lies(greenwich: Option<i64>, by_end_of: Date) -> Lies {
    // No zone is more than a day and two hours off.
    match greenwich.map(|day| day - days_between(date(1970, 1, 1), by_end_of)) {
        None => Lies::Before,
        Some(apart) if apart <= -2 => Lies::Before,
        Some(apart) if apart >= 3 => Lies::After,
        Some(_) => Lies::Across,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::books::SumKey;
    use crate::measure::{BootId, Moment};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_day_ends_where_its_zone_says(hours in -25_i8..=25, seconds in -500_000_i64..500_000, trusted in any::<bool>()) {
            let zone = TimeZone::fixed(jiff::tz::offset(hours));
            let wall = jiff::Timestamp::from_second(1_772_366_400 + seconds).unwrap();
            let at = Stamp { boot: BootId(1), mono: Moment(0), wall, trusted };
            let day = jiff::civil::date(2026, 3, 1);
            let plain = local_day(&at, &zone).is_none_or(|made| made <= day);
            prop_assert_eq!(by_end_of(day, &at, &zone), plain);
            let told = match lies(SumKey::day_of(&at), day) {
                Lies::Before => plain,
                Lies::After => !plain,
                Lies::Across => true,
            };
            prop_assert!(told);
        }
    }
}

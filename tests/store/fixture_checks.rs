//! What is told of check weights before they are laid on, and of what may change a scale: the recorded samples of those facts.

use bismar::dialect::Kind;
use bismar::facts::{
    BinId, CheckLaid, CheckTakenOff, Confirmation, Disturbance, EntryId, Fact, FillId, KnownWeight, RecordVoided, ScaleDisturbed,
    StepId, Void,
};
use bismar::measure::{Displayed, Mass, Moment, Unit};
use bismar::settle::{Act, EpochCause, Rest};

/// Of these facts, behind those of the others.
pub fn kind(fact: &Fact) -> usize {
    match fact {
        Fact::CheckAsked(_) => 68,
        Fact::CheckWithdrawn {} => 69,
        Fact::CheckLaid(_) => 70,
        Fact::CheckTakenOff(_) => 71,
        Fact::ScaleDisturbed(_) => 72,
        other => super::fixture_tickets::kind(other),
    }
}

pub fn facts() -> Vec<Fact> {
    let grams = Mass::grams;
    let rest = |count, since| Rest {
        load: grams(count),
        shown: Displayed { count, exponent: -3 },
        unit: Unit::Kilogram,
        since: Moment(since),
    };
    let added = |from, to, at| Fact::Stepped {
        act: Act::Added,
        delta: grams(to - from),
        landed: Moment(at + 50),
        from: rest(from, at),
        to: rest(to, at + 100),
    };
    let weight = KnownWeight {
        nominal: grams(500),
        within: Mass::parse("0.025", Unit::Gram).ok(),
        source: "test weight, class M1".to_owned(),
    };
    let laid = |step, base, shown, drop| {
        Fact::CheckLaid(Box::new(CheckLaid { step, weight: weight.clone(), base: grams(base), shown: grams(shown), drop }))
    };
    let weighed = |shown, drop| Fact::CheckWeighed {
        nominal: grams(500),
        shown: grams(shown),
        within: weight.within,
        source: Some(weight.source.clone()),
        division: Some(grams(1)),
        scale: Some("bench".to_owned()),
        drop,
    };
    let disturbed =
        |how| Fact::ScaleDisturbed(ScaleDisturbed { how, scale: Some("bench".to_owned()), reason: "as told".to_owned() });
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::BinMade { number: 1, name: None, grade: None, tare: None, capacity: None },
        /* 3 */
        Fact::EpochOpened {
            cause: EpochCause::Link,
            unit: Unit::Kilogram,
            display: Kind::Gross,
            division: grams(1),
            scale: Some("bench".to_owned()),
        },
        /* 4 */ Fact::CheckAsked(KnownWeight { within: None, source: "coins".to_owned(), ..weight.clone() }),
        /* 5 */ Fact::CheckWithdrawn {},
        /* 6 */ Fact::CheckAsked(weight.clone()),
        /* 7 */ added(0, 501, 100),
        /* 8 */ laid(StepId(7), 0, 501, None),
        /* 9 */ Fact::CheckTakenOff(CheckTakenOff { went_back: true }),
        /* 10 */ added(0, 501, 1100),
        /* 11 */ laid(StepId(10), 0, 501, None),
        /* 12 */ weighed(501, None),
        /* 13 */ Fact::CheckTakenOff(CheckTakenOff { went_back: false }),
        /* 14 */ disturbed(Disturbance::Moved),
        /* 15 */ added(0, 500, 2100),
        /* 16 */
        Fact::DropLanded {
            step: StepId(15),
            bin: Some(BinId(2)),
            fill: Some(FillId(2)),
            session: None,
            leg: None,
            mass: grams(500),
            doubt: None,
            transfer: None,
        },
        /* 17 */ Fact::Confirmed { entry: EntryId(16), why: Confirmation::Stayed },
        /* 18 */
        Fact::DropVoided { entry: EntryId(16), which: Void::NeverMaterial, reason: "a check weight".to_owned() },
        /* 19 */ laid(StepId(15), 0, 500, Some(EntryId(16))),
        /* 20 */ weighed(500, Some(EntryId(16))),
        /* 21 */ disturbed(Disturbance::Mended),
        /* 22 */ disturbed(Disturbance::Exchanged),
        /* 23 */ Fact::RecordVoided(RecordVoided { record: 22, reason: "the same one".to_owned() }),
    ]
}

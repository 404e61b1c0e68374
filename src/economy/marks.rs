//! What to take apart next: the pay of a feed beside the owner's own marks for it.

use super::interval::{Against, Interval};
use crate::facts::FeedId;
pub use crate::facts::{Mark, Marks};
use rust_decimal::Decimal;

/// What today allows, at the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Today {
    pub strain: Mark,
    pub mess: Mark,
    pub space: Mark,
}

/// A feed that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    pub feed: FeedId,
    pub marks: Marks,
    /// What taking it apart adds an hour; none with too little data.
    pub per_hour: Option<Decimal>,
    pub interval: Option<Interval>,
    /// The figure is that of a trial against the clock, not of lots.
    pub by_trial: bool,
}

/// Where a feed comes on the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum When {
    First,
    /// When there is room for it.
    IfRoom(Why),
    NotToday(Vec<Why>),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    Veto {
        reason: String,
    },
    /// More strain than today allows.
    Strain(Mark),
    Mess(Mark),
    Space(Mark),
    /// An hour of it surely brings less than the floor.
    UnderFloor,
    /// It cannot be told whether an hour brings the floor.
    AroundFloor,
    /// No figure yet: a timed trial would give one.
    NotTried,
    /// Only points, above the floor: too few lots for an interval.
    FewLots,
    /// Above the floor by a trial against the clock: one sample.
    OneTrial,
    /// Under the floor so far, and too little data to be sure.
    SoFarUnder,
}

/// The list, in its order: first what surely brings the floor, then what may, then what is not for today; within each by what
/// an hour adds, and of two alike the one with the lighter marks.
pub fn order(waiting: &[Waiting], today: Today, floor: Decimal) -> Vec<(FeedId, When)> {
    let mut list: Vec<(&Waiting, When)> = waiting.iter().map(|one| (one, when(one, today, floor))).collect();
    list.sort_by(|(one, a), (other, b)| {
        let place = |when: &When| match when {
            When::First => 0,
            When::IfRoom(_) => 1,
            When::NotToday(_) => 2,
        };
        let weight = |one: &Waiting| one.marks.strain as u8 + one.marks.mess as u8 + one.marks.space as u8;
        place(a)
            .cmp(&place(b))
            .then(other.per_hour.cmp(&one.per_hour))
            .then(weight(one).cmp(&weight(other)))
            .then(one.feed.cmp(&other.feed))
    });
    list.into_iter().map(|(one, when)| (one.feed, when)).collect()
}

fn when(one: &Waiting, today: Today, floor: Decimal) -> When {
    let marks = &one.marks;
    let mut against: Vec<Why> = marks.veto.iter().map(|reason| Why::Veto { reason: reason.clone() }).collect();
    let too_much = |mark: Mark, most: Mark, why: fn(Mark) -> Why| (mark > most).then(|| why(mark));
    against.extend(too_much(marks.strain, today.strain, Why::Strain));
    against.extend(too_much(marks.mess, today.mess, Why::Mess));
    against.extend(too_much(marks.space, today.space, Why::Space));
    let stands = one.interval.map(|interval| interval.against(floor));
    if stands == Some(Against::Below) {
        against.push(Why::UnderFloor);
    }
    if !against.is_empty() {
        return When::NotToday(against);
    }
    match (stands, one.per_hour) {
        (Some(Against::Above), _) => When::First,
        (Some(_), _) => When::IfRoom(Why::AroundFloor),
        (None, None) => When::IfRoom(Why::NotTried),
        (None, Some(point)) if point < floor => When::IfRoom(Why::SoFarUnder),
        (None, Some(_)) if one.by_trial => When::IfRoom(Why::OneTrial),
        (None, Some(_)) => When::IfRoom(Why::FewLots),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ANY: Today = Today { strain: Mark::Much, mess: Mark::Much, space: Mark::Much };

    fn waiting(feed: u64, per_hour: i64, half: Option<i64>) -> Waiting {
        let value = Decimal::from(per_hour);
        Waiting {
            feed: FeedId(feed),
            marks: Marks::default(),
            per_hour: Some(value),
            interval: half.and_then(|half| Interval::around(value, Decimal::from(half))),
            by_trial: false,
        }
    }

    fn listed(list: &[Waiting], today: Today) -> Vec<(u64, When)> {
        order(list, today, Decimal::from(12)).into_iter().map(|(feed, when)| (feed.0, when)).collect()
    }

    #[test]
    fn in_order_of_what_is_sure() {
        let mut untried = waiting(5, 0, None);
        untried.per_hour = None;
        let list = [waiting(1, 8, Some(2)), waiting(2, 30, Some(25)), waiting(3, 15, Some(2)), waiting(4, 50, None), untried];
        let expected = [
            (3, When::First),
            (4, When::IfRoom(Why::FewLots)),
            (2, When::IfRoom(Why::AroundFloor)),
            (5, When::IfRoom(Why::NotTried)),
            (1, When::NotToday(vec![Why::UnderFloor])),
        ];
        assert_eq!(listed(&list, ANY), expected);
    }

    #[test]
    fn a_point_on_the_floor_brings_it() {
        assert_eq!(listed(&[waiting(1, 12, None)], ANY), [(1, When::IfRoom(Why::FewLots))]);
        assert_eq!(listed(&[waiting(1, 11, None)], ANY), [(1, When::IfRoom(Why::SoFarUnder))]);
        let tried = Waiting { by_trial: true, ..waiting(1, 12, None) };
        assert_eq!(listed(&[tried], ANY), [(1, When::IfRoom(Why::OneTrial))]);
    }

    #[test]
    fn the_owner_s_word_comes_before_the_pay() {
        let mut good = waiting(1, 99, Some(1));
        good.marks = Marks { strain: Mark::Some, mess: Mark::Much, space: Mark::None, veto: Some("my back".into()) };
        let tired = Today { strain: Mark::None, mess: Mark::Some, ..ANY };
        let why = vec![Why::Veto { reason: "my back".into() }, Why::Strain(Mark::Some), Why::Mess(Mark::Much)];
        assert_eq!(listed(&[good.clone()], tired), [(1, When::NotToday(why))]);
        good.marks.veto = None;
        assert_eq!(listed(&[good], ANY), [(1, When::First)]);
    }

    #[test]
    fn of_two_alike_the_lighter_marks_come_first() {
        let mut messy = waiting(1, 20, Some(1));
        messy.marks.mess = Mark::Some;
        let order: Vec<u64> = listed(&[messy, waiting(2, 20, Some(1))], ANY).into_iter().map(|(feed, _)| feed).collect();
        assert_eq!(order, [2, 1]);
    }
}

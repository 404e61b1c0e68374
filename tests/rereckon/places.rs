//! Which grades earn a place, reckoned again: what collects in a month, both prices, the gain, the days to fill and the order.

use crate::{compare, python, roll, season};
use bismar::facts::{Books, Event, Fact, GradeId, GradeTold, LimitsTold, Set, SortingTold};
use bismar::measure::{Currency, Money, Span};
use bismar::query::{PlacesQuestion, places};
use bismar::render::json::PlacesView;
use jiff::civil::date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

#[test]
fn places_come_out_the_same() {
    let Some(python) = python::python() else { return };
    let mut verdicts = BTreeSet::new();
    let (mut gained, mut learned, mut filled) = (0, 0, 0);
    for seed in 1..=8 {
        let dir = tempfile::tempdir().unwrap();
        let mut books = season::season(seed, dir.path());
        let mut later = String::new();
        for fact in told(&books, seed) {
            let event = like_the_last(dir.path(), &books, fact);
            books.apply(&event).unwrap();
            later += &(serde_json::to_string(&event).unwrap() + "\t-\n");
        }
        let said = python::run(&python, "reckon_places.py", &["2026-03-20", "14", "0"], &(roll(dir.path()) + &later));
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        let theirs: Value = serde_json::from_slice(&said.stdout).unwrap();
        let asked = PlacesQuestion {
            day: date(2026, 3, 20),
            zone: TimeZone::UTC,
            stale_after: 14,
            currency: Currency::parse("EUR").unwrap(),
            buyer: None,
            floor: None,
            places: None,
            coarser: BTreeMap::new(),
        };
        let view = PlacesView::from(&places(&books, &asked));
        for line in &view.grades {
            verdicts.insert(line.verdict.clone());
            gained += usize::from(line.gain_a_month.is_some());
            learned += usize::from(line.full_learned);
            filled += usize::from(line.days_to_fill.is_some());
        }
        let mut differences = Vec::new();
        compare("", &theirs, &json!(view), &mut differences);
        assert!(differences.is_empty(), "season {seed}:\n{}", differences.join("\n"));
    }
    assert_eq!(verdicts.len(), 5, "{verdicts:?} is not every verdict");
    assert!(gained > 10 && learned > 10 && filled > 10, "{gained} gains, {learned} bins and {filled} times learned show little");
}

/// What the owner says: what goes in with what, how long sorting takes, what an hour must bring and how many places there are.
fn told(books: &Books, seed: u64) -> Vec<Fact> {
    let grades: BTreeMap<&str, GradeId> = books.grades.iter().map(|(id, grade)| (grade.name.as_str(), *id)).collect();
    let folds = [("copper", "brass"), ("motors", "steel"), ("aluminium", "steel"), ("taps", "brass"), ("brass", "steel")];
    let folded = folds.map(|(grade, into)| {
        let told = GradeTold { grade: grades[grade], fallback: Set::To(Some(grades[into])), specification: Set::Keep };
        Fact::GradeTold(told)
    });
    let minutes = [("copper", 10 * seed), ("brass", 25), ("aluminium", 0)];
    let sorting = minutes.map(|(grade, minutes)| {
        Fact::SortingTold(SortingTold { grade: grades[grade], a_month: Some(Span::seconds(60 * minutes)) })
    });
    let floor = Money { amount: Decimal::new(1250, 2), currency: Currency::parse("EUR").unwrap() };
    let limits = LimitsTold { floor: Set::To(Some(floor)), places: Set::To(Some(3 + seed as u32 % 3)) };
    folded.into_iter().chain(sorting).chain([Fact::LimitsTold(limits)]).collect()
}

fn like_the_last(dir: &std::path::Path, books: &Books, fact: Fact) -> Event {
    let lines = roll(dir);
    let (last, _) = lines.lines().last().unwrap().rsplit_once('\t').unwrap();
    let last: Event = serde_json::from_str(last).unwrap();
    Event { seq: books.seq + 1, cause: None, fact, ..last }
}

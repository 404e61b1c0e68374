//! How a bench stands: what is chosen, what runs, what came last.

use super::lists::{DropLine, DropQuestion, SessionLine, drops, sessions};
use super::trials::{TrialLine, running_trial};
use crate::facts::books::{CheckUse, PressUse};
use crate::facts::{BenchId, BinId, Books};
use crate::measure::{Mass, Stamp};
use crate::settle::Manner;

#[derive(Debug, Clone, PartialEq)]
pub struct BenchLine {
    pub bench: BenchId,
    pub manner: Manner,
    pub chosen: Option<ChosenBin>,
    pub session: Option<SessionLine>,
    /// The last few drops, newest first.
    pub last: Vec<DropLine>,
    pub in_hand: Mass,
    pub lost_readings: u64,
    pub press: PressUse,
    /// The next load is an intake.
    pub intake: Option<IntakeLine>,
    pub check: CheckUse,
    pub trial: Option<TrialLine>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IntakeLine {
    /// The feed that was said, else the one that is at hand.
    pub feed: Option<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct ChosenBin {
    pub bin: BinId,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: Mass,
}

/// A bench by the durable books; `at` is now, for the running clock.
pub fn bench(books: &Books, bench: BenchId, at: &Stamp, last: usize) -> BenchLine {
    let state = books.bench(bench);
    let chosen = state.chosen.and_then(|id| {
        let bin = books.bins.get(&id)?;
        let fill = books.fills.get(&bin.fill)?;
        Some(ChosenBin {
            bin: id,
            number: bin.number,
            name: bin.name.clone(),
            grade: fill.grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
            mass: fill.mass,
        })
    });
    let question = DropQuestion { bench: Some(bench), limit: last, ..DropQuestion::default() };
    BenchLine {
        bench,
        manner: state.manner,
        chosen,
        session: state.session.and_then(|session| sessions(books, at).into_iter().find(|line| line.session == session)),
        last: drops(books, &question),
        in_hand: state.in_hand.iter().map(|(_, mass)| *mass).sum(),
        lost_readings: state.lost_readings,
        press: state.press,
        check: state.check,
        trial: running_trial(books, bench, at),
        intake: state.intake.map(|asked| {
            let session = state.session.and_then(|session| books.sessions.get(&session));
            let feed = asked.feed.or_else(|| session?.legs.back()?.feed);
            IntakeLine { feed: feed.and_then(|feed| books.feeds.get(&feed)).map(|feed| feed.name.clone()) }
        }),
    }
}

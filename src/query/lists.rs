//! Plain lists over the books.

use crate::facts::books::{Entry, EntryState, Named, Origin};
use crate::facts::{BenchId, BinId, Books, Break, Doubt, EntryId, FillId, LotId, QuoteId, SessionId};
use crate::measure::{Mass, Rate, Span, Stamp, Variance};
use imbl::OrdMap;
use jiff::civil::Date;
use rust_decimal::Decimal;

#[derive(Debug, Clone, PartialEq)]
pub struct BinLine {
    pub bin: BinId,
    pub fill: FillId,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub tare: Option<Mass>,
    pub tare_learned: bool,
    pub capacity: Option<Mass>,
    pub litres: Option<u32>,
    pub last_gross: Option<Mass>,
    pub mass: Mass,
    pub variance: Variance,
    pub drops: u32,
    pub since: Stamp,
    /// Somebody tapped that it is full.
    pub full: bool,
    pub retired: bool,
    pub version: u64,
}

/// Every bin, by its number; retired ones come last.
pub fn bins(books: &Books) -> Vec<BinLine> {
    let mut lines: Vec<BinLine> = books
        .bins
        .iter()
        .filter_map(|(id, bin)| {
            let fill = books.fills.get(&bin.fill)?;
            Some(BinLine {
                bin: *id,
                fill: bin.fill,
                number: bin.number,
                name: bin.name.clone(),
                grade: fill.grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
                tare: bin.tare,
                tare_learned: bin.tare_learned,
                capacity: bin.capacity,
                litres: bin.litres,
                last_gross: bin.last_gross,
                mass: fill.mass,
                variance: fill.variance,
                drops: fill.drops,
                since: fill.opened,
                full: books.full_tap(bin.fill).is_some(),
                retired: bin.retired,
                version: bin.changed,
            })
        })
        .collect();
    lines.sort_by_key(|line| (line.retired, line.number));
    lines
}

#[derive(Debug, Clone, PartialEq)]
pub struct DropLine {
    pub drop: EntryId,
    pub bench: BenchId,
    pub origin: Origin,
    pub bin: Option<u32>,
    pub fill: Option<FillId>,
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    pub mass: Mass,
    pub variance: Variance,
    pub state: EntryState,
    pub doubt: Option<Doubt>,
    pub corrected: bool,
    pub at: Stamp,
}

#[derive(Debug, Clone, Default)]
pub struct DropQuestion {
    pub bench: Option<BenchId>,
    pub bin: Option<u32>,
    pub session: Option<SessionId>,
    pub unassigned: bool,
    /// Only those before this one: the next page.
    pub before: Option<EntryId>,
    pub limit: usize,
}

/// Entries, newest first, cancelled and voided ones with them.
pub fn drops(books: &Books, question: &DropQuestion) -> Vec<DropLine> {
    let end = question.before.unwrap_or(EntryId(u64::MAX));
    let fits = |line: &DropLine| {
        question.bench.is_none_or(|bench| line.bench == bench)
            && question.bin.is_none_or(|bin| line.bin == Some(bin))
            && question.session.is_none_or(|session| line.session == Some(session))
            && (!question.unassigned
                || (line.bin.is_none() && line.state == EntryState::Confirmed && !matches!(line.origin, Origin::Intake(_))))
    };
    let lines = books.entries.range(..end).rev().map(|(id, entry)| drop_line(books, *id, entry));
    lines.filter(fits).take(question.limit).collect()
}

fn drop_line(books: &Books, id: EntryId, entry: &Entry) -> DropLine {
    DropLine {
        drop: id,
        bench: entry.bench,
        origin: entry.origin,
        bin: entry.bin.and_then(|bin| books.bins.get(&bin)).map(|bin| bin.number),
        fill: entry.fill,
        session: entry.session,
        leg: entry.leg,
        mass: entry.mass,
        variance: entry.variance,
        state: entry.state,
        doubt: entry.doubt,
        corrected: entry.corrected.is_some(),
        at: entry.at,
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct SessionLine {
    pub session: SessionId,
    pub bench: BenchId,
    pub started: Stamp,
    pub ended: Option<Stamp>,
    pub paused: bool,
    pub hands_on: Span,
    /// The same if every stillness that nobody has told of was time away.
    pub hands_on_least: Span,
    /// Part of the time is not certain: the clock was off, or the machine started again meanwhile.
    pub clock_unsure: bool,
    pub mass: Mass,
    pub drops: u32,
    pub legs: Vec<LegLine>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct LegLine {
    pub number: u64,
    pub feed: Option<String>,
    pub hands_on: Span,
    pub mass: Mass,
}

/// Every session, newest first, as of now.
pub fn sessions(books: &Books, at: &Stamp) -> Vec<SessionLine> {
    let line = |(id, session): (&SessionId, &crate::facts::books::Session)| {
        let (hands_on, sure) = session.hands_on_at(at);
        let running = Span((hands_on.0 + session.away.0).saturating_sub(session.hands_on.0));
        let last = session.leg();
        let legs = session.legs.iter().map(|leg| LegLine {
            number: leg.number,
            feed: leg.feed.and_then(|feed| books.feeds.get(&feed)).map(|feed| feed.name.clone()),
            hands_on: {
                let run = if leg.number == last { leg.hands_on.plus(running) } else { leg.hands_on };
                Span(run.0.saturating_sub(leg.away.0))
            },
            mass: leg.mass,
        });
        SessionLine {
            session: *id,
            bench: session.bench,
            started: session.started,
            ended: session.ended,
            paused: session.ended.is_none() && session.running.is_none(),
            hands_on,
            hands_on_least: Span(hands_on.0.saturating_sub(session.untold().0)),
            clock_unsure: !sure,
            mass: session.mass,
            drops: session.drops,
            legs: legs.collect(),
        }
    };
    books.sessions.iter().rev().map(line).collect()
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NameLine {
    pub id: u64,
    pub name: String,
    pub retired: bool,
    pub version: u64,
}

/// Grades, feeds or buyers, by name; retired ones come last.
pub fn names<Id: Ord + Copy>(map: &OrdMap<Id, Named>, number: impl Fn(Id) -> u64) -> Vec<NameLine> {
    let line = |(id, named): (&Id, &Named)| NameLine {
        id: number(*id),
        name: named.name.clone(),
        retired: named.retired,
        version: named.changed,
    };
    let mut lines: Vec<NameLine> = map.iter().map(line).collect();
    lines.sort_by_key(|line| (line.retired, line.name.to_lowercase()));
    lines
}

#[derive(Debug, Clone, PartialEq)]
pub struct QuoteLine {
    pub quote: QuoteId,
    pub buyer: String,
    pub grade: String,
    pub rate: Rate,
    pub day: Date,
    pub stale_after: Option<u16>,
    pub breaks: Vec<Break>,
    pub minimum: Option<Mass>,
    pub deduction: Option<Decimal>,
    pub withdrawn: bool,
}

/// Every quote, the newest day first.
pub fn quotes(books: &Books) -> Vec<QuoteLine> {
    let name = |named: Option<&Named>| named.map(|named| named.name.clone()).unwrap_or_default();
    let line = |(id, quote): (&QuoteId, &crate::facts::books::Quote)| QuoteLine {
        quote: *id,
        buyer: name(books.buyers.get(&quote.buyer)),
        grade: name(books.grades.get(&quote.grade)),
        rate: quote.rate,
        day: quote.day,
        stale_after: quote.stale_after,
        breaks: quote.breaks.clone(),
        minimum: quote.minimum,
        deduction: quote.deduction,
        withdrawn: quote.withdrawn,
    };
    let mut lines: Vec<QuoteLine> = books.quotes.iter().map(line).collect();
    lines.sort_by_key(|line| std::cmp::Reverse((line.day, line.quote)));
    lines
}

#[derive(Debug, Clone, PartialEq)]
pub struct LotLine {
    pub lot: LotId,
    pub bench: BenchId,
    pub feed: Option<String>,
    /// In the owner's own word.
    pub depth: Option<String>,
    /// None where it was only counted.
    pub mass: Option<Mass>,
    pub variance: Variance,
    pub pieces: Option<u32>,
    pub arrival: Option<u64>,
    /// The number of the bin that it was drawn from.
    pub drawn_from: Option<u32>,
    pub session: Option<SessionId>,
    pub state: EntryState,
    pub open: bool,
    pub at: Stamp,
    pub version: u64,
}

/// Every lot, newest first; one whose intake was voided shows it.
pub fn lots(books: &Books) -> Vec<LotLine> {
    let line = |(id, lot): (&LotId, &crate::facts::books::Lot)| {
        let entry = books.lot_entry(*id)?;
        Some(LotLine {
            lot: *id,
            bench: entry.bench,
            feed: lot.feed.and_then(|feed| books.feeds.get(&feed)).map(|feed| feed.name.clone()),
            depth: lot.depth.clone(),
            mass: books.lot_mass(*id),
            variance: entry.variance,
            pieces: lot.pieces,
            arrival: lot.arrival.filter(|arrival| !books.voids.contains_key(arrival)),
            drawn_from: entry.bin.filter(|_| lot.drawn.is_some()).and_then(|bin| books.bins.get(&bin)).map(|bin| bin.number),
            session: lot.session,
            state: entry.state,
            open: lot.is_open(),
            at: entry.at,
            version: lot.changed,
        })
    };
    books.lots.iter().rev().filter_map(line).collect()
}

//! Orders about the drive and the ticket. The paper is taken as it is printed; refused is only what cannot be kept at all.

use super::decide::{Decision, find_bin, find_name, positive, said};
use super::ticket_order::{SettingOut, Share, Taking, TicketOrder, TicketRefusal};
use super::{BinRef, NamedKind, Refusal};
use crate::economy::quotes::in_force;
use crate::facts::books::HowClosed;
use crate::facts::{
    BinId, Books, BuyerId, Fact, FillId, LoadMoved, LoadWhy, PaperLine, PaymentCame, QuoteId, RunLoad, RunSetOut, TicketId,
    TicketSettled, TicketTaken, TicketVoided,
};
use crate::haul::paper::weighed;
use crate::haul::spread;
use crate::measure::{Mass, Price, Rate};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Where in what was typed.
#[derive(Clone, Copy, Default)]
struct Place {
    ticket: Option<u32>,
    line: Option<u32>,
}

impl Place {
    fn at<T>(self, field: &'static str, result: Result<T, impl Into<Refusal>>) -> Result<T, Refusal> {
        result.map_err(|fault| {
            TicketRefusal::At { ticket: self.ticket, line: self.line, field, fault: Box::new(fault.into()) }.into()
        })
    }
}

pub(super) fn decide(books: &Books, order: &TicketOrder) -> Result<Decision, Refusal> {
    match order {
        TicketOrder::SetOut(out) => set_out(books, out),
        TicketOrder::TakeRunBack { run, reason } => super::runs::take_back(books, *run, reason),
        TicketOrder::Take(taken) => take(books, taken),
        TicketOrder::Tie { ticket, line, shares } => tie(books, *ticket, *line, shares),
        TicketOrder::Void { ticket, reason } => void(books, *ticket, reason),
        TicketOrder::Settle { ticket, reason } => {
            if let Some(since) = standing(books, *ticket)?.settled {
                return Ok(Decision::Already(since));
            }
            Ok(Decision::Facts(vec![Fact::TicketSettled(TicketSettled { ticket: *ticket, reason: said(reason)? })]))
        }
        TicketOrder::Pay { ticket, day, method, amount, fee, held } => {
            let place = Place::default();
            place.at("ticket", standing(books, *ticket))?;
            place.at("amount", not_negative(Some(amount.amount)))?;
            place.at("fee", not_negative(*fee))?;
            let (ticket, day, method, amount, fee, held) = (*ticket, *day, *method, *amount, *fee, *held);
            Ok(Decision::Facts(vec![Fact::PaymentCame(PaymentCame { ticket, day, method, amount, fee, held })]))
        }
        TicketOrder::Away { bin, mass, given, reason } => away(books, *bin, *mass, *given, reason),
    }
}

fn not_negative(amount: Option<Decimal>) -> Result<(), TicketRefusal> {
    let below = amount.is_some_and(|amount| amount < Decimal::ZERO);
    if below { Err(TicketRefusal::NegativeAmount) } else { Ok(()) }
}

fn not_below(mass: Option<Mass>) -> Result<(), TicketRefusal> {
    match mass {
        Some(mass) if mass.is_negative() => Err(TicketRefusal::NegativeWeight { mass }),
        _ => Ok(()),
    }
}

fn standing(books: &Books, ticket: TicketId) -> Result<&crate::facts::books::Ticket, TicketRefusal> {
    let state = books.tickets.get(&ticket).ok_or(TicketRefusal::UnknownTicket { ticket })?;
    if state.voided.is_some() { Err(TicketRefusal::TicketGone { ticket }) } else { Ok(state) }
}

fn set_out(books: &Books, out: &SettingOut) -> Result<Decision, Refusal> {
    let place = Place::default();
    if out.loads.is_empty() {
        return Err(TicketRefusal::NoLoads.into());
    }
    if out.stops.is_empty() {
        return Err(TicketRefusal::NoStops.into());
    }
    let stops = out.stops.iter().map(|name| place.at("stops", find_name(&books.buyers, NamedKind::Buyer, name)));
    let stops: Vec<BuyerId> = stops.collect::<Result<_, _>>()?;
    place.at("distance_km", not_negative(out.distance_km))?;
    place.at("cost", not_negative(out.cost.map(|cost| cost.amount)))?;
    let (mut loads, mut emptied, mut seen) = (Vec::new(), Vec::new(), BTreeSet::new());
    for (number, mass) in &out.loads {
        let (bin, state) = place.at("loads", find_bin(books, *number))?;
        if !seen.insert(bin) {
            return place.at("loads", Err(TicketRefusal::BinTwice { number: number.0 }));
        }
        place.at("loads", mass.map_or(Ok(()), positive))?;
        let fill = state.fill;
        loads.push(RunLoad { bin, fill, whole: mass.is_none(), mass: *mass });
        if mass.is_none() {
            emptied.push(Fact::BinEmptied { bin, fill, reason: "on board".to_owned() });
        }
    }
    let (day, distance_km, span, cost) = (out.day, out.distance_km, out.span, out.cost);
    let mut facts = vec![Fact::RunSetOut(Box::new(RunSetOut { day, stops, loads, distance_km, span, cost }))];
    facts.extend(emptied);
    Ok(Decision::Facts(facts))
}

/// The facts of one order while they are put together, and what they have moved so far. A ticket among them is known by its
/// place, from 0, until the first of them has its number.
struct Build<'a> {
    books: &'a Books,
    facts: Vec<Fact>,
    moved: BTreeMap<FillId, Mass>,
    emptied: BTreeSet<FillId>,
}

/// The share of a line, with its bin found.
struct Found {
    bin: BinId,
    fill: FillId,
    share: Share,
}

impl Build<'_> {
    fn content(&self, fill: FillId) -> Mass {
        let kept = self.books.fills.get(&fill).map_or(Mass::ZERO, |fill| fill.mass);
        kept + self.moved.get(&fill).copied().unwrap_or_default()
    }

    fn open(&self, fill: FillId) -> bool {
        !self.emptied.contains(&fill) && self.books.fills.get(&fill).is_some_and(|fill| fill.closed.is_none())
    }

    fn push(&mut self, moved: LoadMoved) {
        if moved.mass.is_zero() && moved.why != LoadWhy::Sold {
            return;
        }
        *self.moved.entry(moved.fill).or_default() += moved.mass;
        self.facts.push(Fact::LoadMoved(Box::new(moved)));
    }

    /// The fill that is meant by a bin's number: what this run or the last one had on board of it and is not sold yet, else
    /// what stands there now.
    fn fill_of(&self, bin: BinId, now: FillId, run: Option<u64>) -> FillId {
        let of_run = |seq: u64| match self.books.record(seq).map(|record| &record.fact) {
            Some(Fact::RunSetOut(run)) => run.loads.iter().find(|load| load.bin == bin).map(|load| load.fill),
            _ => None,
        };
        let left = || {
            let fills = self.books.fills.iter().rev().filter(|(_, fill)| fill.bin == bin);
            let gone = |how| matches!(how, HowClosed::Emptied);
            let mut fills = fills.filter(|(_, fill)| fill.closed.is_some_and(|closed| gone(closed.how)));
            let on_board = fills.find(|(id, _)| was_aboard(self.books, **id));
            on_board.map(|(id, _)| *id).filter(|fill| !self.content(*fill).is_zero())
        };
        run.and_then(of_run).or_else(left).unwrap_or(now)
    }

    fn find(&self, place: Place, shares: &[Share], run: Option<u64>) -> Result<Vec<Found>, Refusal> {
        let mut found: Vec<Found> = Vec::new();
        for share in shares {
            let (bin, state) = place.at("bins", find_bin(self.books, share.bin))?;
            place.at("bins", not_below(share.mass))?;
            if found.iter().any(|known| known.bin == bin) {
                return place.at("bins", Err(TicketRefusal::BinTwice { number: share.bin.0 }));
            }
            found.push(Found { bin, fill: self.fill_of(bin, state.fill, run), share: *share });
        }
        Ok(found)
    }

    /// Ties a line to its bins; what was sold to the ground is noted in `whole` with what of it came home.
    fn tie(
        &mut self,
        place: Place,
        (ticket, line): (TicketId, u32),
        paper: &PaperLine,
        found: &[Found],
        whole: &mut BTreeMap<FillId, (BinId, Mass)>,
    ) -> Result<(), Refusal> {
        let delivered = weighed(paper).delivered;
        let given: Mass = found.iter().filter_map(|found| found.share.mass).sum();
        if given > delivered {
            return place.at("bins", Err(TicketRefusal::SplitTooLarge { split: given, delivered }));
        }
        let loose: Vec<Mass> =
            found.iter().filter(|found| found.share.mass.is_none()).map(|found| self.content(found.fill)).collect();
        let mut rest = spread::mass(delivered - given, &loose).into_iter();
        let base = |found: &Found, why: LoadWhy, mass: Mass| LoadMoved {
            why,
            bin: found.bin,
            fill: found.fill,
            mass,
            ticket: Some(ticket),
            line: Some(line),
            whole: found.share.whole,
            weighed: None,
            reason: None,
        };
        for found in found {
            let mass = found.share.mass.or_else(|| rest.next()).unwrap_or_default();
            let weighed = found.share.weighed.filter(|_| !found.share.whole);
            self.push(LoadMoved { weighed, ..base(found, LoadWhy::Sold, -mass) });
            if let Some(part) = weighed {
                let difference = mass - part.mass;
                self.push(LoadMoved { weighed, ..base(found, LoadWhy::ScaleDifference, difference) });
            }
            if found.share.whole {
                whole.entry(found.fill).or_insert((found.bin, Mass::ZERO));
            }
        }
        let Some((first, refused)) = found.first().zip(paper.refused.filter(|refused| !refused.is_zero())) else {
            return Ok(());
        };
        if self.open(first.fill) {
            if let Some((_, home)) = whole.get_mut(&first.fill) {
                *home += refused;
            }
            return Ok(());
        }
        self.push(base(first, LoadWhy::BroughtHome, -refused));
        let now = self.books.bins.get(&first.bin).map_or(first.fill, |bin| bin.fill);
        self.push(LoadMoved { fill: now, whole: false, ..base(first, LoadWhy::BroughtHome, refused) });
        Ok(())
    }

    /// Bins that were sold to the ground end at nothing, and the difference has its name.
    fn ground(&mut self, ticket: TicketId, whole: BTreeMap<FillId, (BinId, Mass)>) {
        for (fill, (bin, home)) in whole {
            let mass = home - self.content(fill);
            let (why, ticket) = (LoadWhy::ScaleDifference, Some(ticket));
            self.push(LoadMoved { why, bin, fill, mass, ticket, line: None, whole: true, weighed: None, reason: None });
            if home.is_zero() && self.open(fill) {
                self.emptied.insert(fill);
                self.facts.push(Fact::BinEmptied { bin, fill, reason: "sold on a ticket".to_owned() });
            }
        }
    }

    /// What the buyer paid for a grade is that day's quote, unless it was that already.
    fn quote(&mut self, paper: &TicketTaken) {
        let mut told: Vec<(crate::facts::GradeId, Price)> = Vec::new();
        let known = in_force(self.books.quotes.iter().map(|(id, quote)| (*id, quote)), paper.day);
        for (grade, price) in paper.lines.iter().filter_map(|line| line.grade.zip(line.price)) {
            let holds = known.get(&(grade, paper.buyer, price.currency)).is_some_and(|(_, quote)| same_price(quote, &price));
            if holds || told.contains(&(grade, price)) {
                continue;
            }
            told.push((grade, price));
            self.facts.push(Fact::QuoteGiven {
                buyer: paper.buyer,
                grade,
                price,
                day: paper.day,
                stale_after: None,
                breaks: Vec::new(),
                minimum: None,
                deduction: None,
            });
        }
    }
}

fn same_price(quote: &crate::facts::books::Quote, price: &Price) -> bool {
    quote.rate == Rate::Weight(*price)
}

/// Whether a fill was on board of a run, or was sold from and given back by a voided ticket.
pub fn was_aboard(books: &Books, fill: FillId) -> bool {
    let aboard = |record: &crate::facts::books::Record| match &record.fact {
        Fact::RunSetOut(run) => run.loads.iter().any(|load| load.fill == fill && load.whole),
        _ => false,
    };
    books.standing_records().any(aboard) || books.loads.values().any(|moved| moved.fill == fill)
}

fn take(books: &Books, taken: &[Taking]) -> Result<Decision, Refusal> {
    let mut build = Build { books, facts: Vec::new(), moved: BTreeMap::new(), emptied: BTreeSet::new() };
    let mut numbers: BTreeSet<(BuyerId, String)> = BTreeSet::new();
    for (taking, at) in taken.iter().zip(1..) {
        let place = Place { ticket: (taken.len() > 1).then_some(at), line: None };
        let paper = paper(books, taking, place)?;
        if let Some(number) = &paper.number {
            let key = (paper.buyer, number.to_lowercase());
            let known = books.standing_tickets().find(|(_, ticket)| {
                let same = ticket.paper.number.as_ref().is_some_and(|known| known.to_lowercase() == key.1);
                same && ticket.paper.buyer == paper.buyer
            });
            if let Some((ticket, _)) = known {
                return place.at("number", Err(TicketRefusal::SameTicket { number: number.clone(), ticket }));
            }
            if !numbers.insert(key) {
                let ticket = TicketId(0);
                return place.at("number", Err(TicketRefusal::SameTicket { number: number.clone(), ticket }));
            }
        }
        let ticket = TicketId(build.facts.len() as u64);
        build.facts.push(Fact::TicketTaken(Box::new(paper.clone())));
        build.quote(&paper);
        let mut whole = BTreeMap::new();
        for ((line, typed), number) in paper.lines.iter().zip(&taking.lines).zip(1..) {
            let place = Place { line: Some(number), ..place };
            let found = build.find(place, &typed.shares, paper.run)?;
            build.tie(place, (ticket, number), line, &found, &mut whole)?;
        }
        build.ground(ticket, whole);
    }
    Ok(Decision::Numbered(build.facts))
}

/// Whether all of these tickets could be taken now.
pub fn would_take(books: &Books, taken: &[Taking]) -> Result<(), Refusal> {
    take(books, taken).map(|_| ())
}

fn paper(books: &Books, taking: &Taking, place: Place) -> Result<TicketTaken, Refusal> {
    let buyer = place.at("buyer", find_name(&books.buyers, NamedKind::Buyer, &taking.buyer))?;
    if taking.lines.is_empty() {
        return place.at("lines", Err(TicketRefusal::NoLines));
    }
    if let Some(run) = taking.run {
        let known = books.record(run).is_some_and(|record| matches!(record.fact, Fact::RunSetOut(_) | Fact::RunMade { .. }));
        if !known || books.voids.contains_key(&run) {
            return place.at("run", Err(TicketRefusal::UnknownRun { run }));
        }
    }
    for pass in &taking.passes {
        place.at("passes", not_below(Some(*pass)))?;
    }
    place.at("division", taking.division.map_or(Ok(()), positive))?;
    let mut lines = Vec::new();
    for (line, number) in taking.lines.iter().zip(1..) {
        let place = Place { line: Some(number), ..place };
        let masses =
            [("gross", line.gross), ("tare", line.tare), ("net", Some(line.net)), ("off", line.off), ("refused", line.refused)];
        for (field, mass) in masses {
            place.at(field, not_below(mass))?;
        }
        place.at("off_percent", not_negative(line.off_percent))?;
        // A grade that nobody knows is no reason to turn the paper away: the word stands in the text.
        let grade = line.grade.as_ref().and_then(|grade| find_name(&books.grades, NamedKind::Grade, grade).ok());
        let words = [Some(line.text.as_str()), line.grade.as_ref().filter(|_| grade.is_none()).map(|name| name.0.as_str())];
        let text: Vec<&str> = words.into_iter().flatten().map(str::trim).filter(|text| !text.is_empty()).collect();
        lines.push(PaperLine {
            text: text.join(", ").chars().filter(|c| !c.is_control()).take(200).collect(),
            grade,
            gross: line.gross,
            tare: line.tare,
            net: line.net,
            digit: line.digit,
            off: line.off,
            off_percent: line.off_percent,
            refused: line.refused,
            price: line.price,
            amount: line.amount,
        });
    }
    let number = taking.number.as_deref().map(str::trim).filter(|number| !number.is_empty());
    Ok(TicketTaken {
        buyer,
        day: taking.day,
        number: number.map(|number| number.chars().filter(|c| !c.is_control()).take(80).collect()),
        run: taking.run,
        currency: taking.currency,
        passes: taking.passes.clone(),
        division: taking.division,
        lines,
        off: taking.off.clone(),
        total: taking.total,
        due: taking.due,
    })
}

fn tie(books: &Books, id: TicketId, line: u32, shares: &[Share]) -> Result<Decision, Refusal> {
    let ticket = standing(books, id)?;
    let lines = u32::try_from(ticket.paper.lines.len()).unwrap_or(u32::MAX);
    let at = usize::try_from(line).ok().and_then(|line| line.checked_sub(1));
    let paper = at.and_then(|at| ticket.paper.lines.get(at)).ok_or(TicketRefusal::UnknownLine { line, lines })?;
    if books.moves_of(ticket).iter().any(|(_, moved)| moved.line == Some(line)) {
        return Err(TicketRefusal::LineTied { line }.into());
    }
    let mut build = Build { books, facts: Vec::new(), moved: BTreeMap::new(), emptied: BTreeSet::new() };
    let place = Place { ticket: None, line: Some(line) };
    if shares.is_empty() {
        return place.at("bins", Err(Refusal::NoBin));
    }
    let mut whole = BTreeMap::new();
    let found = build.find(place, shares, ticket.paper.run)?;
    build.tie(place, (id, line), paper, &found, &mut whole)?;
    build.ground(id, whole);
    Ok(Decision::Facts(build.facts))
}

fn void(books: &Books, id: TicketId, reason: &str) -> Result<Decision, Refusal> {
    let ticket = standing(books, id)?;
    let moves = books.moves_of(ticket).into_iter().map(|(entry, _)| entry).collect();
    let mut facts = vec![Fact::TicketVoided(TicketVoided { ticket: id, moves, reason: said(reason)? })];
    // The quotes that came with it stand right behind it.
    let prices: Vec<_> = ticket.paper.lines.iter().filter_map(|line| line.grade.zip(line.price)).collect();
    for quote in (id.0 + 1..).map(QuoteId) {
        let Some(state) = books.quotes.get(&quote) else { break };
        let of_ticket = prices.iter().any(|(grade, price)| *grade == state.grade && same_price(state, price));
        if of_ticket && state.buyer == ticket.paper.buyer && state.day == ticket.paper.day && !state.withdrawn {
            facts.push(Fact::QuoteWithdrawn { quote, reason: said(reason)? });
        }
    }
    Ok(Decision::Facts(facts))
}

fn away(books: &Books, bin: BinRef, mass: Option<Mass>, given: bool, reason: &str) -> Result<Decision, Refusal> {
    let (id, state) = find_bin(books, bin)?;
    let there = books.fills.get(&state.fill).map_or(Mass::ZERO, |fill| fill.mass);
    mass.map_or(Ok(()), positive)?;
    if there <= Mass::ZERO {
        return Err(Refusal::NothingInBin { number: bin.0 });
    }
    if let Some(mass) = mass.filter(|mass| *mass > there) {
        return Err(TicketRefusal::MoreThanThere { mass, there }.into());
    }
    let reason = said(reason)?;
    let why = if given { LoadWhy::GivenAway } else { LoadWhy::SoldUnweighed };
    let (fill, whole) = (state.fill, mass.is_none());
    let mut facts = vec![Fact::LoadMoved(Box::new(LoadMoved {
        why,
        bin: id,
        fill,
        mass: -mass.unwrap_or(there),
        ticket: None,
        line: None,
        whole,
        weighed: None,
        reason: Some(reason.clone()),
    }))];
    if whole {
        facts.push(Fact::BinEmptied { bin: id, fill, reason });
    }
    Ok(Decision::Facts(facts))
}

/// Gives the tickets of one order their numbers, now that the first fact has its own.
pub(super) fn numbered(fact: Fact, first: u64) -> Fact {
    match fact {
        Fact::LoadMoved(moved) => {
            let ticket = moved.ticket.map(|ticket| TicketId(ticket.0 + first));
            Fact::LoadMoved(Box::new(LoadMoved { ticket, ..*moved }))
        }
        other => other,
    }
}

//! Tickets: what does not add up, what our scale says of each load, what it was paid against what was quoted, and the money.

use super::bound_ppm;
use crate::economy::cash;
use crate::economy::check_weight::standard_ppm;
use crate::economy::quotes::{Brought, MONEY_RULE, Terms, in_force};
use crate::economy::uncertainty::OnOneScale;
use crate::facts::books::{Origin, Quote, Stretch, Ticket};
use crate::facts::{
    BenchId, BinId, Books, BuyerId, Fact, FillId, GradeId, LoadMoved, LoadWhy, PayMethod, PaymentCame, QuoteId, TicketId,
    TicketTaken,
};
use crate::haul::paper::{PaperFlag, Weighed, check, weighed};
use crate::haul::reconcile::{Compared, Verdict, WhyNot, compare, in_a_row};
use crate::haul::vehicle;
use crate::measure::{Mass, Money, Price, Rate, Variance};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The bench on which parts are weighed before the drive.
const HOME: BenchId = BenchId(1);

#[derive(Debug, Clone)]
pub struct TicketQuestion {
    pub today: Date,
    pub zone: TimeZone,
}

/// What is odd about a ticket. It stands as it is printed, and waits until somebody has looked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TicketFlag {
    Paper(PaperFlag),
    /// A line, or so much of it, is tied to no bin.
    NoBin {
        line: u32,
        mass: Mass,
    },
    /// A bin that was not on board by the plan.
    NotPlanned {
        line: u32,
        number: u32,
    },
    /// Another ticket of the same buyer for the same run.
    SecondTicket {
        other: TicketId,
    },
    /// A line whose grade nobody knows here.
    NoGrade {
        line: u32,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub struct TicketAnswer {
    pub id: TicketId,
    pub buyer: BuyerId,
    pub buyer_name: String,
    pub paper: Arc<TicketTaken>,
    pub voided: bool,
    pub settled: bool,
    pub lines: Vec<TicketLineAnswer>,
    pub loads: Vec<LoadAnswer>,
    /// All loads that can be compared, together.
    pub whole: Option<Compared>,
    pub flags: Vec<TicketFlag>,
    /// As printed, else reckoned from the lines.
    pub total: Option<Money>,
    pub payments: Vec<PaymentAnswer>,
    pub paid: Decimal,
    pub held: Decimal,
    /// What is still to come; a coin that the buyer's rounding keeps is no debt.
    pub unpaid: Option<Decimal>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct TicketLineAnswer {
    pub grade: Option<String>,
    pub weighed: Weighed,
    pub bins: Vec<Tied>,
    /// Paid as another grade than that of its bins.
    pub downgrade: Option<Downgrade>,
    /// What is off the weight, at the price of the line.
    pub off_worth: Option<Money>,
    pub quoted: Option<Quoted>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tied {
    pub bin: BinId,
    pub fill: FillId,
    pub number: u32,
    pub mass: Mass,
    pub whole: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Downgrade {
    pub from: String,
    /// What it would have brought as that at the quote then, less what it brought; none without a quote.
    pub cost: Option<Money>,
}

/// The quote that held before the ticket came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quoted {
    pub price: Price,
    pub day: Date,
    /// What was paid less what was quoted for as much.
    pub difference: Option<Decimal>,
}

/// Lines and bins that hang together: three bins on one line, one bin on two.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadAnswer {
    /// From 1.
    pub lines: Vec<u32>,
    /// None where nobody weighed it.
    pub compared: Option<Compared>,
    pub verdict: Verdict,
    /// The difference at the price of its first line.
    pub worth: Option<Money>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct PaymentAnswer {
    pub id: u64,
    pub came: PaymentCame,
}

/// Every ticket, the newest day first.
pub fn tickets(books: &Books, question: &TicketQuestion) -> Vec<TicketAnswer> {
    let mut told = Teller::new(books, question);
    let mut order: Vec<(TicketId, &Ticket)> = books.tickets.iter().map(|(id, ticket)| (*id, ticket)).collect();
    order.sort_by_key(|(id, ticket)| (ticket.paper.day, *id));
    let mut answers: Vec<TicketAnswer> = order.into_iter().map(|(id, ticket)| told.ticket(id, ticket)).collect();
    answers.reverse();
    answers
}

/// One ticket. How many of its buyer's ran short before it is in its verdict, so those are gone through, and no other.
pub fn ticket(books: &Books, question: &TicketQuestion, id: TicketId) -> Option<TicketAnswer> {
    let wanted = books.tickets.get(&id)?;
    let until = (wanted.paper.day, id);
    let mut order: Vec<(TicketId, &Ticket)> = books
        .tickets
        .iter()
        .filter(|(id, ticket)| ticket.paper.buyer == wanted.paper.buyer && (ticket.paper.day, **id) <= until)
        .map(|(id, ticket)| (*id, ticket))
        .collect();
    order.sort_by_key(|(id, ticket)| (ticket.paper.day, *id));
    let mut told = Teller::new(books, question);
    order.into_iter().map(|(id, ticket)| told.ticket(id, ticket)).last()
}

/// The first ticket that stands of each run and buyer: any other of both is a second one.
pub(super) struct Firsts(BTreeMap<(u64, BuyerId), TicketId>);

impl Firsts {
    pub(super) fn of(books: &Books) -> Firsts {
        let mut firsts = BTreeMap::new();
        for (id, ticket) in books.standing_tickets() {
            if let Some(run) = ticket.paper.run {
                firsts.entry((run, ticket.paper.buyer)).or_insert(id);
            }
        }
        Firsts(firsts)
    }

    /// What is odd about a ticket and not yet looked at.
    pub(super) fn open_flags(&self, books: &Books, id: TicketId, ticket: &Ticket) -> Vec<TicketFlag> {
        if ticket.settled.is_some() || ticket.voided.is_some() { Vec::new() } else { flags(books, self, id, ticket) }
    }
}

fn flags(books: &Books, firsts: &Firsts, id: TicketId, ticket: &Ticket) -> Vec<TicketFlag> {
    let paper = &ticket.paper;
    let mut flags: Vec<TicketFlag> = check(paper).into_iter().map(TicketFlag::Paper).collect();
    let moves = books.moves_of(ticket);
    let run = paper.run.and_then(|run| books.record(run)).and_then(|record| match &record.fact {
        Fact::RunSetOut(run) => Some(run),
        _ => None,
    });
    for (line, number) in paper.lines.iter().zip(1..) {
        let sold = |moved: &&LoadMoved| moved.why == LoadWhy::Sold && moved.line == Some(number);
        let tied: Mass = moves.iter().map(|(_, moved)| *moved).filter(sold).map(|moved| -moved.mass).sum();
        let mass = weighed(line).delivered - tied;
        if mass > Mass::ZERO {
            flags.push(TicketFlag::NoBin { line: number, mass });
        }
        if line.grade.is_none() {
            flags.push(TicketFlag::NoGrade { line: number });
        }
        if let Some(run) = run {
            for moved in moves.iter().map(|(_, moved)| *moved).filter(sold) {
                if !run.loads.iter().any(|load| load.bin == moved.bin) {
                    let bin = books.bins.get(&moved.bin).map_or(0, |bin| bin.number);
                    flags.push(TicketFlag::NotPlanned { line: number, number: bin });
                }
            }
        }
    }
    if let Some(run) = paper.run {
        let other = firsts.0.get(&(run, paper.buyer)).filter(|other| **other < id);
        flags.extend(other.map(|other| TicketFlag::SecondTicket { other: *other }));
    }
    flags
}

struct Teller<'a> {
    books: &'a Books,
    zone: &'a TimeZone,
    today: Date,
    bounds: RefCell<BTreeMap<Stretch, Option<u32>>>,
    payments: BTreeMap<TicketId, Vec<PaymentAnswer>>,
    firsts: Firsts,
    /// Whether the last tickets of a buyer ran short, the last one first.
    short: BTreeMap<BuyerId, Vec<bool>>,
}

impl<'a> Teller<'a> {
    fn new(books: &'a Books, question: &'a TicketQuestion) -> Teller<'a> {
        let mut payments: BTreeMap<TicketId, Vec<PaymentAnswer>> = BTreeMap::new();
        for record in books.standing_records() {
            if let Fact::PaymentCame(came) = &record.fact {
                payments.entry(came.ticket).or_default().push(PaymentAnswer { id: record.seq, came: came.clone() });
            }
        }
        let (zone, today) = (&question.zone, question.today);
        Teller { books, zone, today, bounds: RefCell::default(), payments, firsts: Firsts::of(books), short: BTreeMap::new() }
    }

    /// What bounds the calibration of a scale, as the standard uncertainty that it stands for.
    fn calibration(&self, stretch: &Stretch) -> Option<u32> {
        let known = self.bounds.borrow().get(stretch).copied();
        let bound = known.unwrap_or_else(|| bound_ppm(self.books, stretch, self.today, self.zone));
        self.bounds.borrow_mut().insert(stretch.clone(), bound);
        bound.map(standard_ppm)
    }

    fn ticket(&mut self, id: TicketId, ticket: &Ticket) -> TicketAnswer {
        let paper = Arc::clone(&ticket.paper);
        let moves: Vec<&LoadMoved> = self.books.moves_of(ticket).into_iter().map(|(_, moved)| moved).collect();
        let lines: Vec<TicketLineAnswer> = (1..).zip(&paper.lines).map(|(line, _)| self.line(id, &paper, line, &moves)).collect();
        let before = self.short.get(&paper.buyer).cloned().unwrap_or_default();
        let mut sides: Vec<(Vec<Ours>, Mass, Variance)> = Vec::new();
        let mut loads = Vec::new();
        for group in groups(&lines) {
            let side = self.sides((id, ticket), &paper, &group, &lines, &moves);
            let compared = side.as_ref().map(|(ours, theirs, readings)| compare(&one_each(ours), *theirs, *readings));
            let alone = match (&compared, lines[group[0] as usize - 1].bins.is_empty()) {
                (_, true) => Verdict::CannotTell(WhyNot::NoBin),
                (None, _) => Verdict::CannotTell(WhyNot::NotWeighed),
                (Some(compared), _) => compared.verdict(),
            };
            let runs = side.as_ref().zip(compared).is_some_and(|((ours, _, _), compared)| compared.runs_short(self.bound(ours)));
            let price = paper.lines[group[0] as usize - 1].price;
            let worth = compared.zip(price).and_then(|(compared, price)| price.value(compared.difference(), 2, MONEY_RULE));
            loads.push(LoadAnswer { lines: group, compared, verdict: in_a_row(alone, runs, &before), worth });
            sides.extend(side);
        }
        let (mut ours, mut theirs, mut readings) = (Vec::new(), Mass::ZERO, Variance::ZERO);
        for (scales, mass, variance) in &sides {
            ours.extend(scales.iter().cloned());
            theirs += *mass;
            readings = readings.plus(*variance);
        }
        let whole = (!sides.is_empty()).then(|| compare(&one_each(&ours), theirs, readings));
        if ticket.voided.is_none() {
            let runs = whole.is_some_and(|whole| whole.runs_short(self.bound(&ours)));
            self.short.entry(paper.buyer).or_default().insert(0, runs);
        }
        let name = self.books.buyers.get(&paper.buyer).map(|buyer| buyer.name.clone()).unwrap_or_default();
        let mut answer = TicketAnswer {
            id,
            buyer: paper.buyer,
            buyer_name: name,
            voided: ticket.voided.is_some(),
            settled: ticket.settled.is_some(),
            lines,
            loads,
            whole,
            flags: flags(self.books, &self.firsts, id, ticket),
            total: paper.worth(),
            payments: self.payments.get(&id).cloned().unwrap_or_default(),
            paid: Decimal::ZERO,
            held: Decimal::ZERO,
            unpaid: None,
            paper,
        };
        self.money(&mut answer);
        answer
    }

    fn money(&self, answer: &mut TicketAnswer) {
        let same = |came: &&PaymentAnswer| answer.total.is_none_or(|total| came.came.amount.currency == total.currency);
        let sum = |held: bool| {
            let of = answer.payments.iter().filter(same).filter(|payment| payment.came.held == held);
            of.fold(Decimal::ZERO, |sum, payment| sum.saturating_add(payment.came.amount.amount))
        };
        let (paid, held) = (sum(false), sum(true));
        answer.unpaid = answer.total.map(|total| {
            let open = total.amount - paid;
            // The whole of it in coins, or the last part after a cheque.
            let last_in_cash = answer.payments.iter().rev().find(|payment| !payment.came.held);
            let in_cash = last_in_cash.is_some_and(|payment| payment.came.method == PayMethod::Cash);
            let rest = last_in_cash.map_or(open, |payment| open + payment.came.amount.amount);
            let due = cash::paid(Money { amount: rest, ..total }, self.books.payout(answer.buyer), MONEY_RULE);
            let settled = due.zip(last_in_cash).is_some_and(|(due, payment)| due.amount == payment.came.amount.amount);
            if in_cash && settled { Decimal::ZERO } else { open }
        });
        answer.paid = paid;
        answer.held = answer.unpaid.map_or(held, |unpaid| held.min(unpaid.max(Decimal::ZERO)));
    }

    fn line(&self, id: TicketId, paper: &TicketTaken, number: u32, moves: &[&LoadMoved]) -> TicketLineAnswer {
        let line = &paper.lines[number as usize - 1];
        let read = weighed(line);
        let sold = moves.iter().filter(|moved| moved.line == Some(number) && moved.why == LoadWhy::Sold);
        let bins: Vec<Tied> = sold
            .map(|moved| Tied {
                bin: moved.bin,
                fill: moved.fill,
                number: self.books.bins.get(&moved.bin).map_or(0, |bin| bin.number),
                mass: -moved.mass,
                whole: moved.whole,
            })
            .collect();
        let name = |grade: GradeId| self.books.grades.get(&grade).map(|grade| grade.name.clone());
        let of_bins: BTreeSet<Option<GradeId>> =
            bins.iter().map(|tied| self.books.fills.get(&tied.fill).and_then(|fill| fill.grade)).collect();
        let downgrade = match (line.grade, of_bins.first()) {
            (Some(paid_as), Some(Some(was))) if of_bins.len() == 1 && paid_as != *was => {
                let quoted = self.quoted(id, paper, *was, read.paid).and_then(|(_, worth)| worth);
                let cost = quoted.zip(line.amount).map(|(worth, amount)| Money { amount: worth.amount - amount, ..worth });
                Some(Downgrade { from: name(*was).unwrap_or_default(), cost })
            }
            _ => None,
        };
        let quoted = line.grade.and_then(|grade| self.quoted(id, paper, grade, read.paid)).map(|(quoted, worth)| Quoted {
            difference: line.amount.zip(worth).map(|(amount, worth)| amount - worth.amount),
            ..quoted
        });
        let off_worth = line.price.filter(|_| !read.off.is_zero()).and_then(|price| price.value(read.off, 2, MONEY_RULE));
        TicketLineAnswer { grade: line.grade.and_then(name), weighed: read, bins, downgrade, off_worth, quoted }
    }

    /// The quote of this buyer that held before the ticket, and what it makes of so much.
    fn quoted(&self, id: TicketId, paper: &TicketTaken, grade: GradeId, mass: Mass) -> Option<(Quoted, Option<Money>)> {
        let ours = |quote: &Quote| (quote.grade, quote.buyer, quote.rate.currency()) == (grade, paper.buyer, paper.currency);
        let before = self.books.quotes.iter().filter(|(quote, state)| quote.0 < id.0 && ours(state));
        let before = before.map(|(quote, state)| (*quote, state));
        let known: BTreeMap<_, (QuoteId, _)> = in_force(before, paper.day);
        let (_, quote) = known.get(&(grade, paper.buyer, paper.currency))?;
        let terms = Terms::from(*quote);
        let offer = terms.offer(Brought::of(mass), paper.day, u16::MAX);
        let Rate::Weight(price) = offer.rate else { return None };
        Some((Quoted { price, day: terms.day, difference: None }, offer.worth.money()))
    }

    /// Both sides of a load; none where nobody weighed it at home.
    fn sides(
        &self,
        (id, ticket): (TicketId, &Ticket),
        paper: &TicketTaken,
        group: &[u32],
        lines: &[TicketLineAnswer],
        moves: &[&LoadMoved],
    ) -> Option<(Vec<Ours>, Mass, Variance)> {
        let in_group = |line: Option<u32>| line.is_some_and(|line| group.contains(&line));
        let sold: Vec<&&LoadMoved> = moves.iter().filter(|moved| in_group(moved.line) && moved.why == LoadWhy::Sold).collect();
        if sold.is_empty() {
            return None;
        }
        let whole: BTreeSet<FillId> = moves
            .iter()
            .filter(|moved| moved.whole && sold.iter().any(|sold| sold.fill == moved.fill))
            .map(|moved| moved.fill)
            .collect();
        let mut ours: Vec<Ours> = Vec::new();
        for fill in &whole {
            ours.extend(self.fill_scales(ticket, *fill));
        }
        for part in sold.iter().filter(|moved| !whole.contains(&moved.fill)) {
            let part = part.weighed?;
            let scale = part.here.then(|| self.books.stretch_at(HOME, id.0));
            let calibration_ppm = scale.as_ref().and_then(|scale| self.calibration(scale));
            let readings = Variance::of_difference(part.division);
            ours.push((scale, OnOneScale { mass: part.mass, readings, calibration_ppm }));
        }
        let refused: Mass = group.iter().filter_map(|line| paper.lines[*line as usize - 1].refused).sum();
        let theirs = sold.iter().map(|moved| -moved.mass).sum::<Mass>() + refused;
        let chosen: Vec<usize> = group.iter().map(|line| *line as usize - 1).collect();
        let division = |line: usize| paper.division.unwrap_or(paper.lines[line].digit);
        let readings = match paper.passes.len() {
            0 | 1 => chosen.iter().fold(Variance::ZERO, |sum, line| sum.plus(Variance::of_difference(division(*line)))),
            passes if passes == lines.len() + 1 => vehicle::variance_of(&paper.passes, &chosen, division(chosen[0])),
            _ => Variance::of_difference(division(chosen[0])),
        };
        Some((ours, theirs, readings))
    }

    /// What a fill held before this ticket, by the scale that showed it.
    fn fill_scales(&self, ticket: &Ticket, id: FillId) -> Vec<Ours> {
        let Some(fill) = self.books.fills.get(&id) else { return Vec::new() };
        let all = self.books.fill_before_loads(id);
        let other = |entry: &crate::facts::EntryId| !ticket.moves.contains(entry);
        let earlier: Mass = self
            .books
            .counting(id)
            .filter(|(entry, state)| matches!(state.origin, Origin::Load(_)) && other(entry))
            .map(|(_, state)| state.mass)
            .sum();
        let there = all + earlier;
        let stretch = |(bench, change): &(BenchId, u64)| self.books.stretch_at(*bench, *change);
        let by: Vec<(Stretch, Mass)> = fill.weighed.iter().map(|(at, mass)| (stretch(at), *mass)).collect();
        let elsewhere = all - by.iter().map(|(_, mass)| *mass).sum();
        let weights: Vec<Mass> = by.iter().map(|(_, mass)| *mass).chain([elsewhere]).collect();
        let shares = crate::haul::spread::mass(there, &weights);
        let stretches = by.into_iter().map(|(stretch, _)| Some(stretch)).chain([None]);
        let on = |(mass, scale): (Mass, Option<Stretch>)| {
            let calibration_ppm = scale.as_ref().and_then(|scale| self.calibration(scale));
            (scale, OnOneScale { mass, readings: Variance::ZERO, calibration_ppm })
        };
        let mut scales: Vec<Ours> = shares.into_iter().zip(stretches).filter(|(mass, _)| !mass.is_zero()).map(on).collect();
        match scales.first_mut() {
            Some((_, first)) => first.readings = fill.variance,
            None => scales.push((None, OnOneScale { mass: Mass::ZERO, readings: fill.variance, calibration_ppm: None })),
        }
        scales
    }

    /// How far our own scale may be off in all of this, taken whole.
    fn bound(&self, ours: &[Ours]) -> Mass {
        let of = |(_, scale): &Ours| {
            let ppm = i128::from(scale.calibration_ppm.unwrap_or_default());
            // A rectangle's half width is √3 of its standard uncertainty.
            Mass::from_femtograms(scale.mass.femtograms() * ppm / 1_000_000 * 1733 / 1000)
        };
        ours.iter().map(of).sum()
    }
}

/// A mass with the scale of ours that showed it; none for what no scale of ours has shown.
type Ours = (Option<Stretch>, OnOneScale);

/// What one scale has shown, of however many bins, together: its error is common to all of it.
fn one_each(scales: &[Ours]) -> Vec<OnOneScale> {
    let mut by: BTreeMap<&Option<Stretch>, OnOneScale> = BTreeMap::new();
    for (stretch, scale) in scales {
        let sum = by.entry(stretch).or_insert(OnOneScale { mass: Mass::ZERO, readings: Variance::ZERO, ..*scale });
        sum.mass += scale.mass;
        sum.readings = sum.readings.plus(scale.readings);
    }
    by.into_values().collect()
}

/// Lines that share a fill, in the order of their first line.
fn groups(lines: &[TicketLineAnswer]) -> Vec<Vec<u32>> {
    let mut groups: Vec<(Vec<u32>, BTreeSet<FillId>)> = Vec::new();
    for (line, number) in lines.iter().zip(1..) {
        let mut mine = (vec![number], line.bins.iter().map(|tied| tied.fill).collect::<BTreeSet<FillId>>());
        let (joined, apart): (Vec<_>, Vec<_>) = groups.into_iter().partition(|(_, fills)| !fills.is_disjoint(&mine.1));
        for (lines, fills) in joined {
            mine.0.extend(lines);
            mine.1.extend(fills);
        }
        mine.0.sort_unstable();
        groups = apart;
        groups.push(mine);
    }
    groups.sort();
    groups.into_iter().map(|(lines, _)| lines).collect()
}

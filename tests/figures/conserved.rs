//! Conservation from the scale to the cash: over random seasons that are sold off, every gram that was recorded is in a bin, on
//! a ticket, or in a loss with a name, and every cent of a ticket is in the year.

use super::season::season;
use bismar::command::{
    BenchSetup, BinRef, Core, Effect, Input, NameRef, Order, SettingOut, Share, Taking, TakingLine, TicketOrder,
};
use bismar::facts::books::{HowClosed, Origin};
use bismar::facts::{BenchId, Books, FillId, LoadWhy, PayMethod, Source, TicketId};
use bismar::measure::{BootId, Currency, Mass, Moment, Money, Price, Stamp};
use bismar::query::{self, Riddle, TicketQuestion, YearQuestion};
use bismar::settle::Manner;
use jiff::civil::date;
use jiff::tz::TimeZone;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rust_decimal::Decimal;
use std::collections::BTreeSet;

const BENCH: BenchId = BenchId(1);

struct Market {
    core: Core,
    chance: StdRng,
    step: u64,
    taken: usize,
    refused: usize,
}

impl Market {
    fn books(&self) -> &Books {
        self.core.books()
    }

    fn below(&mut self, n: u64) -> u64 {
        self.chance.random_range(0..n)
    }

    fn at(&mut self) -> Stamp {
        self.step += 1;
        let wall = jiff::Timestamp::from_second(1_800_000_000 + 60 * self.step as i64).unwrap();
        Stamp { boot: BootId(10), mono: Moment(self.step * 60_000_000_000), wall, trusted: true }
    }

    fn order(&mut self, order: Order) {
        let (at, before) = (self.at(), self.books().seq);
        let effects = self.core.step(Input::Order { bench: BENCH, key: None, order: Box::new(order), ticket: 0 }, at);
        let answer = effects.into_iter().find_map(|effect| match effect {
            Effect::Answer { answer, .. } => Some(answer),
            Effect::Append(_) => None,
        });
        match answer.unwrap() {
            Ok(_) => self.taken += 1,
            Err(refusal) => {
                self.refused += 1;
                assert_eq!(self.books().seq, before, "{refusal:?} left something behind");
            }
        }
        let durable = self.books().seq;
        self.core.step(Input::Durable(durable), at);
    }

    fn tickets(&mut self, order: TicketOrder) {
        self.order(Order::Tickets(Box::new(order)));
    }

    fn bin(&mut self) -> BinRef {
        BinRef(1 + self.below(7) as u32)
    }

    fn line(&mut self) -> TakingLine {
        let bins: Vec<BinRef> = (0..1 + self.below(3)).map(|_| self.bin()).collect();
        let there = |bin: &BinRef| {
            let (_, state) = self.books().bin_by_number(bin.0).unwrap();
            self.books().fills[&state.fill].mass.max(Mass::ZERO)
        };
        let mass: Mass = bins.iter().map(there).sum();
        let net = Mass::grams((mass.femtograms() / Mass::grams(1).femtograms()) as i64 + self.below(60) as i64);
        let part = |market: &mut Market| Mass::grams(market.below(900) as i64);
        let shares = bins.into_iter().map(|bin| match self.below(4) {
            0 => Share { bin, mass: Some(part(self)), whole: self.below(2) == 0, weighed: None },
            1 => {
                let weighed = bismar::facts::WeighedPart { mass: part(self), division: Mass::grams(1), here: true };
                Share { bin, mass: Some(part(self)), whole: false, weighed: Some(weighed) }
            }
            _ => Share { bin, mass: None, whole: true, weighed: None },
        });
        let shares = shares.collect();
        let grade = ["copper", "brass", "gold"][self.below(3) as usize];
        TakingLine {
            text: "as printed".to_owned(),
            grade: Some(NameRef(grade.to_owned())),
            gross: None,
            tare: None,
            net,
            digit: Mass::grams(20),
            off: (self.below(4) == 0).then(|| Mass::grams(5)),
            off_percent: None,
            refused: (self.below(4) == 0).then(|| part(self)),
            price: Some(Price::parse("3.70/kg", Currency::parse("EUR").unwrap()).unwrap()),
            amount: Some(Decimal::new(self.below(9000) as i64, 2)),
            shares,
        }
    }

    fn deed(&mut self) {
        let buyer = NameRef(["near", "far"][self.below(2) as usize].to_owned());
        let known: Vec<TicketId> = self.books().tickets.keys().copied().collect();
        let ticket = known.get(self.below(known.len().max(1) as u64) as usize).copied().unwrap_or(TicketId(1));
        let day = date(2027, 1 + self.below(12) as i8, 1 + self.below(28) as i8);
        let reason = "by chance".to_owned();
        match self.below(9) {
            0 => {
                let loads = (0..1 + self.below(3)).map(|_| (self.bin(), None)).collect();
                self.tickets(TicketOrder::SetOut(SettingOut {
                    day,
                    stops: vec![buyer],
                    loads,
                    distance_km: None,
                    span: None,
                    cost: None,
                }));
            }
            1 => self.tickets(TicketOrder::Void { ticket, reason }),
            2 => {
                let (bin, mass) = (self.bin(), (self.below(2) == 0).then(|| Mass::grams(40)));
                let given = self.below(2) == 0;
                self.tickets(TicketOrder::Away { bin, mass, given, reason });
            }
            3 => {
                let amount =
                    Money { amount: Decimal::new(self.below(5000) as i64, 2), currency: Currency::parse("EUR").unwrap() };
                self.tickets(TicketOrder::Pay { ticket, day, method: PayMethod::Cheque, amount, fee: None, held: false });
            }
            4 | 5 => {
                let (bin, mass) = (Some(self.bin()), Mass::grams(1 + self.below(4000) as i64));
                let source = Source::Label { division: Mass::grams(1) };
                self.order(Order::EnterWeight { bin, mass, source, reason });
            }
            _ => {
                let lines: Vec<TakingLine> = (0..1 + self.below(3)).map(|_| self.line()).collect();
                let number = Some(self.below(60).to_string());
                let total = (self.below(2) == 0).then(|| Decimal::new(self.below(20_000) as i64, 2));
                self.tickets(TicketOrder::Take(vec![Taking {
                    buyer,
                    day,
                    number,
                    run: None,
                    currency: Currency::parse("EUR").unwrap(),
                    passes: Vec::new(),
                    division: None,
                    lines,
                    off: Vec::new(),
                    total,
                    due: None,
                }]));
            }
        }
    }
}

fn masses_add_up(books: &Books, before: &BTreeSet<FillId>) {
    let tipped =
        |fill| books.fills.get(&fill).is_some_and(|fill| fill.closed.is_some_and(|closed| closed.how != HowClosed::Emptied));
    let in_fills = || books.entries.values().filter(|entry| entry.counts() && entry.fill.is_some_and(|fill| !tipped(fill)));
    let recorded: Mass = in_fills().filter(|entry| !matches!(entry.origin, Origin::Load(_))).map(|entry| entry.mass).sum();
    let named =
        |why: LoadWhy| in_fills().filter(|entry| entry.origin == Origin::Load(why)).map(|entry| -entry.mass).sum::<Mass>();
    let in_bins: Mass = query::bins(books).iter().map(|bin| bin.mass).sum();
    let question = TicketQuestion { today: date(2027, 12, 31), zone: TimeZone::UTC };
    let tickets = query::tickets(books, &question);
    let standing = || tickets.iter().filter(|ticket| !ticket.voided);
    let on_tickets: Mass = standing().flat_map(|ticket| &ticket.lines).flat_map(|line| &line.bins).map(|tied| tied.mass).sum();
    let losses = named(LoadWhy::ScaleDifference) + named(LoadWhy::GivenAway) + named(LoadWhy::SoldUnweighed);
    let emptied = |fill: &bismar::facts::books::Fill| fill.closed.is_some_and(|closed| closed.how == HowClosed::Emptied);
    let gone: Mass = books.fills.values().filter(|fill| emptied(fill)).map(|fill| fill.mass).sum();
    assert_eq!(named(LoadWhy::BroughtHome), Mass::ZERO, "what came home left one fill for another");
    assert_eq!(recorded, in_bins + on_tickets + losses + gone);
    for line in standing().flat_map(|ticket| &ticket.lines) {
        assert!(line.bins.iter().map(|tied| tied.mass).sum::<Mass>() <= line.weighed.delivered, "more is tied than was there");
    }
    // What left on board and is on no ticket is asked, and nothing else of the runs is.
    let asked: Mass = query::riddles(books)
        .iter()
        .map(|riddle| if let Riddle::LoadLeft { mass, .. } = riddle { *mass } else { Mass::ZERO })
        .sum();
    let since = books.fills.iter().filter(|(id, fill)| emptied(fill) && !before.contains(id));
    assert_eq!(asked, since.map(|(_, fill)| fill.mass).sum(), "from here on bins are emptied by runs and tickets alone");
}

fn money_adds_up(books: &Books) {
    let question = YearQuestion { year: 2027, today: date(2027, 12, 31), zone: TimeZone::UTC, stale_after: 30 };
    let year = query::year(books, &question);
    let asked = TicketQuestion { today: question.today, zone: TimeZone::UTC };
    let tickets = query::tickets(books, &asked);
    let standing = || tickets.iter().filter(|ticket| !ticket.voided);
    let totals: Decimal = standing().filter_map(|ticket| ticket.total).map(|total| total.amount).sum();
    let paid: Decimal = standing().map(|ticket| ticket.paid).sum();
    let sum = |rows: &[query::Income]| rows.iter().map(|row| row.amount.amount).sum::<Decimal>();
    assert_eq!((sum(&year.earned), sum(&year.received)), (totals, paid));
    let unpaid: Decimal = year.unpaid.iter().map(|open| open.amount).sum();
    assert_eq!(totals - paid, unpaid);
    let to_lots: Decimal = year.lots.iter().flat_map(|lot| &lot.received).map(|money| money.amount).sum();
    assert!(to_lots <= standing().flat_map(|ticket| &ticket.paper.lines).filter_map(|line| line.amount).sum::<Decimal>());
}

#[test]
fn every_gram_is_somewhere() {
    let (mut taken, mut refused) = (0, 0);
    for seed in 0..4 {
        let dir = tempfile::tempdir().unwrap();
        let books = season(seed, dir.path());
        let store = books.store.unwrap();
        let setup = BenchSetup { id: BENCH, division: None, unit: None, manner: Manner::default(), capacity: None };
        let start = Stamp {
            boot: BootId(10),
            mono: Moment(1),
            wall: jiff::Timestamp::from_second(1_799_999_999).unwrap(),
            trusted: true,
        };
        let before: BTreeSet<FillId> = books.fills.iter().filter(|(_, fill)| fill.closed.is_some()).map(|(id, _)| *id).collect();
        let (core, _) = Core::resume(books, store, &[setup], start, "test");
        let mut market = Market { core, chance: StdRng::seed_from_u64(seed), step: 0, taken: 0, refused: 0 };
        let durable = market.books().seq;
        let at = market.at();
        market.core.step(Input::Durable(durable), at);
        for _ in 0..60 {
            market.deed();
            masses_add_up(market.books(), &before);
        }
        money_adds_up(market.books());
        taken += market.taken;
        refused += market.refused;
    }
    assert!(taken > 120 && refused > 0, "{taken} taken, {refused} refused");
}

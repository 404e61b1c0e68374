//! Random deeds of a market over books that are there: bins are sold, given away and taken back, slips come in with all that
//! may be odd about them, and money is paid. All of it goes through the core, which refuses what does not fit.

use bismar::command::{
    BenchSetup, BinRef, Core, Effect, Input, NameRef, Order, Receipt, Refusal, SettingOut, Share, Taking, TakingLine, TicketOrder,
};
use bismar::facts::{BenchId, Books, Event, PayMethod, Source, TicketId};
use bismar::measure::{BootId, Currency, Mass, Moment, Money, Price, Stamp};
use bismar::settle::Manner;
use jiff::civil::date;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rust_decimal::Decimal;

const BENCH: BenchId = BenchId(1);

pub struct Market {
    core: Core,
    chance: StdRng,
    step: u64,
    pub taken: usize,
    pub refused: usize,
    /// What was recorded, in order.
    pub events: Vec<Event>,
}

impl Market {
    /// Goes on from some books of a store.
    pub fn over(books: Books, seed: u64) -> Market {
        let store = books.store.unwrap();
        let setup = BenchSetup { id: BENCH, division: None, unit: None, manner: Manner::default(), capacity: None };
        let start = Stamp {
            boot: BootId(10),
            mono: Moment(1),
            wall: jiff::Timestamp::from_second(1_799_999_999).unwrap(),
            trusted: true,
        };
        let (core, begun) = Core::resume(books, store, &[setup], start, "test");
        let chance = StdRng::seed_from_u64(seed);
        let mut market = Market { core, chance, step: 0, taken: 0, refused: 0, events: Vec::new() };
        market.recorded(begun);
        let (durable, at) = (market.books().seq, market.at());
        let effects = market.core.step(Input::Durable(durable), at);
        market.recorded(effects);
        market
    }

    /// Keeps what was recorded, and hands back an answer.
    fn recorded(&mut self, effects: Vec<Effect>) -> Option<Result<Receipt, Refusal>> {
        let mut answered = None;
        for effect in effects {
            match effect {
                Effect::Append(event) => self.events.push(event),
                Effect::Answer { answer, .. } => answered = Some(answer),
            }
        }
        answered
    }

    pub fn books(&self) -> &Books {
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
        match self.recorded(effects).unwrap() {
            Ok(_) => self.taken += 1,
            Err(refusal) => {
                self.refused += 1;
                assert_eq!(self.books().seq, before, "{refusal:?} left something behind");
            }
        }
        let effects = self.core.step(Input::Durable(self.books().seq), at);
        self.recorded(effects);
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

    pub fn deed(&mut self) {
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

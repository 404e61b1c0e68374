//! What can be taken back: each way of telling something and taking it back.

use super::keep;
use bismar::facts::{
    ArrivalCame, BackHome, BinFull, Books, CheckLaid, CheckTakenOff, Confirmation, Disturbance, EmptyingTakenBack, EntryId, Fact,
    FillId, JobPart, KnownWeight, LoadMoved, LoadWhy, LotBegun, LotDrawn, LotWaited, MoneySpent, PaperLine, PayMethod,
    PaymentCame, QuoteId, RecordVoided, RunLoad, RunSetOut, ScaleDisturbed, Source, SpendingSort, StepId, TicketId, TicketTaken,
    TicketVoided, TrialBegan, Void, WireSampled,
};
use bismar::measure::{Currency, Displayed, Mass, Moment, Money, Price, PriceUnit, Span, Unit};
use bismar::settle::{Act, Rest};
use jiff::civil::date;
use rust_decimal::Decimal;

/// Ways to take something back.
pub const WAYS: usize = 27;

/// Something that can be taken back, by how much of it is new and how it goes again.
pub fn told_and_taken_back(which: usize, books: &mut Books, grams: i64) -> Option<&'static str> {
    let first = |books: &Books| books.bins.iter().next().map(|(id, bin)| (*id, bin.fill));
    let (bin, fill) = first(books)?;
    let (feed, session) = (*books.feeds.keys().next()?, *books.sessions.keys().next_back()?);
    let (mass, reason, day) = (Mass::grams(grams), || "so".to_owned(), date(2026, 2, 3));
    let money = Money { amount: Decimal::new(grams, 2), currency: Currency::parse("EUR").unwrap() };
    let label = || Source::Label { division: Mass::grams(1) };
    let rest = |load: i64, since| Rest {
        load: Mass::grams(load),
        shown: Displayed { count: load, exponent: 0 },
        unit: Unit::Gram,
        since: Moment(since),
    };
    let since = u64::MAX / 4;
    let step = |books: &mut Books, from: i64, to: i64| {
        let (from, to) = (rest(from, since), rest(to, since + 9));
        let (act, delta) = (if to.load > from.load { Act::Added } else { Act::Removed }, to.load - from.load);
        StepId(keep(books, Fact::Stepped { act, delta, landed: Moment(since + 5), from, to }))
    };
    let void = |books: &mut Books, entry: u64| {
        keep(books, Fact::DropVoided { entry: EntryId(entry), which: Void::NeverMaterial, reason: "so".to_owned() });
    };
    let unrecord = |books: &mut Books, record: u64| {
        keep(books, Fact::RecordVoided(RecordVoided { record, reason: "so".to_owned() }));
    };
    let known = || KnownWeight { nominal: mass, within: Some(Mass::ZERO), source: "a weight".to_owned() };
    let (bin_of, fill_of) = (Some(bin), Some(fill));
    Some(match which {
        0 | 1 => {
            let step = step(books, 0, grams);
            let (bin, fill) = if which == 0 { (bin_of, fill_of) } else { (None, None) };
            let leg = Some(books.sessions[&session].leg());
            let session = Some(session);
            let entry = keep(books, Fact::DropLanded { step, bin, fill, session, leg, mass, doubt: None, transfer: None });
            keep(books, Fact::DropRevised { entry: EntryId(entry), mass: mass + mass });
            keep(books, Fact::Confirmed { entry: EntryId(entry), why: Confirmation::Stayed });
            keep(books, Fact::DropDoubted { entry: EntryId(entry) });
            void(books, entry);
            "a drop"
        }
        2 => {
            let step = step(books, 0, grams);
            let leg = None;
            let entry = keep(books, Fact::IntakeLanded { step, feed: Some(feed), session: Some(session), leg, mass });
            keep(books, Fact::Confirmed { entry: EntryId(entry), why: Confirmation::Stayed });
            void(books, entry);
            "an intake"
        }
        3 => {
            let session = Some(session);
            let entry =
                keep(books, Fact::WeightEntered { bin: bin_of, fill: fill_of, session, mass, source: label(), reason: reason() });
            void(books, entry);
            "a weight from elsewhere"
        }
        4 => {
            let entry = keep(books, Fact::OpeningStock { bin, fill, mass, source: label(), reason: reason() });
            void(books, entry);
            "opening stock"
        }
        5 => {
            let entry = keep(books, Fact::CaughtUp { bin, fill, mass });
            void(books, entry);
            "a catch-up"
        }
        6 => {
            let entry = keep(books, Fact::LotEntered { feed, session: Some(session), mass, source: label(), reason: reason() });
            void(books, entry);
            "a lot from elsewhere"
        }
        7 => {
            let depth = Some("the windings".to_owned());
            let begun = LotBegun { feed, session: None, mass: None, source: None, pieces: Some(4), depth, reason: reason() };
            let entry = keep(books, Fact::LotBegun(Box::new(begun)));
            void(books, entry);
            "a counted lot"
        }
        8 => {
            let (leg, pieces, depth, source) = (None, None, None, Some(label()));
            let (feed, session, reason) = (Some(feed), None, Some(reason()));
            let drawn = LotDrawn { step: None, bin, fill, feed, session, leg, mass, source, pieces, depth, reason };
            let entry = keep(books, Fact::LotDrawn(Box::new(drawn)));
            void(books, entry);
            "what was drawn"
        }
        9 => {
            let came = ArrivalCame {
                from: reason(),
                day,
                what: reason(),
                feed: Some(feed),
                mass: Some(mass),
                pieces: None,
                paid: Some(money),
                span: Some(Span::seconds(600)),
                distance_km: None,
            };
            let record = keep(books, Fact::ArrivalCame(Box::new(came)));
            unrecord(books, record);
            "an arrival"
        }
        10 => {
            let lot = books.lots.keys().next().copied();
            let (sort, what) = (SpendingSort::Consumables, reason());
            let spent = MoneySpent { sort, what, day, amount: money, buyer: None, feed: Some(feed), lot };
            let record = keep(books, Fact::MoneySpent(spent));
            unrecord(books, record);
            "money"
        }
        11 => {
            let lot = books.lots.keys().next().copied();
            let part = lot.is_none().then_some(JobPart::Yard);
            let span = Span::seconds(900);
            let record = keep(books, Fact::MinutesSpent { what: reason(), span, day, session: None, lot, part });
            unrecord(books, record);
            "minutes"
        }
        12 => {
            let lot = *books.lots.keys().next()?;
            let waited = LotWaited { lot, what: reason(), span: Span::seconds(900), day, clock_ran: true };
            let record = keep(books, Fact::LotWaited(waited));
            unrecord(books, record);
            "waiting"
        }
        13 => {
            let weighed = Fact::CheckWeighed {
                nominal: mass,
                shown: mass,
                within: Some(Mass::ZERO),
                source: None,
                division: Some(Mass::grams(1)),
                scale: None,
                drop: None,
            };
            let record = keep(books, weighed);
            unrecord(books, record);
            "a check"
        }
        14 => {
            let disturbed = ScaleDisturbed { how: Disturbance::Moved, scale: None, reason: reason() };
            let record = keep(books, Fact::ScaleDisturbed(disturbed));
            unrecord(books, record);
            "a move of the scale"
        }
        15 => {
            keep(books, Fact::CheckAsked(known()));
            let step = step(books, 0, grams);
            let base = Mass::ZERO;
            keep(books, Fact::CheckLaid(Box::new(CheckLaid { step, weight: known(), base, shown: mass, drop: None })));
            keep(books, Fact::CheckTakenOff(CheckTakenOff { went_back: true }));
            keep(books, Fact::CheckWithdrawn {});
            "an announced check"
        }
        16 => {
            let (buyer, grade) = (*books.buyers.keys().next()?, *books.grades.keys().next()?);
            let price = Price { amount: Decimal::new(99_999, 2), currency: money.currency, per: PriceUnit::Pound };
            let quote = keep(
                books,
                Fact::QuoteGiven {
                    buyer,
                    grade,
                    price,
                    day,
                    stale_after: None,
                    breaks: Vec::new(),
                    minimum: None,
                    deduction: None,
                },
            );
            keep(books, Fact::QuoteWithdrawn { quote: QuoteId(quote), reason: reason() });
            "a quote"
        }
        17 => {
            let lot = *books.lots.iter().find(|(_, lot)| !lot.is_open()).map(|(id, _)| id)?;
            keep(books, Fact::LotReopened { lot });
            // The lot was closed at another time, so only what lies between may differ: nothing does here.
            keep(books, Fact::LotClosed { lot });
            "a lot opened again"
        }
        18 => {
            let leg = books.sessions[&session].leg();
            let record = keep(books, Fact::TrialBegan(TrialBegan { session, leg, feed, span: Span::seconds(600) }));
            unrecord(books, record);
            "a trial"
        }
        19 => {
            let loads = vec![RunLoad { bin, fill, whole: false, mass: Some(mass) }];
            let (stops, distance_km) = (books.buyers.keys().copied().collect(), Some(Decimal::TEN));
            let run = RunSetOut { day, stops, loads, distance_km, span: Some(Span::seconds(3600)), cost: Some(money) };
            let record = keep(books, Fact::RunSetOut(Box::new(run)));
            unrecord(books, record);
            "a run"
        }
        20 => {
            let (buyer, grade) = (*books.buyers.keys().next()?, books.grades.keys().next().copied());
            let line = PaperLine {
                text: reason(),
                grade,
                gross: None,
                tare: None,
                net: mass,
                digit: Mass::grams(1),
                off: None,
                off_percent: None,
                refused: None,
                price: None,
                amount: Some(money.amount),
            };
            let currency = money.currency;
            let taken = TicketTaken {
                buyer,
                day,
                number: None,
                run: None,
                currency,
                passes: Vec::new(),
                division: None,
                lines: vec![line],
                off: Vec::new(),
                total: None,
                due: None,
            };
            let ticket = TicketId(keep(books, Fact::TicketTaken(Box::new(taken))));
            let mut moves = Vec::new();
            for (why, mass) in [(LoadWhy::Sold, -mass), (LoadWhy::ScaleDifference, Mass::grams(-1))] {
                let (ticket, line, whole, weighed, reason) = (Some(ticket), Some(1), false, None, None);
                let moved = LoadMoved { why, bin, fill, mass, ticket, line, whole, weighed, reason };
                moves.push(EntryId(keep(books, Fact::LoadMoved(Box::new(moved)))));
            }
            let came = PaymentCame { ticket, day, method: PayMethod::Cash, amount: money, fee: None, held: false };
            let record = keep(books, Fact::PaymentCame(came));
            unrecord(books, record);
            keep(books, Fact::TicketVoided(TicketVoided { ticket, moves, reason: reason() }));
            "a ticket with its payment"
        }
        21 => {
            let (metal, division) = (*books.grades.keys().next()?, Mass::grams(1));
            let (insulated, bare, span) = (mass + mass, mass, Some(Span::seconds(60)));
            let sample = WireSampled { feed, metal, insulated, bare, division, span, day };
            let record = keep(books, Fact::WireSampled(Box::new(sample)));
            unrecord(books, record);
            "a sample of wire"
        }
        22 => {
            let record = keep(books, Fact::BinFull(BinFull { bin, fill }));
            unrecord(books, record);
            "a full bin"
        }
        23 => {
            let since = FillId(keep(books, Fact::BinEmptied { bin, fill, reason: reason() }));
            let home = BackHome { bin, fill, since };
            keep(books, Fact::EmptyingTakenBack(EmptyingTakenBack { home, reason: reason() }));
            "an emptying"
        }
        24 => {
            let (to, to_fill) = books.bins.iter().map(|(id, bin)| (*id, bin.fill)).find(|(id, _)| *id != bin)?;
            let mass = books.fills[&fill].mass;
            let tipped = Fact::BinTipped { from: bin, from_fill: fill, to, to_fill, mass, reason: reason() };
            let home = BackHome { bin, fill, since: FillId(keep(books, tipped)) };
            keep(books, Fact::EmptyingTakenBack(EmptyingTakenBack { home, reason: reason() }));
            "a tip"
        }
        25 => {
            let (why, mass, whole) = (LoadWhy::GivenAway, -books.fills[&fill].mass, true);
            let moved = LoadMoved { why, bin, fill, mass, ticket: None, line: None, whole, weighed: None, reason: None };
            keep(books, Fact::LoadMoved(Box::new(moved)));
            let home = BackHome { bin, fill, since: FillId(keep(books, Fact::BinEmptied { bin, fill, reason: reason() })) };
            keep(books, Fact::EmptyingTakenBack(EmptyingTakenBack { home, reason: reason() }));
            "a gift"
        }
        _ => {
            keep(books, Fact::IntakeAsked { feed: Some(feed) });
            keep(books, Fact::IntakeWithdrawn {});
            "an intake asked for"
        }
    })
}

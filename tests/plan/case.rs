//! Small invented problems in whole numbers, which say for themselves what the best answer brings.

use bismar::economy::quotes::Terms;
use bismar::facts::{BinId, Break, GradeId};
use bismar::haul::plan::{Item, Pin, Place, Problem, Reach, Vehicle};
use bismar::measure::{Currency, Mass, Price, PriceUnit, Rate};
use jiff::civil::date;
use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// Cents a kilogram, from so many grams on.
pub type Step = (i64, i64);

#[derive(Debug, Clone)]
pub struct Offer {
    pub grade: u64,
    pub place: usize,
    pub steps: Vec<Step>,
    pub minimum: i64,
    pub deduction: i64,
}

#[derive(Debug, Clone)]
pub struct Bin {
    pub grade: u64,
    pub grams: i64,
    pub gross: i64,
    pub litres: u32,
    pub pin: Option<Pin>,
}

/// Kilometres, minutes, minutes there, open.
pub type Buyer = (i64, i64, i64, bool);

#[derive(Debug, Clone)]
pub struct Case {
    pub bins: Vec<Bin>,
    pub buyers: Vec<Buyer>,
    pub between: Vec<(usize, usize, i64, i64)>,
    pub offers: Vec<Offer>,
    pub holds: Vec<(u64, i64)>,
    pub payload: Option<i64>,
    pub litres: Option<u32>,
    pub count: Option<u32>,
    /// Cents a kilometre, cents a minute.
    pub per_km: i64,
    pub per_minute: i64,
}

/// What is compared: ten-millionths of the currency, in which every figure here is whole.
pub const FINE: i64 = 10_000_000;
const CENT: i64 = FINE / 100;

pub fn case(rng: &mut ChaCha8Rng, bins: usize, buyers: usize, grades: u64) -> Case {
    let bin = |rng: &mut ChaCha8Rng| {
        let grams = rng.random_range(200..30_000);
        Bin {
            grade: rng.random_range(0..grades),
            grams,
            gross: grams + rng.random_range(0..2000),
            litres: rng.random_range(5..60),
            pin: match rng.random_range(0..12) {
                0 => Some(Pin::Leave),
                1 => Some(Pin::Go),
                _ => None,
            },
        }
    };
    let bins: Vec<Bin> = (0..bins).map(|_| bin(rng)).collect();
    let buyer = |rng: &mut ChaCha8Rng| {
        (rng.random_range(1..60), rng.random_range(2..70), rng.random_range(0..40), rng.random_range(0..8) > 0)
    };
    let buyers: Vec<Buyer> = (0..buyers).map(|_| buyer(rng)).collect();
    let mut between = Vec::new();
    for one in 0..buyers.len() {
        for other in 0..one {
            if rng.random_bool(0.5) {
                between.push((one, other, rng.random_range(1..60), rng.random_range(2..60)));
            }
        }
    }
    let mut offers = Vec::new();
    for grade in 0..grades {
        let usual = rng.random_range(20..900);
        for place in 0..buyers.len() {
            if rng.random_bool(0.25) {
                continue;
            }
            let mut steps = vec![(0, usual * rng.random_range(80..120) / 100)];
            if rng.random_bool(0.3) {
                let mut from = 0;
                for _ in 0..rng.random_range(1..3) {
                    from += rng.random_range(1000..25_000);
                    steps.push((from, usual * rng.random_range(85..140) / 100));
                }
            }
            let minimum = if rng.random_bool(0.25) { rng.random_range(1000..40_000) } else { 0 };
            let deduction = if rng.random_bool(0.2) { rng.random_range(1..15) } else { 0 };
            let sign = if rng.random_bool(0.05) { -1 } else { 1 };
            steps.iter_mut().for_each(|step| step.1 *= sign);
            offers.push(Offer { grade, place, steps, minimum, deduction });
        }
    }
    let all: i64 = bins.iter().map(|bin| bin.gross).sum();
    let some = |rng: &mut ChaCha8Rng| rng.random_bool(0.5);
    let held = rng.random_bool(0.3).then(|| (rng.random_range(0..grades), rng.random_range(100..900)));
    Case {
        holds: held.into_iter().collect(),
        payload: some(rng).then(|| all * rng.random_range(20..110) / 100),
        litres: some(rng).then(|| rng.random_range(20..30 * bins.len() as u32 + 30)),
        count: rng.random_bool(0.3).then(|| rng.random_range(1..=bins.len() as u32)),
        per_km: rng.random_range(0..60),
        per_minute: rng.random_range(0..40),
        bins,
        buyers,
        between,
        offers,
    }
}

impl Case {
    pub fn problem(&self) -> Problem {
        let currency = Currency::parse("EUR").unwrap();
        let price = |cents: i64| Price { amount: Decimal::new(cents, 2), currency, per: PriceUnit::Kilogram };
        let reach = |km: i64, minutes: i64| Reach { km: Decimal::from(km), minutes: minutes as u32 };
        let terms = |offer: &Offer| Terms {
            rate: Rate::Weight(price(offer.steps[0].1)),
            day: date(2026, 3, 1),
            stale_after: None,
            breaks: offer.steps[1..]
                .iter()
                .map(|(from, cents)| Break { from: Mass::grams(*from), amount: Decimal::new(*cents, 2) })
                .collect(),
            minimum: (offer.minimum > 0).then(|| Mass::grams(offer.minimum)),
            deduction: (offer.deduction > 0).then(|| Decimal::from(offer.deduction)),
        };
        let item = |(at, bin): (usize, &Bin)| Item {
            bin: BinId(at as u64),
            grade: GradeId(bin.grade),
            mass: Mass::grams(bin.grams),
            gross: Mass::grams(bin.gross),
            litres: Some(bin.litres),
            pin: bin.pin,
        };
        Problem {
            currency,
            items: self.bins.iter().enumerate().map(item).collect(),
            places: self
                .buyers
                .iter()
                .map(|&(km, minutes, there, open)| Place { from_home: reach(km, minutes), minutes_there: there as u32, open })
                .collect(),
            between: self.between.iter().map(|&(one, other, km, minutes)| ((one, other), reach(km, minutes))).collect(),
            offers: self.offers.iter().map(|offer| ((GradeId(offer.grade), offer.place), terms(offer))).collect(),
            holds: self.holds.iter().map(|(grade, cents)| (GradeId(*grade), price(*cents))).collect(),
            vehicle: Vehicle {
                payload: self.payload.map(Mass::grams),
                litres: self.litres,
                bins: self.count,
                per_km: Decimal::new(self.per_km, 2),
            },
            floor: Decimal::new(60 * self.per_minute, 2),
        }
    }

    /// Every loading, priced: the best and the second-best net in ten-millionths; none where no loading keeps the rules.
    pub fn by_force(&self) -> Vec<i64> {
        let rounds = self.rounds();
        let places = self.buyers.len();
        let mut nets = Vec::new();
        let mut loading = vec![0_usize; self.bins.len()];
        'all: loop {
            if let Some(net) = self.net(&loading, &rounds) {
                nets.push(net);
            }
            for slot in &mut loading {
                *slot += 1;
                if *slot <= places {
                    continue 'all;
                }
                *slot = 0;
            }
            break;
        }
        nets.sort_unstable_by(|one, other| other.cmp(one));
        nets.truncate(2);
        nets
    }

    /// `places` means home is 0, the buyers from 1.
    fn net(&self, loading: &[usize], rounds: &[i64]) -> Option<i64> {
        let (mut gross, mut litres, mut count, mut stops) = (0, 0, 0, 0_usize);
        for (bin, place) in self.bins.iter().zip(loading) {
            if *place == 0 {
                if bin.pin == Some(Pin::Go) {
                    return None;
                }
                continue;
            }
            if bin.pin == Some(Pin::Leave) || !self.buyers[place - 1].3 {
                return None;
            }
            (gross, litres, count) = (gross + bin.gross, litres + bin.litres, count + 1);
            stops |= 1 << (place - 1);
        }
        let over = self.payload.is_some_and(|most| gross > most)
            || self.litres.is_some_and(|most| litres > most)
            || self.count.is_some_and(|most| count > most);
        if over {
            return None;
        }
        let mut value = 0;
        let grades = self.bins.iter().map(|bin| bin.grade).max().unwrap_or(0);
        for place in 1..=self.buyers.len() {
            for grade in 0..=grades {
                let here = self.bins.iter().zip(loading).filter(|(bin, at)| **at == place && bin.grade == grade);
                let grams: i64 = here.map(|(bin, _)| bin.grams).sum();
                if grams == 0 {
                    continue;
                }
                let offer = self.offers.iter().find(|offer| offer.grade == grade && offer.place == place - 1)?;
                let cents = offer.steps.iter().rfind(|step| grams >= step.0)?.1;
                let held = self.holds.iter().any(|(of, least)| *of == grade && cents < *least);
                if grams < offer.minimum || held {
                    return None;
                }
                value += cents * grams * (100 - offer.deduction);
            }
        }
        Some(value - rounds[stops])
    }

    /// The cheapest round of each set of stops: every order tried, each stretch by the cheapest road there is.
    fn rounds(&self) -> Vec<i64> {
        let roads = self.roads();
        let count = self.buyers.len();
        let mut rounds = vec![0; 1 << count];
        for (set, best) in rounds.iter_mut().enumerate().skip(1) {
            let stops: Vec<usize> = (0..count).filter(|at| set >> at & 1 == 1).collect();
            let there: i64 = stops.iter().map(|at| self.buyers[*at].2 * self.per_minute).sum();
            let mut least = i64::MAX;
            orders(&mut stops.clone(), 0, &mut |order| {
                let way = order.windows(2).map(|pair| roads[pair[0]][pair[1]]).sum::<i64>();
                least = least.min(roads[count][order[0]] + way + roads[order[order.len() - 1]][count]);
            });
            *best = (least + there) * CENT;
        }
        rounds
    }

    /// In cents; home is last.
    pub fn roads(&self) -> Vec<Vec<i64>> {
        let count = self.buyers.len();
        let cost = |km: i64, minutes: i64| km * self.per_km + minutes * self.per_minute;
        let mut roads = vec![vec![0; count + 1]; count + 1];
        for (one, buyer) in self.buyers.iter().enumerate() {
            let home = cost(buyer.0, buyer.1);
            (roads[one][count], roads[count][one]) = (home, home);
            for other in (0..count).filter(|other| *other != one) {
                roads[one][other] = home + cost(self.buyers[other].0, self.buyers[other].1);
            }
        }
        for &(one, other, km, minutes) in &self.between {
            (roads[one][other], roads[other][one]) = (cost(km, minutes), cost(km, minutes));
        }
        // As many rounds of "is there a shorter way by one other" as there are places.
        for _ in 0..=count {
            for from in 0..=count {
                for to in 0..=count {
                    roads[from][to] = (0..=count).map(|by| roads[from][by] + roads[by][to]).min().unwrap();
                }
            }
        }
        roads
    }

    /// For the reference in Python.
    pub fn told(&self) -> Value {
        let pin = |pin: Option<Pin>| pin.map(|pin| if pin == Pin::Go { "go" } else { "leave" });
        json!({
            "bins": self.bins.iter().map(|bin| json!([bin.grade, bin.grams, bin.gross, bin.litres, pin(bin.pin)])).collect::<Vec<_>>(),
            "there": self.buyers.iter().map(|buyer| buyer.2 * self.per_minute).collect::<Vec<_>>(),
            "open": self.buyers.iter().map(|buyer| buyer.3).collect::<Vec<_>>(),
            "roads": self.roads(),
            "offers": self.offers.iter().map(|offer| json!([offer.grade, offer.place, offer.steps, offer.minimum, offer.deduction])).collect::<Vec<_>>(),
            "holds": self.holds,
            "payload": self.payload,
            "litres": self.litres,
            "count": self.count,
        })
    }
}

fn orders(stops: &mut [usize], from: usize, seen: &mut dyn FnMut(&[usize])) {
    if from + 1 >= stops.len() {
        seen(stops);
        return;
    }
    for at in from..stops.len() {
        stops.swap(from, at);
        orders(stops, from + 1, seen);
        stops.swap(from, at);
    }
}

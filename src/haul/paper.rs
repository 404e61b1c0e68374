//! The arithmetic of the slip itself. Whatever it says is kept; what does not add up is named.

use super::vehicle;
use crate::economy::quotes::{MONEY_PLACES, MONEY_RULE};
use crate::facts::{PaperLine, TicketTaken};
use crate::measure::{Mass, Rounding};
use rust_decimal::Decimal;

/// What does not add up. Lines count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperFlag {
    /// The net is not gross less tare, with what is off or without.
    Net { line: u32, printed: Mass, reckoned: Mass },
    /// The amount is not the price times what is paid for, by more than a cent.
    Amount { line: u32, printed: Decimal, reckoned: Decimal },
    /// The total is not its lines less what is off.
    Total { printed: Decimal, reckoned: Decimal },
    /// The net is not the difference of its two passes over the vehicle scale.
    Pass { line: u32, printed: Mass, reckoned: Mass },
    /// One gross and one tare for the whole load, and the nets do not add up to them.
    Load { printed: Mass, reckoned: Mass },
    /// So many passes do not make so many lines.
    Passes { passes: u32, lines: u32 },
    /// A weight that a display with the division of this scale cannot show.
    Grid { line: u32 },
    /// More is off than there is.
    AllOff { line: u32 },
}

/// What a line says was on the buyer's scale, and what of it is paid for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weighed {
    pub delivered: Mass,
    pub paid: Mass,
    /// Off the weight.
    pub off: Mass,
}

/// Reads a line. Some print the net before what is off, some after it: gross less tare tells which, where both are there.
pub fn weighed(line: &PaperLine) -> Weighed {
    let base = line.gross.zip(line.tare).map(|(gross, tare)| gross - tare);
    let off = off(line, base.unwrap_or(line.net));
    match base {
        Some(base) if line.net != base && !off.is_zero() && near(line.net, base - off, line.digit) => {
            Weighed { delivered: base, paid: line.net, off: base - line.net }
        }
        _ => Weighed { delivered: line.net, paid: line.net - off, off },
    }
}

fn off(line: &PaperLine, of: Mass) -> Mass {
    let per_cent = |percent: Decimal| {
        let parts = 100 * 10_i128.pow(percent.scale().min(9));
        Mass::from_femtograms(Rounding::HalfUp.divide(of.femtograms().saturating_mul(percent.mantissa()), parts))
    };
    line.off.or_else(|| line.off_percent.map(per_cent)).unwrap_or(Mass::ZERO)
}

fn near(a: Mass, b: Mass, digit: Mass) -> bool {
    (a - b).abs() <= digit
}

/// Everything that does not add up.
pub fn check(paper: &TicketTaken) -> Vec<PaperFlag> {
    let mut flags = Vec::new();
    for (line, number) in paper.lines.iter().zip(1..) {
        line_flags(paper, line, number, &mut flags);
    }
    passes(paper, &mut flags);
    if let (Some(printed), Some(reckoned)) = (paper.total, paper.reckoned())
        && (printed - reckoned).abs() > cent()
    {
        flags.push(PaperFlag::Total { printed, reckoned });
    }
    flags
}

fn line_flags(paper: &TicketTaken, line: &PaperLine, number: u32, flags: &mut Vec<PaperFlag>) {
    let read = weighed(line);
    if let Some((gross, tare)) = line.gross.zip(line.tare)
        && read.delivered != gross - tare
    {
        flags.push(PaperFlag::Net { line: number, printed: line.net, reckoned: gross - tare });
    }
    if read.paid.is_negative() {
        flags.push(PaperFlag::AllOff { line: number });
    }
    let on_grid = |mass: &Mass| {
        let division = paper.division.filter(|division| !division.is_zero());
        division.is_none_or(|division| mass.femtograms() % division.femtograms() == 0)
    };
    let shown = [line.gross, line.tare, Some(read.delivered)];
    if !shown.iter().flatten().all(on_grid) {
        flags.push(PaperFlag::Grid { line: number });
    }
    if let (Some(price), Some(printed)) = (line.price, line.amount)
        && let Some(reckoned) = price.value(read.paid, MONEY_PLACES, MONEY_RULE)
        && (printed - reckoned.amount).abs() > cent()
    {
        flags.push(PaperFlag::Amount { line: number, printed, reckoned: reckoned.amount });
    }
}

/// A till may round the other way than we do.
fn cent() -> Decimal {
    Decimal::new(1, MONEY_PLACES)
}

fn passes(paper: &TicketTaken, flags: &mut Vec<PaperFlag>) {
    let nets = vehicle::nets(&paper.passes);
    let count = |many: usize| u32::try_from(many).unwrap_or(u32::MAX);
    match (nets.len(), paper.lines.len()) {
        (0, _) if paper.passes.is_empty() => {}
        (passes, lines) if passes == lines => {
            for ((line, net), number) in paper.lines.iter().zip(&nets).zip(1..) {
                let printed = weighed(line).delivered;
                if printed != *net {
                    flags.push(PaperFlag::Pass { line: number, printed, reckoned: *net });
                }
            }
        }
        (1, _) => {
            let printed: Mass = paper.lines.iter().map(|line| weighed(line).delivered).sum();
            if printed != nets[0] {
                flags.push(PaperFlag::Load { printed, reckoned: nets[0] });
            }
        }
        (_, lines) => flags.push(PaperFlag::Passes { passes: count(paper.passes.len()), lines: count(lines) }),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::facts::BuyerId;
    use crate::measure::{Currency, Price};
    use jiff::civil::date;

    pub fn line(net: i64) -> PaperLine {
        PaperLine {
            text: "heavy".into(),
            grade: None,
            gross: None,
            tare: None,
            net: Mass::grams(net),
            digit: Mass::grams(10),
            off: None,
            off_percent: None,
            refused: None,
            price: None,
            amount: None,
        }
    }

    pub fn paper(lines: Vec<PaperLine>) -> TicketTaken {
        TicketTaken {
            buyer: BuyerId(1),
            day: date(2026, 3, 2),
            number: None,
            run: None,
            currency: Currency::parse("USD").unwrap(),
            passes: Vec::new(),
            division: None,
            lines,
            off: Vec::new(),
            total: None,
            due: None,
        }
    }

    #[test]
    fn the_net_before_what_is_off_and_after_it() {
        let told = |net, off: Option<i64>, percent: Option<i64>| {
            let mut line = line(net);
            (line.gross, line.tare) = (Some(Mass::grams(12_000)), Some(Mass::grams(2000)));
            (line.off, line.off_percent) = (off.map(Mass::grams), percent.map(Decimal::from));
            (weighed(&line), check(&paper(vec![line])))
        };
        let read = |delivered, paid, off| {
            let [delivered, paid, off] = [delivered, paid, off].map(Mass::grams);
            (Weighed { delivered, paid, off }, Vec::new())
        };
        assert_eq!(told(10_000, None, None), read(10_000, 10_000, 0));
        assert_eq!(told(10_000, Some(500), None), read(10_000, 9500, 500));
        assert_eq!(told(9500, Some(500), None), read(10_000, 9500, 500));
        assert_eq!(told(9500, None, Some(5)), read(10_000, 9500, 500));
        let (kept, flags) = told(9700, Some(500), None);
        assert_eq!((kept.delivered, kept.paid), (Mass::grams(9700), Mass::grams(9200)), "as printed");
        let (printed, reckoned) = (Mass::grams(9700), Mass::grams(10_000));
        assert_eq!(flags, [PaperFlag::Net { line: 1, printed, reckoned }]);
    }

    #[test]
    fn money_and_grid() {
        let mut priced = line(4530);
        priced.price = Some(Price::parse("3.40/kg", Currency::parse("USD").unwrap()).unwrap());
        priced.amount = Some(Decimal::new(1540, 2));
        let mut slip = paper(vec![priced.clone(), priced]);
        slip.total = Some(Decimal::new(3081, 2));
        // 15.402 is 15.40; a cent of rounding is no fault of anybody.
        assert_eq!(check(&slip), []);
        slip.total = Some(Decimal::new(3082, 2));
        slip.lines[1].amount = Some(Decimal::new(1500, 2));
        slip.division = Some(Mass::grams(20));
        let [printed, reckoned] = [Decimal::new(1500, 2), Decimal::new(1540, 2)];
        assert_eq!(
            check(&slip),
            [
                PaperFlag::Grid { line: 1 },
                PaperFlag::Grid { line: 2 },
                PaperFlag::Amount { line: 2, printed, reckoned },
                PaperFlag::Total { printed: Decimal::new(3082, 2), reckoned: Decimal::new(3040, 2) }
            ]
        );
    }

    #[test]
    fn a_vehicle_scale_weighs_by_differences() {
        let mut slip = paper(vec![line(300_000), line(40_000)]);
        slip.passes = [2_340_000, 2_040_000, 2_000_000].map(Mass::grams).into();
        assert_eq!(check(&slip), []);
        slip.passes[1] = Mass::grams(2_060_000);
        let at =
            |line, printed, reckoned| PaperFlag::Pass { line, printed: Mass::grams(printed), reckoned: Mass::grams(reckoned) };
        assert_eq!(check(&slip), [at(1, 300_000, 280_000), at(2, 40_000, 60_000)]);
        slip.passes.remove(1);
        assert_eq!(check(&slip), [], "one gross and one tare for a mixed load");
        slip.passes.pop();
        assert_eq!(check(&slip), [PaperFlag::Passes { passes: 1, lines: 2 }]);
    }
}

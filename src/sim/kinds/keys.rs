//! Work with a scale whose keys are pressed, that sleeps, or that prints.

use crate::dialect::Dialect;
use crate::measure::Mass;
use crate::sim::kind::Kind;
use crate::sim::maker::Maker;
use crate::sim::script::Act;
use rand::Rng;

/// A bin stands there and is filled; between the pieces the scale loses its zero, its tare or its unit.
pub fn interrupted(maker: &mut Maker, kind: Kind, dialect: Dialect) {
    maker.choose(1);
    // The zero key works up to a twenty-fifth of the capacity.
    let zero = kind == Kind::KeysSilent || (kind == Kind::Keys && dialect == Dialect::LetterReply);
    let gross = if zero { maker.between(250, 350) } else { maker.between(600, 2000) };
    maker.act(Act::SetDown { bin: 1, gross, off: Mass::ZERO });
    maker.wait(3000, 5000);
    for round in 0..4 {
        for _ in 0..4 {
            let piece = maker.between(maker.lightest, if zero { 20 } else { 300 });
            maker.act(Act::Drop(piece));
            maker.wait(2500, 5000);
        }
        maker.wait(2000, 4000);
        match kind {
            Kind::Asleep => switched(maker, (Act::Sleep, Act::Wake), 30_000, 90_000),
            // A scale that tells of its start may be off for seconds only.
            Kind::Power if dialect == Dialect::LetterReply => switched(maker, (Act::PowerOff, Act::PowerOn), 2000, 15_000),
            Kind::Power => switched(maker, (Act::PowerOff, Act::PowerOn), 15_000, 40_000),
            Kind::Unit => {
                maker.act(Act::UnitKey);
                maker.wait(3000, 8000);
                if maker.rng.random_bool(0.5) {
                    let piece = maker.between(maker.lightest + 10, 300);
                    maker.act(Act::Drop(piece));
                    maker.wait(3500, 6000);
                }
                maker.act(Act::UnitKey);
            }
            _ if zero && round % 2 == 0 => maker.act(Act::ZeroKey),
            // Where no word tells of the key, only the change from gross to net does.
            _ if zero || round == 1 => maker.act(Act::TareKey),
            _ => {}
        }
        maker.wait(3000, 6000);
    }
    maker.wait(2500, 4000);
    maker.act(Act::Lift);
}

fn switched(maker: &mut Maker, (off, on): (Act, Act), least: u64, most: u64) {
    maker.act(off);
    maker.wait(least, most);
    maker.act(on);
    maker.wait(4000, 6000);
}

/// A bin on a scale that sends one line for each load that stands still; it is lifted and set back in between.
pub fn printed(maker: &mut Maker, kind: Kind) {
    maker.choose(1);
    let gross = maker.between(600, 2000);
    maker.act(Act::SetDown { bin: 1, gross, off: Mass::ZERO });
    maker.wait(4000, 6000);
    // Whoever joins in the middle of a line loses that line.
    maker.act(Act::PrintKey);
    maker.wait(3000, 4000);
    for piece in 0..20 {
        let mass = maker.between(maker.lightest, 300);
        maker.act(Act::Drop(mass));
        maker.wait(3500, 6000);
        if kind == Kind::PrintTwice && maker.rng.random_bool(0.5) {
            maker.act(Act::PrintKey);
            maker.wait(2500, 4000);
        } else if piece % 7 == 6 {
            maker.act(Act::Lift);
            maker.wait(3000, 5000);
            maker.act(Act::SetBack);
            maker.wait(4000, 6000);
        }
    }
}

/// One load at a time on such a scale, each in one go and heavy enough to be printed; now and then the next one weighs
/// the same.
pub fn loads(maker: &mut Maker) {
    // Whoever joins in the middle of a line loses that line.
    maker.act(Act::Lay(Mass::grams(50)));
    maker.wait(3500, 5000);
    maker.act(Act::Fetch);
    maker.wait(2500, 4000);
    let mut piece = maker.between(60, 400);
    for load in 0..16 {
        if load % 5 == 0 {
            maker.choose(load / 5 % 3 + 1);
        }
        if maker.rng.random_bool(0.8) {
            piece = maker.between(60, 400);
        }
        maker.act(Act::Drop(piece));
        maker.wait(3500, 6000);
        maker.act(Act::Lift);
        maker.wait(1800, 4000);
    }
}

//! Bins that come to the scale in turn.

use crate::measure::Mass;
use crate::sim::kind::Kind;
use crate::sim::maker::Maker;
use crate::sim::script::Act;
use rand::Rng;

/// Three bins, first each with the right choice, then in any order as the kind has it. Their weights stay some hundred
/// grams apart, so that each can be known by its own.
pub fn swaps(maker: &mut Maker, kind: Kind, division: Mass) {
    let mut gross = [maker.between(600, 650), maker.between(1500, 1600), maker.between(2600, 2800)];
    let mut before = 0;
    for visit in 0..9 {
        let first = visit < 3;
        let bin = if first { visit } else { (before + maker.rng.random_range(1..3)) % 3 };
        match kind {
            Kind::SwapNone if !first => {
                maker.act(Act::Say("choose none".into()));
                maker.wait(500, 900);
            }
            // Nothing is said in every other case: the choice is that of the bin before.
            Kind::SwapWrong if !first => {
                if maker.rng.random_bool(0.5) {
                    let wrong = (bin + maker.rng.random_range(1..3)) % 3;
                    maker.choose(wrong as u32 + 1);
                }
            }
            _ => maker.choose(bin as u32 + 1),
        }
        if kind == Kind::Unseen && !first {
            gross[bin] += maker.between(30, 160);
            if maker.rng.random_bool(0.4) {
                gross[bin] -= maker.between(200, 230);
            }
        }
        let off = match kind {
            Kind::OffCentre => maker.thousandths(division, -2500, 2500),
            _ => Mass::ZERO,
        };
        maker.act(Act::SetDown { bin: bin as u32 + 1, gross: gross[bin], off });
        for _ in 0..maker.span(2, 4).as_millis() {
            maker.wait(2500, 5000);
            let piece = maker.between(maker.lightest, 60);
            maker.act(Act::Drop(piece));
            gross[bin] += piece;
        }
        maker.wait(2500, 4500);
        maker.act(Act::Lift);
        maker.wait(2500, 4500);
        before = bin;
    }
}

/// A piece is taken out of one bin and dropped into the other.
pub fn transfer(maker: &mut Maker) {
    let mut gross = [maker.between(700, 800), maker.between(1800, 1900)];
    for round in 0..4 {
        let (from, to) = (round % 2, 1 - round % 2);
        visit(maker, from, &mut gross);
        let moved = maker.between(maker.lightest + 20, 90);
        maker.act(Act::Take(moved));
        gross[from] -= moved;
        maker.wait(3500, 5000);
        maker.act(Act::Lift);
        maker.wait(2500, 4000);
        maker.choose(to as u32 + 1);
        maker.act(Act::SetDown { bin: to as u32 + 1, gross: gross[to], off: Mass::ZERO });
        maker.wait(3000, 5000);
        maker.act(Act::Drop(moved));
        gross[to] += moved;
        maker.wait(4000, 6000);
        maker.act(Act::Lift);
        maker.wait(2500, 4000);
    }
}

/// A bin is chosen, set down and gets three pieces; it stays.
fn visit(maker: &mut Maker, bin: usize, gross: &mut [Mass; 2]) {
    maker.choose(bin as u32 + 1);
    maker.act(Act::SetDown { bin: bin as u32 + 1, gross: gross[bin], off: Mass::ZERO });
    maker.wait(3000, 5000);
    for _ in 0..3 {
        let piece = maker.between(maker.lightest + 100, 300);
        maker.act(Act::Drop(piece));
        gross[bin] += piece;
        maker.wait(3000, 5000);
    }
}

/// Three bins that are chosen by their numbers, a trial of long presses on the bare platform, and then the same bins in
/// turn, each chosen with a press.
pub fn pressed(maker: &mut Maker) {
    let mut gross = [maker.between(600, 650), maker.between(1500, 1600), maker.between(2600, 2800)];
    for visit in 0..9 {
        let bin = visit % 3;
        if visit == 3 {
            maker.act(Act::Say("press trial".into()));
            for _ in 0..12 {
                press(maker);
            }
            maker.act(Act::Say("press on".into()));
            maker.wait(300, 900);
        }
        if visit < 3 {
            maker.choose(bin as u32 + 1);
        } else {
            press(maker);
        }
        maker.act(Act::SetDown { bin: bin as u32 + 1, gross: gross[bin], off: Mass::ZERO });
        for _ in 0..maker.span(2, 4).as_millis() {
            maker.wait(2500, 5000);
            let piece = maker.between(maker.lightest, 60);
            maker.act(Act::Drop(piece));
            gross[bin] += piece;
        }
        maker.wait(2500, 4500);
        maker.act(Act::Lift);
        maker.wait(7000, 9000);
    }
}

fn press(maker: &mut Maker) {
    let (push, lasting) = (maker.between(1500, 4000), maker.span(2200, 3800));
    maker.act(Act::Press { push, lasting });
    maker.at = maker.at.plus(lasting);
    maker.wait(1800, 3500);
}

//! Work among what is no mass: hands, blows, mugs, lost frames.

use crate::measure::{Mass, Span};
use crate::sim::kind::Kind;
use crate::sim::maker::Maker;
use crate::sim::script::Act;
use rand::Rng;

/// A bin that is filled, with a disturbance after most pieces, now and then under one.
pub fn disturbed(maker: &mut Maker, kind: Kind) {
    maker.choose(1);
    let gross = maker.between(600, 2000);
    maker.act(Act::SetDown { bin: 1, gross, off: Mass::ZERO });
    maker.wait(3000, 5000);
    for _ in 0..24 {
        let piece = maker.piece();
        maker.act(Act::Drop(piece));
        maker.wait(2000, 5000);
        if maker.rng.random_bool(0.7) {
            disturb(maker, kind);
        }
    }
    maker.wait(2500, 4000);
    maker.act(Act::Lift);
}

fn disturb(maker: &mut Maker, kind: Kind) {
    match kind {
        Kind::Hammer => {
            let (push, lasting) = (maker.between(30, 600), maker.span(1000, 4000));
            maker.act(Act::Hammer { push, lasting });
            if maker.rng.random_bool(0.3) {
                // A piece falls while it is hammered.
                maker.wait(300, 900);
                let piece = maker.piece();
                maker.act(Act::Drop(piece));
            }
            pass(maker, lasting);
        }
        Kind::Knocks => {
            for _ in 0..maker.span(1, 4).as_millis() {
                let push = maker.between(20, 300);
                maker.act(Act::Knock(push));
                maker.wait(800, 3500);
            }
        }
        Kind::Lean => {
            let (push, rise, lasting) = (maker.between(40, 900), maker.span(800, 2000), maker.span(2500, 6000));
            maker.act(Act::Push { push, rise, lasting });
            pass(maker, lasting);
        }
        Kind::Hand => {
            let (push, lasting) = (maker.between(60, 700), maker.span(1200, 3300));
            maker.act(Act::Push { push, rise: Span::millis(200), lasting });
            pass(maker, lasting);
        }
        Kind::Gaps => {
            let lasting = maker.span(700, 5000);
            maker.act(Act::Mute(lasting));
            if maker.rng.random_bool(0.4) {
                // A piece falls unseen.
                maker.wait(100, 500);
                let piece = maker.piece();
                maker.act(Act::Drop(piece));
            }
            pass(maker, lasting);
        }
        Kind::Shoved => {
            for _ in 0..maker.span(2, 5).as_millis() {
                let (push, lasting) = (maker.between(800, 4000), maker.span(400, 1500));
                maker.act(Act::Push { push, rise: Span::millis(120), lasting });
                maker.at = maker.at.plus(lasting);
                maker.wait(250, 1000);
            }
            maker.wait(2000, 3500);
        }
        Kind::Overload => {
            let load = maker.between(15_500, 20_000);
            maker.act(Act::Lay(load));
            maker.wait(1500, 4000);
            maker.act(Act::Fetch);
            maker.wait(2000, 4000);
        }
        _ => {
            // Right after a piece a push is taken for scrap that is pushed down.
            maker.wait(4500, 6500);
            let (push, lasting) = (maker.between(1500, 4000), maker.span(2200, 3800));
            maker.act(Act::Press { push, lasting });
            pass(maker, lasting);
        }
    }
}

/// Lets it end, and the bench come to rest.
fn pass(maker: &mut Maker, lasting: Span) {
    maker.at = maker.at.plus(lasting);
    maker.wait(1800, 3500);
}

/// A mug is put down beside the bin, stays for minutes and is taken away again.
pub fn mug(maker: &mut Maker) {
    maker.choose(1);
    let gross = maker.between(600, 2000);
    maker.act(Act::SetDown { bin: 1, gross, off: Mass::ZERO });
    for _ in 0..2 {
        work(maker, 3);
        let mug = maker.between(250, 450);
        maker.act(Act::Lay(mug));
        maker.wait(20_000, 40_000);
        work(maker, 5);
        maker.wait(15_000, 30_000);
        maker.act(Act::Fetch);
    }
    work(maker, 2);
    maker.act(Act::Lift);
}

fn work(maker: &mut Maker, pieces: u32) {
    maker.wait(3000, 6000);
    for _ in 0..pieces {
        let piece = maker.piece();
        maker.act(Act::Drop(piece));
        maker.wait(3000, 6000);
    }
}

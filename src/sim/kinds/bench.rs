//! Plain work in the four manners.

use crate::measure::Mass;
use crate::sim::maker::Maker;
use crate::sim::script::Act;

/// Two bins in turn, their pieces so many milliseconds apart.
pub fn heap(maker: &mut Maker, least: u64, most: u64) {
    for bin in 1..3 {
        maker.choose(bin);
        let gross = maker.between(600, 2000);
        maker.act(Act::SetDown { bin, gross, off: Mass::ZERO });
        maker.wait(3000, 5000);
        for _ in 0..14 {
            let piece = maker.piece();
            maker.act(Act::Drop(piece));
            maker.wait(least, most);
        }
        maker.wait(2500, 4000);
        maker.act(Act::Lift);
        maker.wait(3000, 5000);
    }
}

/// Pieces at and under one division, too fast for most of them to be seen alone.
pub fn dribble(maker: &mut Maker, division: Mass) {
    maker.choose(1);
    let gross = maker.between(600, 2000);
    maker.act(Act::SetDown { bin: 1, gross, off: Mass::ZERO });
    maker.wait(3000, 5000);
    for _ in 0..80 {
        let piece = maker.thousandths(division, 300, 1300);
        maker.act(Act::Drop(piece));
        maker.wait(500, 2400);
    }
    maker.wait(3000, 5000);
    maker.act(Act::Lift);
}

/// One load at a time, of one to three pieces.
pub fn pan(maker: &mut Maker) {
    for load in 0..16 {
        if load % 5 == 0 {
            maker.choose(load / 5 % 3 + 1);
        }
        for _ in 0..maker.span(1, 3).as_millis() {
            let piece = maker.piece();
            maker.act(Act::Drop(piece));
            maker.wait(1800, 3500);
        }
        maker.act(Act::Lift);
        maker.wait(1800, 4000);
    }
}

/// A tray that is tipped into the chosen bin and set back, now and then with something stuck to it.
pub fn tray(maker: &mut Maker, division: Mass) {
    let tray = maker.between(200, 500);
    maker.act(Act::Place(tray));
    for round in 0..6 {
        maker.wait(2500, 4000);
        maker.choose(round % 3 + 1);
        for _ in 0..maker.span(2, 4).as_millis() {
            let piece = maker.piece();
            maker.act(Act::Drop(piece));
            maker.wait(2000, 5000);
        }
        maker.act(Act::Lift);
        maker.wait(2500, 6000);
        let stuck = if round % 3 == 2 { maker.thousandths(division, 2000, 9000) } else { Mass::ZERO };
        maker.act(Act::Place(tray + stuck));
    }
    maker.wait(2500, 4000);
}

/// A mixed pile that is sorted from the pan, to the last piece.
pub fn sort(maker: &mut Maker) {
    let masses: Vec<Mass> = (0..24).map(|_| maker.between(maker.lightest + 5, 250)).collect();
    maker.act(Act::Place(masses.iter().copied().sum()));
    for (number, mass) in (0..).zip(masses) {
        maker.wait(2000, 5000);
        if number % 3 == 0 {
            maker.choose(number / 3 % 3 + 1);
        }
        maker.act(Act::Take(mass));
    }
}

/// Loads on a pan, and under them crumbs that a scale which follows its zero swallows.
pub fn crumbs(maker: &mut Maker, division: Mass) {
    for load in 0..14 {
        if load % 5 == 0 {
            maker.choose(load / 5 % 3 + 1);
        }
        let crumb = maker.thousandths(division, 0, 60);
        maker.act(Act::Lay(crumb));
        maker.wait(2500, 12_000);
        let piece = maker.piece();
        maker.act(Act::Drop(piece));
        maker.wait(1800, 4000);
        maker.act(Act::Take(piece));
    }
}

/// One load at a time; the next bin comes by its key, and every sixth load is what will be taken apart.
pub fn keyed(maker: &mut Maker) {
    for bin in [3, 2, 1] {
        maker.choose(bin);
    }
    for load in 0..24 {
        match load % 6 {
            1 => maker.act(Act::Say("next".into())),
            3 => maker.act(Act::Say("intake".into())),
            _ => {}
        }
        maker.wait(300, 900);
        let piece = maker.piece();
        maker.act(Act::Drop(piece));
        maker.wait(2500, 4000);
        maker.act(Act::Lift);
        maker.wait(2500, 4000);
    }
}

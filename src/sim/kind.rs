//! The kinds of tapes, each with its scale by seed.

use super::kinds::{bench, keys, not_mass, visits};
use super::maker::Maker;
use super::scenario::Scenario;
use super::script::{Act, Script};
use super::setup::{Filter, Flag, Mode, Setup};
use super::speech::fluent;
use crate::dialect::Dialect;
use crate::measure::{Displayed, Mass};
use crate::settle::Manner;
use rand::Rng;

/// What happens at the bench through a tape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    Heap,
    Pan,
    Tray,
    Sort,
    /// Pieces fall faster than the load comes to rest.
    Fast,
    /// Pieces at and under one division.
    Dribble,
    /// Bursts of hammering on the bench.
    Hammer,
    Knocks,
    /// Load-cell creep and a slow drift of temperature.
    Creep,
    /// A force that grows slowly, is held and released.
    Lean,
    /// A resting hand.
    Hand,
    /// Frames missing for seconds.
    Gaps,
    /// A machine shakes the bench without pause, by 2 to 14 divisions.
    Shaken,
    /// The scale's own word comes too early, too late, never or at random.
    Flags,
    /// The scale follows its zero fast, and crumbs lie on the platform.
    Zero,
    Overload,
    /// Two or three bins in turn, each chosen before it is set down.
    Swap,
    /// The same with a wrong or an old choice.
    SwapWrong,
    /// The same with no choice.
    SwapNone,
    /// A mug stands on the platform for minutes.
    Mug,
    /// Bins are set back off the middle and read a few divisions off.
    OffCentre,
    /// Bins come back heavier or lighter than they left.
    Unseen,
    /// Pieces are taken out of one bin and dropped into another.
    Transfer,
    /// The scale falls asleep and wakes up with its zero under a standing bin.
    Asleep,
    /// The scale is switched off and on.
    Power,
    /// The unit key is pressed, and pressed back.
    Unit,
    /// Tare and zero are pressed on a scale that tells of it.
    Keys,
    /// The same on a scale that shows another number and says no word.
    KeysSilent,
    /// Long presses on the pan by hand.
    Press,
    /// One line a load.
    Print,
    /// One line a load, one load at a time.
    PrintPan,
    /// The print key is pressed twice.
    PrintTwice,
    /// Scrap is pushed down into the bin by hand, in several goes.
    Shoved,
    /// After a trial the bins are chosen with long presses on the pan.
    Pressed,
    /// Bins are chosen with the key for the next one, and loads are weighed before they are taken apart.
    Keyed,
}

/// Frames a second.
const RATES: [u32; 6] = [5, 10, 20, 40, 80, 8];
/// Grams.
const DIVISIONS: [i64; 3] = [1, 2, 5];

impl Kind {
    pub const ALL: [Kind; 35] = [
        Kind::Heap,
        Kind::Pan,
        Kind::Tray,
        Kind::Sort,
        Kind::Fast,
        Kind::Dribble,
        Kind::Hammer,
        Kind::Knocks,
        Kind::Creep,
        Kind::Lean,
        Kind::Hand,
        Kind::Gaps,
        Kind::Shaken,
        Kind::Flags,
        Kind::Zero,
        Kind::Overload,
        Kind::Swap,
        Kind::SwapWrong,
        Kind::SwapNone,
        Kind::Mug,
        Kind::OffCentre,
        Kind::Unseen,
        Kind::Transfer,
        Kind::Asleep,
        Kind::Power,
        Kind::Unit,
        Kind::Keys,
        Kind::KeysSilent,
        Kind::Press,
        Kind::Print,
        Kind::PrintPan,
        Kind::PrintTwice,
        Kind::Shoved,
        Kind::Pressed,
        Kind::Keyed,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Kind::Heap => "heap",
            Kind::Pan => "pan",
            Kind::Tray => "tray",
            Kind::Sort => "sort",
            Kind::Fast => "fast",
            Kind::Dribble => "dribble",
            Kind::Hammer => "hammer",
            Kind::Knocks => "knocks",
            Kind::Creep => "creep",
            Kind::Lean => "lean",
            Kind::Hand => "hand",
            Kind::Gaps => "gaps",
            Kind::Shaken => "shaken",
            Kind::Flags => "flags",
            Kind::Zero => "zero",
            Kind::Overload => "overload",
            Kind::Swap => "swap",
            Kind::SwapWrong => "swap-wrong",
            Kind::SwapNone => "swap-none",
            Kind::Mug => "mug",
            Kind::OffCentre => "off-centre",
            Kind::Unseen => "unseen",
            Kind::Transfer => "transfer",
            Kind::Asleep => "asleep",
            Kind::Power => "power",
            Kind::Unit => "unit",
            Kind::Keys => "keys",
            Kind::KeysSilent => "keys-silent",
            Kind::Press => "press",
            Kind::Print => "print",
            Kind::PrintPan => "print-pan",
            Kind::PrintTwice => "print-twice",
            Kind::Shoved => "shoved",
            Kind::Pressed => "pressed",
            Kind::Keyed => "keyed",
        }
    }

    pub fn from_name(name: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.name() == name)
    }

    pub fn manner(self) -> Manner {
        match self {
            Kind::Pan | Kind::Zero | Kind::PrintPan | Kind::Keyed => Manner::Pan,
            Kind::Tray => Manner::Tray,
            Kind::Sort => Manner::Sort,
            _ => Manner::Heap,
        }
    }

    /// A scale and a script of this kind. Eighteen seeds in a row go through every rate with every division, thirty
    /// through every rate with every dialect. The same seed gives the same scenario.
    pub fn scenario(self, seed: u64) -> Scenario {
        let mut maker = Maker::new(seed.wrapping_mul(0x9e37_79b9).wrapping_add(self as u64));
        let setup = self.setup(seed, &mut maker);
        let division = setup.step().unwrap_or(Mass::grams(1));
        maker.lightest = (3 * DIVISIONS[division_of(seed)]).max(15);
        maker.wait(3000, 5000);
        maker.act(Act::Say("start".into()));
        maker.wait(200, 400);
        match self {
            Kind::Heap | Kind::Flags => bench::heap(&mut maker, 1800, 6000),
            Kind::Shaken => bench::heap(&mut maker, 3000, 7000),
            Kind::Creep => bench::heap(&mut maker, 15_000, 40_000),
            Kind::Fast => bench::heap(&mut maker, 800, 2200),
            Kind::Dribble => bench::dribble(&mut maker, division),
            Kind::Pan => bench::pan(&mut maker),
            Kind::PrintPan => keys::loads(&mut maker),
            Kind::Tray => bench::tray(&mut maker, division),
            Kind::Sort => bench::sort(&mut maker),
            Kind::Zero => bench::crumbs(&mut maker, division),
            Kind::Hammer | Kind::Knocks | Kind::Lean | Kind::Hand | Kind::Gaps | Kind::Overload | Kind::Press | Kind::Shoved => {
                not_mass::disturbed(&mut maker, self);
            }
            Kind::Mug => not_mass::mug(&mut maker),
            Kind::Swap | Kind::SwapWrong | Kind::SwapNone | Kind::OffCentre | Kind::Unseen => {
                visits::swaps(&mut maker, self, division);
            }
            Kind::Pressed => visits::pressed(&mut maker),
            Kind::Keyed => bench::keyed(&mut maker),
            Kind::Transfer => visits::transfer(&mut maker),
            Kind::Asleep | Kind::Power | Kind::Unit | Kind::Keys | Kind::KeysSilent => {
                keys::interrupted(&mut maker, self, setup.dialect);
            }
            Kind::Print | Kind::PrintTwice => keys::printed(&mut maker, self),
        }
        maker.wait(3000, 5000);
        maker.act(Act::Say("end".into()));
        Scenario { setup, script: Script::new(self.name(), self.manner(), maker.deeds) }
    }

    fn setup(self, seed: u64, maker: &mut Maker) -> Setup {
        let division = DIVISIONS[division_of(seed)];
        let rng = &mut maker.rng;
        let samples = rng.random_range(8..=24_u16);
        let swing_hz = rng.random_range(3.5..8.0);
        let filter = match seed % 3 {
            0 => Filter::Exponential { samples: f64::from(samples) / 2.0 },
            _ => Filter::Average { samples: samples.into() },
        };
        let flag = match rng.random_range(0..8) {
            0 => Flag::Early,
            1 => Flag::Late,
            2 => Flag::Lying,
            _ => Flag::Honest,
        };
        let plain = Setup {
            dialect: self.dialect(seed),
            division: Displayed { count: division, exponent: -3 },
            rate: RATES[(seed % 6) as usize],
            flag,
            filter,
            // What the display shows of it is 0.08 to 0.24 divisions.
            noise: rng.random_range(0.08..0.24) * f64::from(samples).sqrt(),
            swing_hz,
            // It swings out within a fifth to a fourteenth of a second.
            damping: rng.random_range(5.0..14.0) / (std::f64::consts::TAU * swing_hz),
            ..Setup::default()
        };
        match self {
            Kind::Flags => Setup { flag: [Flag::Early, Flag::Late, Flag::Absent, Flag::Lying][(seed % 4) as usize], ..plain },
            // A class C3 cell creeps by 0.735 of its own interval in half an hour (OIML R 60), and the display's
            // divisions are often finer than that interval.
            Kind::Creep => Setup { creep: division as f64 * 1.2 / 4000.0, drift: 2.0, rate: plain.rate.min(20), ..plain },
            Kind::Shaken => {
                let shake = maker.rng.random_range(2.0..14.0);
                Setup { shake, shake_hz: maker.rng.random_range(5.0..17.0), ..plain }
            }
            Kind::Zero => Setup { zero_tracking: 1.0, drift: 20.0, ..plain },
            Kind::Asleep | Kind::Power | Kind::Keys | Kind::KeysSilent => Setup { underload: 20_000, ..plain },
            Kind::Print | Kind::PrintPan | Kind::PrintTwice => Setup { mode: Mode::OnStable, flag: Flag::Honest, ..plain },
            Kind::Mug => Setup { rate: plain.rate.min(20), ..plain },
            _ => plain,
        }
    }

    /// Keys that only some families tell of are pressed on those.
    fn dialect(self, seed: u64) -> Dialect {
        let fits = |dialect: &Dialect| match self {
            Kind::Unit => dialect.facts().sends_unit(),
            Kind::Keys => dialect.facts().sends_kind() || *dialect == Dialect::LetterReply,
            Kind::KeysSilent => *dialect != Dialect::LetterReply,
            Kind::Flags => dialect.facts().sends_stability(),
            _ => true,
        };
        let fitting: Vec<Dialect> = fluent().into_iter().filter(fits).collect();
        let (families, rates) = (fitting.len() as u64, RATES.len() as u64);
        // Where rates and families come round together, the families move on by one, so that each meets every rate.
        let round = (1..=rates).map(|times| times * families).find(|round| round % rates == 0).unwrap_or(families);
        fitting[((seed + seed / round) % families) as usize]
    }
}

fn division_of(seed: u64) -> usize {
    ((seed + seed / 6) % 3) as usize
}

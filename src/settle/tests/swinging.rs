//! A vibration at nearly a multiple of the rate of the frames: the display wanders up and down slowly.

use super::*;

/// A bench whose display swings by so many grams either side, with so many readings from turn to turn.
struct Swinging {
    bench: Bench,
    size: f64,
    half: f64,
    turned: f64,
}

impl Swinging {
    fn new(size: u32, half: u32) -> Swinging {
        Swinging { bench: Bench::new(), size: f64::from(size), half: f64::from(half), turned: 0.0 }
    }

    fn hold(&mut self, load: i64, seconds: u64) {
        for _ in 0..seconds * 10 {
            self.turned += std::f64::consts::PI / self.half;
            self.bench.show(&[load + (self.size * self.turned.sin()).round() as i64]);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn a_swing_is_known_and_brings_no_steps_of_its_own(size in 3_u32..12, half in 12_u32..30, load in 0_i64..3000) {
        let mut swinging = Swinging::new(size, half);
        swinging.bench.hold(load, 4);
        swinging.hold(load, 40);
        let reach = swinging.bench.settle.swings();
        let whole = Mass::grams(2 * i64::from(size));
        prop_assert!(reach.is_some_and(|reach| reach <= whole && reach * 2 >= whole), "{:?} of {:?}", reach, whole);
        let before = swinging.bench.kept();
        swinging.hold(load, 60);
        prop_assert_eq!(swinging.bench.kept(), before, "nothing was put on");
        // A piece that is larger than the swing is one step, told with the width of a swing.
        let piece = 8 * i64::from(size);
        let stood = swinging.bench.settle.balance().expect("a rest").steps;
        swinging.bench.findings.clear();
        swinging.hold(load + piece, 12);
        prop_assert_eq!(swinging.bench.kept().len(), 1);
        let rose = swinging.bench.settle.balance().expect("a rest").steps - stood;
        prop_assert!((rose - Mass::grams(piece)).abs() <= whole, "{:?} of {}", rose, piece);
        let told = swinging.bench.findings.iter().find_map(|finding| match finding {
            Finding::Averaged { uncertainty, .. } => Some(*uncertainty),
            _ => None,
        });
        prop_assert!(told.is_some_and(|told| told * 6 >= whole), "{:?} of {:?}", told, whole);
    }

    /// When the machine stops, what came meanwhile is there to the gram, however small it was.
    #[test]
    fn when_it_stops_the_sum_is_right(size in 3_u32..12, half in 12_u32..30, pieces in proptest::collection::vec(1_i64..60, 1..8)) {
        let mut swinging = Swinging::new(size, half);
        swinging.bench.hold(500, 4);
        swinging.hold(500, 30);
        let mut load = 500;
        for piece in pieces {
            load += piece;
            swinging.hold(load, 5);
        }
        swinging.bench.hold(load, 8);
        prop_assert_eq!(swinging.bench.settle.swings(), None);
        let balance = swinging.bench.settle.balance().expect("a rest");
        prop_assert!((balance.current - Mass::grams(load)).abs() * 2 <= Mass::grams(3), "{:?} of {}", balance, load);
        prop_assert_eq!(balance.steps + balance.pending + balance.forgiven, balance.current - Mass::grams(500));
    }

    /// Small loads that come and go in a steady rhythm, on a display that follows as slowly as one does.
    #[test]
    fn a_rhythm_is_no_swing(
        loads in proptest::collection::vec(10_i64..40, 40),
        on in 18_usize..30,
        off in 18_usize..30,
        follows in 0.35_f64..0.9,
    ) {
        let mut bench = Bench::new();
        let mut shown = 0.0;
        bench.hold(0, 3);
        for load in loads {
            for target in std::iter::repeat_n(load, on).chain(std::iter::repeat_n(0, off)) {
                shown += (target as f64 - shown) * follows;
                bench.show(&[shown.round() as i64]);
                prop_assert_eq!(bench.settle.swings(), None);
            }
        }
    }
}

/// Pieces that fall without a pause, loads that come and go, and a hand that leans again and again are no swing.
#[test]
fn work_is_no_swing() {
    let mut bench = Bench::new();
    bench.hold(0, 3);
    let mut load = 0;
    for round in 0..60 {
        load += 20 + 7 * (round % 5);
        bench.show(&[load + 6, load - 2, load + 1, load, load, load, load, load]);
        assert_eq!(bench.settle.swings(), None, "pieces");
    }
    for _ in 0..40 {
        bench.show(&[load / 2, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, load / 3, load + 4, load, load, load, load, load, load, load]);
        assert_eq!(bench.settle.swings(), None, "coming and going");
    }
    // Let down and taken up gently, within a second each, and at rest in between.
    let up = [2, 4, 6, 8, 10, 12, 14, 16, 18].map(|part| load + part);
    let down = up.map(|shown| 2 * load + 20 - shown);
    for _ in 0..20 {
        bench.show(&up).show(&[load + 20; 16]).show(&down).show(&[load; 16]);
        assert_eq!(bench.settle.swings(), None, "gently");
    }
    for _ in 0..20 {
        let lean: Vec<i64> =
            [5, 12, 19, 25, 25, 24, 25, 18, 11, 6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0].map(|more| load + more).into();
        bench.show(&lean).hold(load, 2);
        assert_eq!(bench.settle.swings(), None, "a hand");
    }
}

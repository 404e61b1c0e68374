//! What comes soon after a rest was recognised: the last of the same change, or another one.

use super::*;

#[test]
fn a_small_piece_soon_after_a_clearing_is_a_piece() {
    let mut bench = Bench::new();
    bench.hold(0, 3).show(&[7, 17, 22, 25, 27, 28]).hold(29, 4);
    bench.show(&[25, 14, 8, 5, 3, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0]).hold(3, 6).end();
    assert_eq!(bench.kept(), ["29", "-29", "3"]);
}

/// On a shaken bench a platform that rings too far for a second is taken for the rest: what goes back is no second
/// step.
#[test]
fn what_rang_too_far_on_a_shaken_bench_goes_back_into_its_step() {
    let mut bench = Bench::new();
    let mut drawn = 7_u32;
    let mut shaken = |bench: &mut Bench, count: i64, readings: u32| {
        for _ in 0..readings {
            drawn = drawn.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            bench.take(grams(count + i64::from(drawn >> 24) % 9 - 4));
        }
    };
    shaken(&mut bench, 0, 80);
    let mut load = 0;
    for piece in [120, 190, 170, 280] {
        load += piece;
        shaken(&mut bench, load + 8, 10);
        shaken(&mut bench, load, 45);
    }
    let sizes: Vec<f64> = bench.kept().iter().map(|step| step.parse().expect("grams")).collect();
    assert_eq!(sizes.len(), 4, "{sizes:?}");
    for (size, piece) in sizes.iter().zip([120.0, 190.0, 170.0, 280.0]) {
        assert!((size - piece).abs() <= 1.5, "{sizes:?}");
    }
}

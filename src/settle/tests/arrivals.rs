//! What comes soon after a rest was recognised: the last of the same change, or another one.

use super::*;

#[test]
fn a_small_piece_soon_after_a_clearing_is_a_piece() {
    let mut bench = Bench::new();
    bench.hold(0, 3).show(&[7, 17, 22, 25, 27, 28]).hold(29, 4);
    bench.show(&[25, 14, 8, 5, 3, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0]).hold(3, 6).end();
    assert_eq!(bench.kept(), ["29", "-29", "3"]);
}

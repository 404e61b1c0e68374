//! Hands: what they leave behind is nothing, wherever they press.

use super::*;

#[test]
fn what_is_put_back_later_than_a_hand_lifts_is_another_piece() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(900, 8).hold(780, 1).hold(900, 8).hold(800, 3).hold(900, 8).end();
    assert_eq!(bench.kept(), ["900", "-100", "100"]);
}

#[test]
fn a_hand_that_leans_in_two_stages_cancels_both() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(900, 8).hold(1200, 1).hold(1700, 2).hold(900, 3).end();
    assert_eq!(bench.kept(), ["900"]);
}

/// As a scale showed it: half a second in which the hand kept still looked like a load.
const PRESS: [i64; 38] = [
    4, 75, 192, 294, 318, 315, 315, 317, 318, 318, 317, 316, 315, 315, 314, 314, 315, 316, 316, 316, 317, 318, 319, 318, 318,
    316, 317, 318, 318, 316, 315, 259, 141, 26, 1, -1, 0, 0,
];

#[test]
fn a_press_on_the_empty_platform_leaves_no_step() {
    let mut bench = Bench::new();
    bench.hold(0, 3).show(&PRESS);
    assert_eq!(bench.steps().len(), 1, "it showed as provisional: {:?}", bench.findings);
    bench.hold(0, 3).show(&PRESS).hold(0, 3).end();
    assert_eq!(bench.kept(), [""; 0]);
    let balance_is_kept = bench.findings.iter().any(
        |finding| matches!(finding, Finding::EpochClosed { pending, forgiven, .. } if pending.is_zero() && forgiven.is_zero()),
    );
    assert!(balance_is_kept);
}

/// It wavers as the hand does, but it has lain still.
#[test]
fn a_load_that_is_knocked_before_it_is_taken_off_is_a_load() {
    let mut bench = Bench::new();
    bench.hold(0, 3).show(&[4, 75, 192, 294, 318, 315]).hold(316, 1).show(&[314, 319, 313, 318, 314, 317, 150, 20, 2]).hold(0, 3);
    assert_eq!(bench.end().kept(), ["316", "-316"]);
}

/// Together they take longer to come to rest than one piece does here, as a hand would.
#[test]
fn two_pieces_that_fall_quickly_and_are_lifted_soon_are_a_load() {
    let mut bench = Bench::new();
    (0..6).for_each(|_| _ = bench.hold(0, 2).show(&[200, 490]).hold(500, 2).show(&[200]));
    bench.hold(0, 2).show(&[150, 280, 277, 277, 500]).show(&[764; 7]).show(&[300]).hold(0, 3).end();
    assert_eq!(bench.kept()[12..], ["764", "-764"]);
}

/// Four goes in which the hand kept still now and then: what was taken for a load was gone each time.
#[test]
fn scrap_that_is_shoved_down_in_many_goes_leaves_no_step() {
    let goes: [&[i64]; 4] = [
        &[746, 923, 1081, 1214, 1202, 1207, 1205, 1206, 1206, 1206, 1206, 1172, 984, 827, 694, 719, 712, 714, 713, 714],
        &[731, 976, 1236, 1482, 1498, 1499, 1498, 1498, 1498, 1495, 1251, 992, 732, 715, 712, 714, 713],
        &[817, 1086, 1324, 1467, 1442, 1449, 1447, 1448, 1448, 1447, 1447, 1448, 1294, 1032, 790, 699],
        &[
            744, 985, 1217, 1428, 1421, 1426, 1424, 1425, 1425, 1425, 1425, 1415, 1167, 938, 708, 720, 711, 714, 713, 713, 713,
            714,
        ],
    ];
    let mut bench = Bench::new();
    bench.hold(0, 3).hold(714, 8);
    goes.iter().for_each(|go| _ = bench.show(go));
    assert_eq!(bench.hold(714, 8).end().kept(), ["714"]);
}

/// A load cell that had crept under the load goes back, and the scale follows its zero for the last of it.
#[test]
fn nothing_is_taken_off_a_bare_platform() {
    let mut bench = Bench::new();
    bench.hold(0, 3).hold(3510, 8).show(&[2988, 1634, 405, 52, 11, 6, -2]).hold(1, 4).show(&[0, 1, 1, 0]).hold(0, 8).end();
    assert_eq!(bench.kept(), ["3510", "-3509"]);
    // What was put there since can be taken off again.
    let mut bench = Bench::new();
    bench.hold(0, 3).hold(3510, 8).hold(0, 8).hold(1, 8).hold(0, 8).end();
    assert_eq!(bench.kept(), ["3510", "-3510", "1", "-1"]);
}

#[test]
fn a_load_on_the_edge_between_two_displayed_values_is_no_crumb() {
    let mut bench = Bench::new();
    bench.hold(0, 3).hold(366, 4).show(&[367; 16]).show(&[366; 15]).hold(367, 9).end();
    assert_eq!(bench.kept(), ["366"]);
}

/// A scale that prints one line a load shows no load lying still: the silence after the line is the evidence.
#[test]
fn a_line_alone_is_a_load_however_soon_the_next_one_comes() {
    let mut bench = Bench::new();
    bench.show(&[0]).wait(6);
    for load in [500, 640, 720, 580, 610, 590] {
        bench.show(&[load]).wait(2).show(&[0]).wait(2);
    }
    assert_eq!(bench.end().kept().len(), 12, "{:?}", bench.kept());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    /// However a load comes and goes, what has lain still for a second is no hand.
    #[test]
    fn what_has_lain_still_is_a_load(
        load in 30_i64..5000,
        landing in proptest::collection::vec(20_i64..180, 0..14),
        still in 11_usize..30,
        wavering in proptest::collection::vec(90_i64..110, 0..8),
        lifting in 1_i64..5,
    ) {
        let mut bench = Bench::new();
        let part = |share: &i64| load * share / 100;
        bench.hold(0, 3).show(&landing.iter().map(part).collect::<Vec<_>>()).show(&vec![load; still]);
        bench.show(&wavering.iter().map(part).collect::<Vec<_>>());
        bench.show(&(1..lifting).rev().map(|left| load * left / lifting / 2).collect::<Vec<_>>()).hold(0, 3).end();
        let kept = bench.kept();
        prop_assert!(kept.contains(&load.to_string()), "{:?}", kept);
    }
}

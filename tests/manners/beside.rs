//! What is booked into a bin while it is away from the scale is not found a second time when it comes back.

use crate::{Bench, at, clear, put, riddles};
use bismar::command::{BinRef, Order};
use bismar::facts::Source;
use bismar::measure::Mass;
use bismar::query::Riddle;
use bismar::settle::Manner;
use proptest::prelude::*;

/// Set down, filled and taken away.
fn fill(bench: &mut Bench, bin: u32, empty: i64, pieces: &[i64]) -> i64 {
    bench.choose(bin);
    put(bench, empty);
    pieces.iter().for_each(|piece| put(bench, *piece));
    bench.rest(6000);
    clear(bench);
    empty + pieces.iter().sum::<i64>()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_was_booked_beside_the_scale_is_there_when_the_bin_comes_back(
        one in proptest::collection::vec(30_i64..900, 1..5),
        two in proptest::collection::vec(30_i64..900, 1..5),
        by_hand in proptest::collection::vec(20_i64..1500, 0..3),
        tipped in any::<bool>(),
        chosen in any::<bool>(),
    ) {
        let mut bench = at(Manner::Heap, 2);
        let (first, second) = (fill(&mut bench, 1, 700, &one), fill(&mut bench, 2, 450, &two));
        let mut gross = first;
        for mass in &by_hand {
            let source = Source::HangingScale { division: Mass::grams(1) };
            let (bin, mass, reason) = (BinRef(1), Mass::grams(*mass), "too large for the platform".to_owned());
            bench.order(Order::EnterWeight { bin: Some(bin), mass, source, reason }).unwrap();
        }
        gross += by_hand.iter().sum::<i64>();
        if tipped {
            bench.order(Order::TipBin { from: BinRef(2), to: BinRef(1), reason: "full".into() }).unwrap();
            gross += second - 450;
        }
        // Two bins that weigh the same are asked about.
        prop_assume!(tipped || (gross - second).abs() > 100);
        if chosen {
            bench.choose(1);
        } else {
            bench.order(Order::ChooseBin { bin: None }).unwrap();
        }
        put(&mut bench, gross);
        put(&mut bench, 150);
        bench.rest(6000);
        let told = |riddle: &Riddle| matches!(riddle, Riddle::KnownByWeight { number: 1, .. } | Riddle::LearnedTare { .. });
        let asked = riddles(&bench);
        prop_assert!(asked.iter().all(told), "{asked:?}");
        prop_assert_eq!(bench.held(1), Mass::grams(gross - 700 + 150));
    }
}

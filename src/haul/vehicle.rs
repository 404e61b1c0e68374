//! A vehicle scale: the vehicle goes over it again and again, and each net is the difference of two passes.
//!
//! Neighbouring lines share a reading, so their errors pull against each other: covariance −d²/12. A total rests on the first
//! and the last reading alone (JCGM 100:2008, F.2.2.1 and 5.2.2).

use crate::measure::{Mass, Variance};

/// The nets, whichever way the vehicle goes: unloading between the passes, or loading.
pub fn nets(passes: &[Mass]) -> Vec<Mass> {
    passes.windows(2).map(|pair| (pair[0] - pair[1]).abs()).collect()
}

/// The covariance of two nets in twelfths of d², of a vehicle that only unloads or only loads: 2 with itself, −1 with its
/// neighbour, 0 with any other.
pub const fn covariance_twelfths(one: usize, other: usize) -> i32 {
    match one.abs_diff(other) {
        0 => 2,
        1 => -1,
        _ => 0,
    }
}

/// The variance of the sum of these nets on a scale of this division.
pub fn variance_of(passes: &[Mass], chosen: &[usize], division: Mass) -> Variance {
    let mut times = vec![0_i64; passes.len()];
    for net in chosen.iter().copied().filter(|net| net + 1 < passes.len()) {
        let down = if passes[net] >= passes[net + 1] { 1 } else { -1 };
        times[net] += down;
        times[net + 1] -= down;
    }
    let squares: u64 = times.iter().map(|times| times.unsigned_abs() * times.unsigned_abs()).sum();
    Variance::of_reading(division).times(u32::try_from(squares).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The variance of a sum is the sum of all covariances, whatever lines are chosen; that of all rests on two readings.
        #[test]
        fn neighbours_share_a_reading(drops in proptest::collection::vec(1_i64..5000, 1..8), chosen in proptest::collection::vec(any::<bool>(), 8)) {
            let division = Mass::grams(20);
            let mut passes = vec![Mass::grams(3_000_000)];
            for drop in &drops {
                passes.push(passes[passes.len() - 1] - division * i128::from(*drop));
            }
            let chosen: Vec<usize> = (0..drops.len()).filter(|net| chosen[*net]).collect();
            let pairs = chosen.iter().flat_map(|one| chosen.iter().map(|other| covariance_twelfths(*one, *other)));
            let twelfths = u32::try_from(pairs.sum::<i32>()).unwrap();
            prop_assert_eq!(variance_of(&passes, &chosen, division), Variance::of_reading(division).times(twelfths));
            let all: Vec<usize> = (0..drops.len()).collect();
            prop_assert_eq!(variance_of(&passes, &all, division), Variance::of_difference(division));
            prop_assert_eq!(nets(&passes).into_iter().sum::<Mass>(), passes[0] - passes[passes.len() - 1]);
        }
    }

    #[test]
    fn two_neighbours_by_hand() {
        let passes = [300, 200, 100, 0].map(Mass::grams);
        let one = Mass::grams(1);
        assert_eq!(variance_of(&passes, &[1], one), Variance::of_difference(one));
        assert_eq!(variance_of(&passes, &[0, 1], one), Variance::of_difference(one), "2/12 + 2/12 − 2·1/12");
        assert_eq!(variance_of(&passes, &[0, 2], one), Variance::of_difference(one).times(2));
        let back = [0, 100, 50].map(Mass::grams);
        assert_eq!(variance_of(&back, &[0, 1], one), Variance::of_reading(one).times(6), "loaded, then unloaded: 1, 2² and 1");
    }
}

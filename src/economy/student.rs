//! Student's t for a two-sided 95 % interval.

use rust_decimal::Decimal;

/// JCGM 100:2008, Table G.2, column 95 %, reckoned to six decimals; the same values stand with three decimals in the
/// NIST/SEMATECH e-Handbook, 1.3.6.7.2. Degrees of freedom 1 to 30.
const T95: [i64; 30] = [
    12_706_205, 4_302_653, 3_182_446, 2_776_445, 2_570_582, 2_446_912, 2_364_624, 2_306_004, 2_262_157, 2_228_139, 2_200_985,
    2_178_813, 2_160_369, 2_144_787, 2_131_450, 2_119_905, 2_109_816, 2_100_922, 2_093_024, 2_085_963, 2_079_614, 2_073_873,
    2_068_658, 2_063_899, 2_059_539, 2_055_529, 2_051_831, 2_048_407, 2_045_230, 2_042_272,
];

/// Beyond the thirtieth: from these degrees of freedom on.
const FURTHER: [(u32, i64); 4] = [(100, 1_983_972), (60, 2_000_298), (50, 2_008_559), (40, 2_021_075)];

/// The factor for so many degrees of freedom; between two rows the lower one, which never makes an interval narrower.
/// None for no degree of freedom: one sample has no interval.
pub fn t95(freedom: u32) -> Option<Decimal> {
    let row = match freedom {
        0 => return None,
        1..=30 => T95[freedom as usize - 1],
        _ => FURTHER.iter().find(|(from, _)| freedom >= *from).map_or(T95[29], |(_, t)| *t),
    };
    Some(Decimal::new(row, 6))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, Table G.2, to its two decimals, and the NIST/SEMATECH e-Handbook, 1.3.6.7.2, to its three; between the
    /// rows of large numbers nothing is undercut.
    #[test]
    fn the_published_table() {
        let guide = "12.71 4.30 3.18 2.78 2.57 2.45 2.36 2.31 2.26 2.23 2.20 2.18 2.16 2.14 2.13 2.12 2.11 2.10 2.09 2.09";
        for (row, expected) in (1..).zip(guide.split(' ')) {
            assert_eq!(t95(row).unwrap().round_dp(2).to_string(), expected, "{row}");
        }
        let handbook = "2.080 2.074 2.069 2.064 2.060 2.056 2.052 2.048 2.045 2.042";
        for (row, expected) in (21..).zip(handbook.split(' ')) {
            assert_eq!(t95(row).unwrap().round_dp(3).to_string(), expected, "{row}");
        }
        for (row, expected) in [(40, "2.02"), (50, "2.01"), (100, "1.98")] {
            assert_eq!(t95(row).unwrap().round_dp(2).to_string(), expected, "{row}");
        }
        assert_eq!(t95(0), None);
        assert_eq!(t95(35), t95(30));
        assert_eq!(t95(45), t95(40));
        assert_eq!(t95(5000), t95(100));
    }

    #[test]
    fn more_samples_never_widen() {
        for freedom in 1..300 {
            assert!(t95(freedom + 1) <= t95(freedom), "{freedom}");
        }
    }
}

//! What a scale of any family sends, by the family's own encoder.

use bismar::dialect::{Census, Dialect, Flags, Kind, Options, Parity, ReadUnit, Reading, Stability, encode};
use bismar::measure::Displayed;

pub fn clean() -> Options {
    Options { census: Census::Settled(Parity::Clear), ..Options::default() }
}

/// Frames of `dialect` with these weights, as many decimals as it has up to two, stability in turn.
pub fn frames(dialect: Dialect, counts: impl IntoIterator<Item = i64>) -> Vec<Vec<u8>> {
    let says = dialect.facts().says;
    let exponent = -says.decimals.1.min(2).max(says.decimals.0);
    let frames = counts.into_iter().enumerate().filter_map(|(index, count)| {
        let value = Displayed { count: count.min(says.most), exponent };
        let reading = Reading {
            value: Some(value),
            unit: says.units.first().map_or(ReadUnit::Unstated, |unit| ReadUnit::Stated(*unit)),
            kind: says.kinds.iter().copied().find(|kind| *kind != Kind::Tare).unwrap_or(says.kinds[0]),
            stability: says.stability.get(index % says.stability.len()).copied().unwrap_or(Stability::Unknown),
            division: says.division.then_some(Displayed { count: 1, exponent }),
            ..Reading::without_weight(Flags::default())
        };
        let mut bytes = Vec::new();
        encode(dialect, &reading, &clean(), &mut bytes).ok().map(|()| bytes)
    });
    frames.collect()
}

/// A load that lands and lies there: mostly equal weights, with the way up between.
pub fn weighing(dialect: Dialect) -> Vec<Vec<u8>> {
    let counts = [0, 0, 0, 312, 868, 1234, 1236, 1236, 1236, 1236, 1236, 1236, 1236, 1236, 1236, 1236, 5, 0, 0, 0];
    frames(dialect, counts)
}

//! What must hold for every family, whatever the weights and however the line behaves.

use super::*;
use crate::measure::Displayed;
use proptest::prelude::*;
use proptest::sample::select;

/// Everything that the facts of `dialect` say it has words for.
fn sayable(dialect: Dialect) -> BoxedStrategy<Reading> {
    let says = dialect.facts().says;
    let blank = Reading::without_weight(Flags::default());
    let mut units: Vec<ReadUnit> = says.units.iter().copied().map(ReadUnit::Stated).collect();
    units.extend(says.unstated.then_some(ReadUnit::Unstated));
    units.extend(says.pound_ounce.then_some(ReadUnit::PoundOunce));
    let (fewest, most) = says.decimals;
    // Where the frame has no place for a minus, the encoder says so; below zero the reports over USB have no word for
    // whether the load stands still.
    let below_zero = said(dialect, Displayed { count: -1, exponent: -fewest.max(0) });
    let refused = encode(dialect, &below_zero, &clean(), &mut Vec::new()) == Err(Unsayable::Sign);
    let least = if refused || matches!(dialect, Dialect::HidScale | Dialect::HidScaleNoid) { 0 } else { -says.most };
    let value = (least..=says.most, fewest..=most)
        .prop_filter("a run of nines is a filled display", |(count, _)| {
            *count == 0 || count.unsigned_abs().to_string().bytes().any(|digit| digit != b'9')
        })
        .prop_map(|(count, places)| Displayed { count, exponent: -places });
    let still = select(says.stability);
    let weight = (value, select(units), select(says.kinds), still.clone(), select(&[1_i64, 2, 5][..]), any::<bool>()).prop_map(
        move |(value, unit, kind, stability, by, zero)| {
            let division = says.division.then_some(Displayed { count: by, exponent: value.exponent });
            let flags = Flags { zero: zero && says.zero, ..Flags::default() };
            Reading { value: Some(value), unit, kind, stability, division, flags, ..blank }
        },
    );
    let none = (0..says.marks.len() + says.news.len(), select(says.kinds), still).prop_map(move |(which, kind, stability)| {
        match says.marks.get(which) {
            Some(flags) => Reading { kind, stability, ..Reading::without_weight(*flags) },
            None => Reading { news: Some(says.news[which - says.marks.len()]), ..blank },
        }
    });
    if says.marks.is_empty() && says.news.is_empty() { weight.boxed() } else { prop_oneof![9 => weight, 1 => none].boxed() }
}

/// A weight is given back unchanged; of a frame without one what it says of the weight and of the scale, since kind and
/// rest have no place in some.
fn told(reading: &Reading) -> Reading {
    let Reading { value, flags, news, .. } = *reading;
    if value.is_some() { *reading } else { Reading { news, ..Reading::without_weight(Flags { zero: false, ..flags }) } }
}

fn some_frames() -> impl Strategy<Value = (Dialect, Vec<Reading>)> {
    select(Dialect::ALL)
        .prop_flat_map(|dialect| proptest::collection::vec(sayable(dialect), 1..12).prop_map(move |all| (dialect, all)))
}

/// Frames that end in a checksum byte which may be missing.
fn checked_frames(how_many: std::ops::Range<usize>) -> impl Strategy<Value = (Dialect, Vec<Reading>)> {
    select(&[Dialect::StxStatusWords, Dialect::StxStatusWordsShort, Dialect::StxStatusWordsB][..]).prop_flat_map(move |dialect| {
        proptest::collection::vec(sayable(dialect), how_many.clone()).prop_map(move |all| (dialect, all))
    })
}

/// `value` in the first words that the family has for everything beside it.
fn said(dialect: Dialect, value: Displayed) -> Reading {
    let says = dialect.facts().says;
    Reading {
        value: Some(value),
        unit: says.units.first().map_or(ReadUnit::Unstated, |unit| ReadUnit::Stated(*unit)),
        kind: says.kinds[0],
        stability: says.stability[0],
        division: says.division.then_some(Displayed { count: 1, ..value }),
        ..Reading::without_weight(Flags::default())
    }
}

fn as_told(readings: &[Reading]) -> Vec<Reading> {
    readings.iter().map(told).collect()
}

fn clean() -> Options {
    Options { census: Census::Settled(Parity::Clear), ..Options::default() }
}

fn frame(dialect: Dialect, reading: &Reading, options: &Options) -> Vec<u8> {
    let mut bytes = Vec::new();
    encode(dialect, reading, options, &mut bytes).unwrap();
    bytes
}

fn decode(dialect: Dialect, options: Options, bytes: &[u8]) -> Vec<Reading> {
    let mut stream = Stream::new(dialect, options);
    let mut readings = Vec::new();
    stream.push(bytes, &mut |reading| readings.push(told(&reading)));
    stream.silence(&mut |reading| readings.push(told(&reading)));
    readings
}

proptest! {
    #[test]
    fn what_is_encoded_is_decoded((dialect, readings) in some_frames(), comma in any::<bool>()) {
        let options = Options { comma, ..clean() };
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| frame(dialect, reading, &options)).collect();
        prop_assert_eq!(decode(dialect, options, &bytes), as_told(&readings));
    }

    #[test]
    fn a_stream_joined_anywhere_gives_only_true_readings((dialect, readings) in some_frames(), at in any::<prop::sample::Index>()) {
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| frame(dialect, reading, &clean())).collect();
        let tail = &bytes[at.index(bytes.len())..];
        let found = decode(dialect, Options { joined: true, ..clean() }, tail);
        let readings = as_told(&readings);
        prop_assert!(readings.ends_with(&found), "{:?} is no end of {:?}", found, readings);
    }

    #[test]
    fn a_cut_frame_is_dropped((dialect, readings) in some_frames(), at in any::<prop::sample::Index>()) {
        let whole = frame(dialect, &readings[0], &clean());
        // A checksum may be missing, and of a line end one byte is enough.
        let last = if dialect == Dialect::LfStatusChars { whole.len() } else { whole.len() - 1 };
        let cut = &whole[..at.index(last)];
        prop_assert_eq!(decode(dialect, clean(), cut), vec![]);
    }

    /// Without marks a damaged frame can look whole; with a checksum it cannot, short of one in 128.
    #[test]
    fn noise_between_checksummed_frames_does_no_harm(
        (dialect, readings) in checked_frames(1..12),
        noise in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 0..12), 12),
    ) {
        let mut bytes = Vec::new();
        for (reading, noise) in readings.iter().zip(&noise) {
            bytes.extend_from_slice(noise);
            bytes.extend(frame(dialect, reading, &clean()));
        }
        prop_assert_eq!(decode(dialect, clean(), &bytes), as_told(&readings));
    }

    #[test]
    fn one_flipped_bit_never_passes_a_checksum((dialect, readings) in checked_frames(1..2), bit in any::<prop::sample::Index>()) {
        let mut bytes = frame(dialect, &readings[0], &clean());
        let bit = bit.index(bytes.len() * 7);
        bytes[bit / 7] ^= 1 << (bit % 7);
        // A checksum turned into STX looks like the start of a next frame without one.
        prop_assume!(bytes.last() != Some(&0x02));
        prop_assert_eq!(decode(dialect, clean(), &bytes), vec![]);
    }

    /// A flipped bit may turn a figure of the checksum into its lower case, which says the same.
    #[test]
    fn one_flipped_bit_gives_no_false_weight(reading in sayable(Dialect::StxSignXor), bit in 0_usize..12 * 7) {
        let mut bytes = frame(Dialect::StxSignXor, &reading, &clean());
        bytes[bit / 7] ^= 1 << (bit % 7);
        let found = decode(Dialect::StxSignXor, clean(), &bytes);
        prop_assert!(found.is_empty() || found == [told(&reading)], "{:?}", found);
    }

    #[test]
    fn frames_without_a_checksum_are_read_too((dialect, readings) in checked_frames(1..12)) {
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| {
            let mut bytes = frame(dialect, reading, &clean());
            bytes.pop();
            bytes
        }).collect();
        prop_assert_eq!(decode(dialect, clean(), &bytes), as_told(&readings));
    }

    /// Every byte is accounted for: it is in a frame, between frames, or counted as unexplained.
    #[test]
    fn any_soup_is_survived(dialect in select(Dialect::ALL), soup in proptest::collection::vec(any::<u8>(), 0..600), joined in any::<bool>()) {
        let mut stream = Stream::new(dialect, Options { joined, ..Options::default() });
        let mut given = 0_u64;
        for chunk in soup.chunks(7) {
            stream.push(chunk, &mut |_| given += 1);
        }
        stream.silence(&mut |_| given += 1);
        stream.restart();
        prop_assert_eq!(stream.tally().frames, given);
        prop_assert!(stream.tally().skipped <= soup.len() as u64);
    }
}

#[test]
fn nothing_joins_over_a_restart() {
    for dialect in Dialect::ALL.iter().copied() {
        let mut stream = Stream::new(dialect, clean());
        let mut readings = Vec::new();
        let value = Displayed { count: 1234, exponent: -dialect.facts().says.decimals.1.min(2) };
        let reading = said(dialect, value);
        let whole = frame(dialect, &reading, &clean());
        stream.push(&whole[..whole.len() / 2], &mut |reading| readings.push(reading));
        stream.restart();
        stream.push(&whole[whole.len() / 2..], &mut |reading| readings.push(reading));
        assert!(readings.is_empty(), "{dialect:?}");
        stream.push(&whole, &mut |reading| readings.push(reading));
        stream.silence(&mut |reading| readings.push(reading));
        assert_eq!(readings.len(), 1, "{dialect:?}");
        assert_eq!(readings[0].value, Some(value), "{dialect:?}");
    }
}

#[test]
fn what_a_family_cannot_say_is_an_error_and_leaves_no_bytes() {
    for &dialect in Dialect::ALL {
        let wide = said(dialect, Displayed { count: 123_456_789_012, exponent: 0 });
        let mut bytes = Vec::new();
        assert_eq!(encode(dialect, &wide, &clean(), &mut bytes), Err(Unsayable::TooWide), "{dialect:?}");
        assert!(bytes.is_empty());
    }
}

#[test]
fn a_point_is_not_put_where_a_family_has_none() {
    for dialect in Dialect::ALL.iter().copied() {
        let (fewest, most) = dialect.facts().says.decimals;
        for places in [fewest - 1, most + 1] {
            let mut bytes = Vec::new();
            let reading = said(dialect, Displayed { count: 15, exponent: -places });
            assert_eq!(encode(dialect, &reading, &clean(), &mut bytes), Err(Unsayable::Point), "{dialect:?}, {places}");
            assert!(bytes.is_empty());
        }
    }
}

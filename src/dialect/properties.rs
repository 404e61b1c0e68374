//! What must hold for every family, whatever the weights and however the line behaves.

use super::*;
use crate::measure::{Displayed, Unit};
use proptest::prelude::*;
use proptest::sample::select;

/// Everything that `dialect` can say and that its decoder gives back unchanged.
fn sayable(dialect: Dialect) -> BoxedStrategy<Reading> {
    let value = |most: i64, places: std::ops::Range<i8>| {
        (-most..=most, places).prop_map(|(count, places)| Displayed { count, exponent: -places })
    };
    let still = || select(&[Stability::Stable, Stability::Motion][..]);
    let blank = Reading::without_weight(Flags::default());
    let over = Reading::without_weight(Flags { overload: true, ..Flags::default() });
    let under = Reading::without_weight(Flags { underload: true, ..Flags::default() });
    let error = Reading::without_weight(Flags { error: true, ..Flags::default() });
    let stated = select(&Unit::ALL[..]).prop_map(ReadUnit::Stated);
    match dialect {
        Dialect::HeaderComma => {
            let kind = || select(&[Kind::Gross, Kind::Net, Kind::Tare][..]);
            let unit = prop_oneof![stated, Just(ReadUnit::Unstated)];
            let weight = (value(999_999_999, 0..6), unit, kind(), still())
                .prop_map(move |(value, unit, kind, stability)| Reading { value: Some(value), unit, kind, stability, ..blank });
            let none = (select(vec![over, under, error]), kind()).prop_map(|(none, kind)| Reading { kind, ..none });
            prop_oneof![9 => weight, 1 => none].boxed()
        }
        Dialect::StxStatusWords => {
            let units = [Unit::Kilogram, Unit::Pound, Unit::Gram, Unit::Tonne, Unit::Ounce, Unit::TroyOunce];
            let unit = select(units.to_vec()).prop_map(ReadUnit::Stated);
            let kind = || select(&[Kind::Gross, Kind::Net][..]);
            let by = select(&[1_i64, 2, 5][..]);
            let weight =
                (value(999_999, -2..6), unit, kind(), still(), by).prop_map(move |(value, unit, kind, stability, by)| {
                    let division = Some(Displayed { count: by, exponent: value.exponent });
                    Reading { value: Some(value), unit, kind, stability, division, ..blank }
                });
            let none = (select(vec![over, under]), kind(), still()).prop_map(|(none, kind, stability)| Reading {
                kind,
                stability,
                ..none
            });
            prop_oneof![9 => weight, 1 => none].boxed()
        }
        Dialect::LetterReply => {
            let weight = (value(99_999_999, 0..6), stated, still()).prop_map(move |(value, unit, stability)| Reading {
                value: Some(value),
                unit,
                stability,
                ..blank
            });
            let tare = weight.clone().prop_map(|weight| Reading { kind: Kind::Tare, news: Some(News::Tared), ..weight });
            let news = select(vec![News::Zeroed, News::Tared, News::PoweredUp])
                .prop_map(move |news| Reading { news: Some(news), ..blank });
            prop_oneof![7 => weight, 1 => tare, 1 => news, 1 => select(vec![over, under, error])].boxed()
        }
        Dialect::LfStatusChars => {
            let kind = || select(&[Kind::Gross, Kind::Net, Kind::Unknown][..]);
            let weight = (value(9_999_999, 0..6), stated, kind(), still(), any::<bool>()).prop_map(
                move |(value, unit, kind, stability, zero)| {
                    let flags = Flags { zero, ..Flags::default() };
                    Reading { value: Some(value), unit, kind, stability, flags, ..blank }
                },
            );
            let filled = (select(vec![over, under]), kind()).prop_map(|(none, kind)| Reading { kind, ..none });
            let status = (select(vec![blank, error]), kind(), still()).prop_map(|(none, kind, stability)| Reading {
                kind,
                stability,
                ..none
            });
            prop_oneof![8 => weight, 1 => filled, 1 => status].boxed()
        }
        Dialect::BareNumber => {
            let unit = prop_oneof![stated, Just(ReadUnit::Unstated)];
            let weight = (value(9_999_998, 0..6), unit)
                .prop_filter("a run of nines is an overrun", |(value, _)| {
                    !value.count.unsigned_abs().to_string().bytes().all(|digit| digit == b'9')
                })
                .prop_map(move |(value, unit)| Reading { value: Some(value), unit, ..blank });
            prop_oneof![9 => weight, 1 => select(vec![over, under, error])].boxed()
        }
    }
}

fn some_frames() -> impl Strategy<Value = (Dialect, Vec<Reading>)> {
    select(&Dialect::ALL[..])
        .prop_flat_map(|dialect| proptest::collection::vec(sayable(dialect), 1..12).prop_map(move |all| (dialect, all)))
}

fn clean() -> Options {
    Options { census: Census::Settled(Parity::Clear), ..Options::default() }
}

/// What the line carries for `reading`. A filled field of lf-status-chars is read as neither stable nor moving, but
/// its status characters must say one of them.
fn frame(dialect: Dialect, reading: &Reading, options: &Options) -> Vec<u8> {
    let mut said = *reading;
    if dialect == Dialect::LfStatusChars && said.stability == Stability::Unknown {
        said.stability = Stability::Stable;
    }
    let mut bytes = Vec::new();
    encode(dialect, &said, options, &mut bytes).unwrap();
    bytes
}

fn decode(dialect: Dialect, options: Options, bytes: &[u8]) -> Vec<Reading> {
    let mut stream = Stream::new(dialect, options);
    let mut readings = Vec::new();
    stream.push(bytes, &mut |reading| readings.push(reading));
    stream.silence(&mut |reading| readings.push(reading));
    readings
}

proptest! {
    #[test]
    fn what_is_encoded_is_decoded((dialect, readings) in some_frames(), comma in any::<bool>()) {
        let options = Options { comma, ..clean() };
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| frame(dialect, reading, &options)).collect();
        prop_assert_eq!(decode(dialect, options, &bytes), readings);
    }

    #[test]
    fn a_stream_joined_anywhere_gives_only_true_readings((dialect, readings) in some_frames(), at in any::<prop::sample::Index>()) {
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| frame(dialect, reading, &clean())).collect();
        let tail = &bytes[at.index(bytes.len())..];
        let found = decode(dialect, Options { joined: true, ..clean() }, tail);
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
        readings in proptest::collection::vec(sayable(Dialect::StxStatusWords), 1..12),
        noise in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 0..12), 12),
    ) {
        let dialect = Dialect::StxStatusWords;
        let mut bytes = Vec::new();
        for (reading, noise) in readings.iter().zip(&noise) {
            bytes.extend_from_slice(noise);
            bytes.extend(frame(dialect, reading, &clean()));
        }
        prop_assert_eq!(decode(dialect, clean(), &bytes), readings);
    }

    #[test]
    fn one_flipped_bit_never_passes_a_checksum(reading in sayable(Dialect::StxStatusWords), bit in 0_usize..18 * 7) {
        let mut bytes = frame(Dialect::StxStatusWords, &reading, &clean());
        bytes[bit / 7] ^= 1 << (bit % 7);
        // A checksum turned into STX looks like the start of a next frame without one.
        prop_assume!(bytes[17] != 0x02);
        prop_assert_eq!(decode(Dialect::StxStatusWords, clean(), &bytes), vec![]);
    }

    #[test]
    fn frames_without_a_checksum_are_read_too(
        readings in proptest::collection::vec(sayable(Dialect::StxStatusWords), 1..12),
    ) {
        let bytes: Vec<u8> = readings.iter().flat_map(|reading| {
            let mut bytes = frame(Dialect::StxStatusWords, reading, &clean());
            bytes.pop();
            bytes
        }).collect();
        prop_assert_eq!(decode(Dialect::StxStatusWords, clean(), &bytes), readings);
    }

    /// Every byte is accounted for: it is in a frame, between frames, or counted as unexplained.
    #[test]
    fn any_soup_is_survived(dialect in select(&Dialect::ALL[..]), soup in proptest::collection::vec(any::<u8>(), 0..600), joined in any::<bool>()) {
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
    for dialect in Dialect::ALL {
        let mut stream = Stream::new(dialect, clean());
        let mut readings = Vec::new();
        let unit = ReadUnit::Stated(Unit::Kilogram);
        let value = Some(Displayed { count: 1234, exponent: -2 });
        let blank = Reading::without_weight(Flags::default());
        let reading = Reading { value, unit, kind: Kind::Gross, stability: Stability::Stable, ..blank };
        let whole = frame(dialect, &reading, &clean());
        stream.push(&whole[..whole.len() / 2], &mut |reading| readings.push(reading));
        stream.restart();
        stream.push(&whole[whole.len() / 2..], &mut |reading| readings.push(reading));
        assert!(readings.is_empty(), "{dialect:?}");
        stream.push(&whole, &mut |reading| readings.push(reading));
        stream.silence(&mut |reading| readings.push(reading));
        assert_eq!(readings.len(), 1, "{dialect:?}");
        assert_eq!(readings[0].value, value, "{dialect:?}");
    }
}

#[test]
fn what_a_family_cannot_say_is_an_error_and_leaves_no_bytes() {
    let blank = Reading::without_weight(Flags::default());
    let wide = Reading {
        value: Some(Displayed { count: 123_456_789_012, exponent: 0 }),
        unit: ReadUnit::Stated(Unit::Gram),
        kind: Kind::Gross,
        stability: Stability::Stable,
        ..blank
    };
    for dialect in Dialect::ALL {
        let mut bytes = Vec::new();
        assert_eq!(encode(dialect, &wide, &clean(), &mut bytes), Err(Unsayable::TooWide), "{dialect:?}");
        assert!(bytes.is_empty());
    }
}

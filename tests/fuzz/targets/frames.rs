//! Every decoder behind its framer, on any bytes, in any pieces: nothing panics, no byte is counted twice, and how the
//! stream is cut makes no difference.
//!
//! The first byte chooses the family, the second what a person has said about the scale.
#![no_main]

use bismar::dialect::{Census, Dialect, Options, Parity, Reading, Stream};
use bismar::measure::Unit;
use libfuzzer_sys::fuzz_target;

fn decoded<'a>(dialect: Dialect, options: Options, chunks: impl Iterator<Item = &'a [u8]>) -> (Vec<Reading>, u64) {
    let mut stream = Stream::new(dialect, options);
    let mut readings = Vec::new();
    for chunk in chunks {
        stream.push(chunk, &mut |reading| readings.push(reading));
    }
    stream.silence(&mut |reading| readings.push(reading));
    (readings, stream.tally().skipped)
}

fuzz_target!(|data: &[u8]| {
    let [which, said, bytes @ ..] = data else { return };
    let dialect = Dialect::ALL[usize::from(*which) % Dialect::ALL.len()];
    let options = Options {
        unit: (said & 1 != 0).then_some(Unit::Gram),
        comma: said & 2 != 0,
        decimals: (said & 4 != 0).then_some(2),
        joined: said & 8 != 0,
        census: if said & 16 != 0 { Census::Window } else { Census::Settled(Parity::of(bytes)) },
    };
    let (whole, skipped) = decoded(dialect, options, std::iter::once(bytes));
    assert!(skipped <= bytes.len() as u64);
    let size = usize::from(said >> 5) + 1;
    let (pieces, skipped_then) = decoded(dialect, options, bytes.chunks(size));
    assert!(skipped_then <= bytes.len() as u64);
    // A report of a USB scale comes in a piece of its own, and that is what tells where one begins.
    if !matches!(dialect, Dialect::HidScale | Dialect::HidScaleNoid) {
        assert_eq!((pieces, skipped_then), (whole, skipped));
    }
});

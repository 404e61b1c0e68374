//! Texts that a person writes or is sent: tapes, configurations and the patterns in them. Nothing panics, and a tape
//! that is read and written is the same tape.
//!
//! The first byte chooses which of them it is.
#![no_main]

use bismar::dialect::{Options, Pattern, Stream};
use bismar::link::tape::Tape;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let [which, rest @ ..] = data else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    match which % 3 {
        0 => {
            if let Ok(tape) = Tape::parse(text) {
                let again = Tape::parse(&tape.to_string()).expect("what was written is a tape");
                // Written times are whole microseconds.
                assert_eq!(again.chunks.len(), tape.chunks.len());
                assert!(again.chunks.iter().zip(&tape.chunks).all(|(one, two)| one.body == two.body));
            }
        }
        1 => {
            if let Err(faults) = bismar::config::parse(text, |_| None) {
                assert!(!faults.is_empty());
            }
        }
        _ => {
            let (expression, bytes) = text.split_once('\n').unwrap_or((text, "1.2 kg\n"));
            if let Ok(pattern) = Pattern::new(expression, Pattern::ENDS) {
                let mut stream = Stream::by_pattern(pattern, Options::default());
                stream.push(bytes.as_bytes(), &mut |_| ());
                stream.silence(&mut |_| ());
            }
        }
    }
});

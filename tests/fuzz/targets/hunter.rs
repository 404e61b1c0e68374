//! The search for a scale's speed and family, on any characters, faults and pauses: nothing panics, it never goes on
//! for ever, and what it settles on was proved.
//!
//! The first byte says what is known beforehand. Then two bytes a character: its bits, and its fault and the pause
//! before it.
#![no_main]

use bismar::dialect::Options;
use bismar::dialect::hunt::{Char, Hunter, Judgement, LineFault, Start, Step};
use bismar::measure::{Moment, Span};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let [known, rest @ ..] = data else { return };
    let start = Start {
        configured: (known & 1 != 0).then_some(19_200),
        last: (known & 2 != 0).then_some(2400),
        speedless: known & 4 != 0,
        options: Options { comma: known & 8 != 0, ..Options::default() },
    };
    let mut hunter = Hunter::new(start);
    let mut now = Moment::default();
    for &[byte, how] in rest.as_chunks::<2>().0 {
        let fault = match how & 0x07 {
            0 => Some(LineFault::Framing),
            1 => Some(LineFault::Break),
            _ => None,
        };
        now = now.plus(Span::millis([0, 1, 1, 1, 1, 10, 250, 4000][usize::from(how >> 5)]));
        hunter.take(&[Char { byte, fault }], now);
        match hunter.tick(now) {
            Step::Listen | Step::Change(..) => {}
            Step::Settled(Judgement::Locked(dialect)) => {
                let candidates = hunter.scorer().candidates();
                let found = candidates.iter().find(|candidate| candidate.dialect == dialect).expect("it was understood");
                let needed = dialect.facts().lock_after.expect("a family that proves nothing is never locked");
                assert!(found.frames >= needed || found.checked >= 3);
                return;
            }
            Step::Settled(Judgement::Ambiguous(all)) => return assert!(all.len() > 1),
            Step::Settled(Judgement::Confirm(all)) => return assert!(!all.is_empty()),
            Step::Settled(other) => panic!("nothing is settled by {other:?}"),
            Step::Hopeless(_) | Step::Exhausted => return,
        }
        assert!(hunter.line().speed > 0);
    }
    hunter.found();
});

//! Speeds, parity, levels and silence, on a line simulated bit by bit.

use crate::speaker::weighing;
use crate::uart::{Frame, Wire};
use bismar::dialect::hunt::{Char, Factor, Hunter, Judgement, LineFault, Moved, Picture, SPEEDS, Scorer, Start, Step};
use bismar::dialect::{Dialect, Options, Parity};
use bismar::measure::{Moment, Span};

/// How the hunt on a scale that sends these frames over and over ends, the port set as the hunter wants it.
/// `pause` is the rest between two frames.
fn hunt(frames: &[Vec<u8>], wire: Wire, start: Start, pause: Span) -> (Step, Hunter, Vec<Moved>, Span) {
    let mut hunter = Hunter::new(start);
    let mut now = Moment::default();
    let mut moved = Vec::new();
    // A port is open for a moment before its first byte.
    assert_eq!(hunter.tick(now), Step::Listen);
    now = now.plus(pause);
    for frame in frames.iter().cycle() {
        let line = hunter.line();
        let chars = match line.parity {
            Parity::Clear => Wire { read_at: line.speed.into(), ..wire }.receive(frame),
            _ => frame.iter().map(|&byte| Char::sound(byte)).collect(),
        };
        let took = Span(frame.len() as u64 * (11 + wire.idle as u64) * 1_000_000_000 / wire.sent_at);
        now = now.plus(took);
        hunter.take(&chars, now);
        let end = now.plus(pause);
        loop {
            match hunter.tick(now) {
                Step::Listen => {}
                Step::Change(_, why) => moved.push(why),
                step => return (step, hunter, moved, now.since(Moment::default())),
            }
            if now >= end {
                break;
            }
            now = now.plus(Span::millis(100)).min(end);
        }
        if now > Moment::default().plus(Span::seconds(180)) {
            return (Step::Listen, hunter, moved, now.since(Moment::default()));
        }
    }
    unreachable!("the frames never end")
}

fn at(speed: u32) -> Start {
    Start { configured: Some(speed), ..Start::default() }
}

const MINUTE: Span = Span::seconds(60);
const TENTH: Span = Span::millis(100);

#[test]
fn a_port_that_is_too_fast_goes_straight_to_the_right_speed() {
    for &dialect in Dialect::ALL.iter().filter(|dialect| dialect.facts().lock_after.is_some()) {
        for frame in [Frame::EightNone, Frame::SevenEven] {
            for (sent, times) in [(1200, 2), (1200, 4), (9600, 2), (9600, 4), (19_200, 3), (4800, 8), (9600, 6), (600, 16)] {
                let (step, hunter, moved, took) =
                    hunt(&weighing(dialect), Wire::plain(sent, sent, frame), at(sent * times), TENTH);
                let what = format!("{} {frame:?} {sent} x{times}: {step:?} {moved:?}", dialect.name());
                if frame == Frame::SevenEven && weighing(dialect).concat().iter().any(|byte| *byte > 0x7f) {
                    continue;
                }
                assert!(matches!(&step, Step::Settled(Judgement::Locked(_) | Judgement::Ambiguous(_))), "{what}");
                assert_eq!(hunter.line().speed, sent, "{what}");
                assert!(took < MINUTE, "{what}");
                assert!(matches!(moved[0], Moved::TooFast(_)), "{what}");
            }
        }
    }
}

#[test]
fn the_factor_is_named_by_the_bytes() {
    for dialect in [Dialect::HeaderComma, Dialect::LetterReply, Dialect::BareNumber] {
        for (times, factor) in [
            (2, Factor::Times(2)),
            (3, Factor::Times(3)),
            (4, Factor::Times(4)),
            (6, Factor::Times(6)),
            (8, Factor::Times(8)),
            (12, Factor::TwelveOrMore),
            (24, Factor::TwelveOrMore),
        ] {
            for phase in [6, 8, 10] {
                let wire = Wire { phase, ..Wire::plain(1200, 1200 * times, Frame::EightNone) };
                let mut scorer = Scorer::new(Options::default());
                wire.receive(&weighing(dialect).concat()).into_iter().for_each(|char| scorer.push(char));
                assert_eq!(scorer.picture(), Picture::TooFast(factor), "{} x{times} {phase}", dialect.name());
            }
        }
    }
}

#[test]
fn a_port_that_is_too_slow_locks_on_nothing() {
    for &dialect in Dialect::ALL {
        for frame in [Frame::EightNone, Frame::SevenEven, Frame::SevenOdd] {
            for times in [2, 3, 4, 6, 8] {
                for (idle, phase) in [(0, 8), (1, 6), (3, 10)] {
                    let wire = Wire { idle, phase, ..Wire::plain(9600, 9600 / times, frame) };
                    let mut scorer = Scorer::new(Options { joined: true, ..Options::default() });
                    wire.receive(&weighing(dialect).concat().repeat(4)).into_iter().for_each(|char| scorer.push(char));
                    scorer.silence();
                    let verdict = scorer.conclude();
                    let what = format!("{} {frame:?} /{times} {idle} {phase}", dialect.name());
                    assert!(!matches!(verdict, Judgement::Locked(_) | Judgement::Ambiguous(_)), "{what}: {verdict:?}");
                    let picture = scorer.picture();
                    assert!(!matches!(picture, Picture::Eight(_)), "{what}: {picture:?}");
                }
            }
        }
    }
}

#[test]
fn every_usual_speed_is_found_in_a_minute() {
    for sent in SPEEDS {
        for frame in [Frame::EightNone, Frame::SevenEven, Frame::SevenOdd, Frame::SevenEvenTwoStop] {
            let wire = Wire { idle: 1, ..Wire::plain(sent, sent, frame) };
            let (step, hunter, moved, took) = hunt(&weighing(Dialect::HeaderComma), wire, Start::default(), TENTH);
            let what = format!("{sent} {frame:?} {moved:?} {took:?}");
            assert_eq!(step, Step::Settled(Judgement::Locked(Dialect::HeaderComma)), "{what}");
            let parity = match frame {
                Frame::EightNone => Parity::Clear,
                Frame::SevenOdd => Parity::Odd,
                _ => Parity::Even,
            };
            assert_eq!((hunter.found().speed, hunter.found().parity), (sent, parity), "{what}");
            assert_eq!(hunter.found().data_bits, if parity == Parity::Clear { 8 } else { 7 });
            assert!(took < MINUTE, "{what}");
        }
    }
}

#[test]
fn eight_bits_and_parity_are_opened_as_such() {
    for (frame, parity) in [(Frame::EightEven, Parity::Even), (Frame::EightOdd, Parity::Odd)] {
        let (step, hunter, moved, _) =
            hunt(&weighing(Dialect::HeaderComma), Wire::plain(4800, 4800, frame), at(4800), Span::millis(20));
        assert_eq!(step, Step::Settled(Judgement::Locked(Dialect::HeaderComma)), "{frame:?} {moved:?}");
        assert_eq!(moved, [Moved::ParityBit(parity)]);
        assert_eq!((hunter.found().data_bits, hunter.found().parity), (8, parity));
    }
}

#[test]
fn swapped_levels_are_told_and_not_walked_for_ever() {
    for idle in [0, 1] {
        let wire = Wire { inverted: true, idle, ..Wire::plain(9600, 9600, Frame::EightNone) };
        let (step, _, moved, took) = hunt(&[weighing(Dialect::HeaderComma).concat()], wire, Start::default(), TENTH);
        assert!(matches!(step, Step::Hopeless(Picture::Inverted) | Step::Exhausted), "{step:?} {moved:?} {took:?}");
        if idle == 0 {
            assert_eq!(step, Step::Hopeless(Picture::Inverted), "{moved:?}");
        }
    }
}

#[test]
fn silence_never_walks() {
    let mut hunter = Hunter::new(Start::default());
    for second in 0..600 {
        assert_eq!(hunter.tick(Moment::default().plus(Span::seconds(second))), Step::Listen);
    }
    assert_eq!((hunter.line().speed, hunter.scorer().judge()), (9600, Judgement::Silent));
}

/// A line held low: one break, and then nothing.
#[test]
fn a_line_held_low_is_told() {
    let mut hunter = Hunter::new(Start::default());
    hunter.take(&[Char { byte: 0, fault: Some(LineFault::Break) }], Moment::default());
    assert_eq!(hunter.tick(Moment::default().plus(Span::seconds(60))), Step::Listen);
    assert_eq!(hunter.scorer().picture(), Picture::Break);
}

/// A print key every few seconds: the right speed is kept, a wrong one is left after a press.
#[test]
fn single_prints_are_judged_press_by_press() {
    let frames = weighing(Dialect::HeaderComma);
    for frame in [Frame::EightNone, Frame::SevenEven] {
        let right = hunt(&frames, Wire::plain(9600, 9600, frame), Start::default(), Span::seconds(5));
        assert_eq!((right.0, right.2), (Step::Settled(Judgement::Locked(Dialect::HeaderComma)), vec![]), "{frame:?}");
        let (step, hunter, moved, _) = hunt(&frames, Wire::plain(19_200, 9600, frame), Start::default(), Span::seconds(5));
        assert_eq!(step, Step::Settled(Judgement::Locked(Dialect::HeaderComma)), "{frame:?} {moved:?}");
        assert_eq!(hunter.line().speed, 19_200);
    }
}

#[test]
fn what_nobody_understands_is_tried_twice_and_given_up() {
    let words = vec![b"boot 2020.01 (Jan 02 2020) ready\r\n".to_vec()];
    let (step, _, moved, took) = hunt(&words, Wire::plain(9600, 9600, Frame::EightNone), Start::default(), TENTH);
    assert_eq!(step, Step::Exhausted, "{moved:?} {took:?}");
}

#[test]
fn a_board_without_a_speed_is_not_walked() {
    let words = vec![b"boot 2020.01 (Jan 02 2020) ready\r\n".to_vec()];
    let start = Start { speedless: true, ..Start::default() };
    let (step, hunter, moved, _) = hunt(&words, Wire::plain(9600, 9600, Frame::EightNone), start, TENTH);
    assert_eq!((step, hunter.line().speed, moved), (Step::Listen, 9600, vec![]));
}

#[test]
fn plain_numbers_wait_for_a_person() {
    let (step, hunter, moved, _) =
        hunt(&weighing(Dialect::BareNumber), Wire::plain(2400, 2400, Frame::EightNone), Start::default(), TENTH);
    assert!(matches!(&step, Step::Settled(Judgement::Confirm(all)) if all.contains(&Dialect::BareNumber)), "{step:?} {moved:?}");
    assert_eq!(hunter.found().speed, 2400);
}

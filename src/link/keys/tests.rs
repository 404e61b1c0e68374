//! Scanners, pads and pedals as they type, with every cut, repeat and pause.

use super::button::BOUNCE;
use super::layout::character;
use super::pad::GIVE_UP;
use super::scan::{MOST, PAUSE};
use super::*;
use crate::config::Act;
use crate::measure::Span;
use proptest::collection::vec;
use proptest::prelude::*;
use std::collections::BTreeMap;

const ENTER: u16 = 28;
const BACKSPACE: u16 = 14;
const SHIFT: u16 = 42;
const MS: u64 = 1_000_000;

fn keys(at: KeysAt, kind: KeysKind) -> Keys {
    Keys::new(&KeysConfig { at, kind })
}

fn device(kind: KeysKind) -> Keys {
    keys(KeysAt::Device("/dev/input/x".into()), kind)
}

fn serial_scanner() -> Keys {
    keys(KeysAt::Port { path: "/dev/x".into(), line: None }, KeysKind::Scanner)
}

fn strokes(all: &[(u16, Change)]) -> Event {
    Event::Bytes(all.iter().flat_map(|&(code, change)| Stroke { code, change }.to_bytes()).collect())
}

/// A key down and up again.
fn tap(code: u16) -> Event {
    strokes(&[(code, Change::Down), (code, Change::Up)])
}

/// The strokes of a text, as a US keyboard makes them.
fn typed(text: &str) -> Vec<(u16, Change)> {
    let mut all = Vec::new();
    for wanted in text.chars() {
        let find = |shift| (0..=255).find(|code| character(*code, shift) == Some(wanted)).map(|code| (code, shift));
        let (code, shift) = find(false).or_else(|| find(true)).expect("a US keyboard types it");
        let tap = [(code, Change::Down), (code, Change::Up)];
        match shift {
            true => all.extend([&[(SHIFT, Change::Down)], &tap[..], &[(SHIFT, Change::Up)]].concat()),
            false => all.extend(tap),
        }
    }
    all
}

/// What comes of events, with a long quiet behind them.
fn run(mut keys: Keys, events: &[(u64, Event)]) -> Vec<Press> {
    let mut out = Vec::new();
    for (at, event) in events {
        keys.event(Moment(*at), event, &mut out);
    }
    let end = Moment(events.last().map_or(0, |(at, _)| *at)).plus(Span::seconds(60));
    keys.pass(end, &mut out);
    assert_eq!(keys.due(), None);
    out
}

fn acts(presses: &[Press]) -> Vec<Act> {
    presses.iter().map(|press| *press.what.as_ref().unwrap_or_else(|why| panic!("{why}"))).collect()
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        (0_u32..1_000_000_000).prop_map(Act::Bin),
        Just(Act::Next),
        Just(Act::Pause),
        Just(Act::Doubtful),
        Just(Act::Intake)
    ]
}

fn card_of(act: Act) -> String {
    format!("BISMAR-{act}").to_uppercase()
}

/// Texts that are cards, and many that nearly are.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[BINbin7 :-]{0,9}",
        "(bismar[-: ])?(BIN|bin|NEXT|PAUSE|BINS?)?[-: ]{0,2}[0-9]{0,11}",
        "[ -~]{1,20}",
        act().prop_map(card_of)
    ]
}

/// The same law put the other way round: all spellings of all acts, and nothing else.
fn is_read(text: &str) -> Option<Act> {
    let plain = text.trim_matches(' ').to_ascii_uppercase().replace([' ', ':'], "-");
    let number = |digits: &str, most| {
        let right = (1..=most).contains(&digits.len()) && digits.chars().all(|digit| digit.is_ascii_digit());
        right.then(|| Act::Bin(digits.parse().unwrap()))
    };
    if let Some(act) = [Act::Next, Act::Pause, Act::Doubtful, Act::Intake].into_iter().find(|act| card_of(*act) == plain) {
        return Some(act);
    }
    let behind = |front: &str| plain.strip_prefix(front).map(str::to_owned);
    match behind("BISMAR-BIN-").or_else(|| behind("BIN-")) {
        Some(digits) => number(&digits, 9),
        None => number(&plain, 5),
    }
}

proptest! {
    #[test]
    fn a_card_is_one_of_ours_or_nothing(text in text()) {
        prop_assert_eq!(read_card(&text), is_read(&text));
    }

    #[test]
    fn every_act_has_a_card_of_plain_characters(act in act()) {
        let card = card_of(act);
        prop_assert!(card.chars().all(|character| CODE_CHARACTERS.contains(character)), "{}", card);
        prop_assert_eq!(read_card(&card), Some(act));
    }

    /// What stands on goods in shops has six digits or more.
    #[test]
    fn a_code_from_a_shop_is_no_bin(digits in "[0-9]{6,14}") {
        prop_assert_eq!(read_card(&digits), None);
    }

    /// Held keys, lock keys and Shift left or right: the text is what was typed.
    #[test]
    fn a_scanner_that_types_gives_its_text(text in "[ -~]{1,40}", repeats in vec(0_usize..3, 160), locks in any::<bool>()) {
        let mut all = Vec::new();
        if locks {
            all.extend([(69, Change::Down), (69, Change::Up), (58, Change::Down), (58, Change::Up)]);
        }
        for (stroke, times) in typed(&text).into_iter().zip(repeats.into_iter().cycle()) {
            all.push(stroke);
            if stroke.1 == Change::Down {
                all.extend(vec![(stroke.0, Change::Repeat); times]);
            }
        }
        all.extend([(ENTER, Change::Down), (ENTER, Change::Repeat), (ENTER, Change::Up)]);
        let out = run(device(KeysKind::Scanner), &[(5, strokes(&all))]);
        let expected = read_card(&text).ok_or(Refused::NoCard { text: text.clone() });
        prop_assert_eq!(out, [Press { at: Moment(5), what: expected }]);
    }

    /// However the line is cut into chunks, and whatever ends a card.
    #[test]
    fn a_serial_scanner_gives_each_card_once(cards in vec((act(), 0_usize..4), 1..6), cut in 1_usize..9) {
        let ends = ["\r", "\n", "\r\n", "\t"];
        let stream: String = cards.iter().map(|(act, end)| card_of(*act) + ends[*end]).collect();
        let events: Vec<(u64, Event)> =
            stream.as_bytes().chunks(cut).zip(0..).map(|(chunk, count)| (count * MS, Event::Bytes(chunk.to_vec()))).collect();
        let expected: Vec<Act> = cards.iter().map(|(act, _)| *act).collect();
        prop_assert_eq!(acts(&run(serial_scanner(), &events)), expected);
    }

    /// Without any end, a silence ends a card, and a shorter one does not.
    #[test]
    fn a_silence_ends_a_card(cards in vec(act(), 1..5), within in 0..PAUSE.0, between in PAUSE.0..3 * PAUSE.0) {
        let (mut now, mut events, mut lasts) = (0, Vec::new(), Vec::new());
        for act in &cards {
            let text = card_of(*act);
            let (front, back) = text.split_at(text.len() / 2);
            events.push((now, Event::Bytes(front.into())));
            events.push((now + within, Event::Bytes(back.into())));
            lasts.push(Moment(now + within));
            now += within + between;
        }
        let out = run(serial_scanner(), &events);
        prop_assert_eq!(out.iter().map(|press| press.at).collect::<Vec<_>>(), lasts);
        prop_assert_eq!(acts(&out), cards);
    }

    /// A cable that goes in the middle of a card: the halves are never joined.
    #[test]
    fn halves_are_not_joined(act in act(), cut in 1_usize..9, cause in 0_usize..3) {
        let card = card_of(act) + "\r";
        let (front, back) = card.split_at(cut);
        let events = [Event::Gap { lost: 1 }, Event::Down { why: Why::TapeEnded }, strokes(&[(0, Change::Lost)])];
        let keys = match cause { 2 => device(KeysKind::Scanner), _ => serial_scanner() };
        let chunk = |text: &str| match cause {
            2 => strokes(&typed(text.trim_end())),
            _ => Event::Bytes(text.into()),
        };
        let out = run(keys, &[(1, chunk(front)), (2, events[cause].clone()), (3, chunk(back))]);
        prop_assert_eq!(&out[0].what, &Err(Refused::CutOff { text: front.into() }));
        prop_assert!(out[1..].iter().all(|press| press.what != Ok(act) || read_card(back.trim_end()) == Some(act)));
    }

    /// Anything at all: no panic, and nothing grows.
    #[test]
    fn noise_is_borne(chunks in vec((0..200 * MS, vec(any::<u8>(), 0..80)), 0..20), strokes in any::<bool>()) {
        let keys = if strokes { device(KeysKind::Scanner) } else { serial_scanner() };
        let (mut now, mut events) = (0, Vec::new());
        for (gap, bytes) in chunks {
            now += gap;
            events.push((now, Event::Bytes(bytes)));
        }
        for press in run(keys, &events) {
            if let Err(Refused::NoCard { text }) = press.what {
                prop_assert!(text.chars().count() <= MOST);
            }
        }
    }

    #[test]
    fn digits_and_enter_choose(numbers in vec((0_u32..1_000_000_000, 0..GIVE_UP.0 / 10), 1..6), block in any::<bool>()) {
        let (mut now, mut events, mut enters) = (0, Vec::new(), Vec::new());
        for (number, gap) in &numbers {
            for digit in number.to_string().bytes() {
                now += gap;
                let row = [11, 2, 3, 4, 5, 6, 7, 8, 9, 10];
                let kp = [82, 79, 80, 81, 75, 76, 77, 71, 72, 73];
                events.push((now, tap(if block { kp } else { row }[usize::from(digit - b'0')])));
            }
            now += gap;
            events.push((now, tap(if block { 96 } else { ENTER })));
            enters.push(Press::act(Moment(now), Act::Bin(*number)));
        }
        prop_assert_eq!(run(device(KeysKind::Pad { pause: None }), &events), enters);
    }

    /// A single digit that stands holds from when it was typed, once, whether Enter comes behind it or not.
    #[test]
    fn a_single_digit_needs_no_enter(digits in vec((1_u16..10, any::<bool>()), 1..6), pause in 200..5000_u64, more in 0..GIVE_UP.0) {
        let pause = Span::millis(pause);
        let (mut now, mut events, mut expected) = (0, Vec::new(), Vec::new());
        for (digit, enter) in digits {
            events.push((now, tap(digit + 1)));
            expected.push(Press::act(Moment(now), Act::Bin(digit.into())));
            now += pause.0 + more;
            if enter {
                events.push((now, tap(ENTER)));
                now += more;
            }
        }
        prop_assert_eq!(run(device(KeysKind::Pad { pause: Some(pause) }), &events), expected);
    }

    /// Whatever is pressed on a pad, looking at the clock in between changes nothing, and no digit is chosen that was
    /// not typed, or twice, or out of its order.
    #[test]
    fn looking_at_the_clock_changes_nothing(taps in vec((0..2 * GIVE_UP.0, prop::sample::select(vec![2, 3, 11, 71, 82, 12, 74, 78, 83, 55, ENTER, BACKSPACE, 30])), 0..30), looks in vec(0..2 * GIVE_UP.0, 30), pause in prop::option::of(200..5000_u64)) {
        let kind = KeysKind::Pad { pause: pause.map(Span::millis) };
        let (mut now, mut events) = (0, Vec::new());
        for (gap, code) in &taps {
            now += gap;
            events.push((now, tap(*code)));
        }
        let plain = run(device(kind.clone()), &events);
        let (mut keys, mut out, mut before) = (device(kind), Vec::new(), 0);
        for ((at, event), look) in events.iter().zip(looks) {
            keys.pass(Moment((before + look).min(*at)), &mut out);
            keys.event(Moment(*at), event, &mut out);
            before = *at;
        }
        keys.pass(Moment(now).plus(GIVE_UP), &mut out);
        prop_assert_eq!(&out, &plain);
        let mut digits = taps.iter().filter_map(|(_, code)| character(*code, false)).filter(char::is_ascii_digit);
        for press in plain {
            if let Ok(Act::Bin(number)) = press.what {
                prop_assert!(number.to_string().chars().all(|chosen| digits.any(|typed| typed == chosen)), "{}", number);
            }
        }
    }

    /// One act for each press of a foot: not for a held pedal, not for a contact that bounces, and none for a key
    /// without an act.
    #[test]
    fn a_pedal_acts_once_for_each_press(presses in vec((prop::sample::select(vec![59_u16, 60, 61]), 0_usize..4, 0..BOUNCE.0 / 2), 1..12)) {
        let map: BTreeMap<u16, Act> = [(59, Act::Next), (60, Act::Bin(4))].into();
        let (mut now, mut events, mut expected) = (0, Vec::new(), Vec::new());
        for (code, repeats, bounce) in presses {
            events.push((now, strokes(&[(code, Change::Down)])));
            let what = map.get(&code).copied().ok_or(Refused::NoAct { code });
            expected.push(Press { at: Moment(now), what });
            events.push((now + bounce, strokes(&[(code, Change::Up), (code, Change::Down)])));
            for _ in 0..repeats {
                now += 2 * BOUNCE.0;
                events.push((now, strokes(&[(code, Change::Repeat), (code, Change::Down)])));
            }
            events.push((now + bounce, strokes(&[(code, Change::Up)])));
            now += 2 * BOUNCE.0;
        }
        prop_assert_eq!(run(device(KeysKind::Pedal { acts: map }), &events), expected);
    }
}

/// By the codes of the kernel's input-event-codes.h, as a scanner that imitates a keyboard sends them.
#[test]
fn a_card_by_its_codes() {
    let card = [48, 23, 31, 50, 30, 19, 12, 48, 23, 49, 12, 8];
    let mut all = vec![(SHIFT, Change::Down)];
    all.extend(card[..6].iter().flat_map(|code| [(*code, Change::Down), (*code, Change::Up)]));
    all.push((SHIFT, Change::Up));
    all.extend(card[6..].iter().flat_map(|code| [(*code, Change::Down), (*code, Change::Up)]));
    all.extend([(ENTER, Change::Down), (ENTER, Change::Up)]);
    let out = run(device(KeysKind::Scanner), &[(1, strokes(&all))]);
    assert_eq!(acts(&out), [Act::Bin(7)]);
    let out = run(device(KeysKind::Scanner), &[(1, strokes(&typed("bismar:next"))), (2, tap(ENTER))]);
    assert_eq!(acts(&out), [Act::Next]);
}

/// The keys of a pad that are no digits, by the codes of input-event-codes.h: both minus, plus, dot and star.
#[test]
fn the_other_keys_of_a_pad() {
    let acts_of = |code| acts(&run(device(KeysKind::Pad { pause: None }), &[(1, tap(code))]));
    for (code, act) in
        [(12, Act::Doubtful), (74, Act::Doubtful), (78, Act::Next), (83, Act::Pause), (52, Act::Pause), (55, Act::Pause)]
    {
        assert_eq!(acts_of(code), [act], "{code}");
    }
    assert_eq!(acts_of(69), [], "NumLock is no key of ours");
    let pad = |taps: &[u16]| {
        let events: Vec<(u64, Event)> = taps.iter().zip(0..).map(|(code, count)| (count, tap(*code))).collect();
        run(device(KeysKind::Pad { pause: None }), &events).into_iter().map(|press| press.what).collect::<Vec<_>>()
    };
    assert_eq!(pad(&[2, 3, BACKSPACE, 4, ENTER]), [Ok(Act::Bin(13))]);
    assert_eq!(pad(&[2, 3, 78]), [Err(Refused::NoEnter { digits: "12".into() }), Ok(Act::Next)]);
    assert_eq!(pad(&[2, 30, 3, ENTER]), [Err(Refused::StrangeKey { key: Some('a') }), Ok(Act::Bin(2))]);
    assert_eq!(pad(&[2, 3]), [Err(Refused::NoEnter { digits: "12".into() })], "never chosen without Enter");
    let pausing = device(KeysKind::Pad { pause: Some(Span::millis(300)) });
    let told = Press::refused(Moment(2), Refused::NoEnter { digits: "12".into() });
    assert_eq!(run(pausing, &[(1, tap(2)), (2, tap(3))]), [told], "only a single digit stands for itself");
    assert_eq!(pad(&[[2; 10].as_slice(), &[ENTER]].concat()), [Err(Refused::TooLong)]);
}

#[test]
fn a_pedal_without_a_map_chooses_the_next() {
    let out = run(device(KeysKind::Pedal { acts: BTreeMap::new() }), &[(1, tap(30)), (2, tap(48))]);
    assert_eq!(acts(&out), [Act::Next, Act::Next]);
}

#[test]
fn what_never_ends_is_told_and_dropped() {
    let bytes = vec![b'7'; 10 * MOST];
    let out = run(serial_scanner(), &[(1, Event::Bytes(bytes)), (2, Event::Bytes(b"\rBIN 7\r".to_vec()))]);
    assert_eq!(out[0].what, Err(Refused::Endless { most: MOST }));
    assert_eq!(acts(&out[1..]), [Act::Bin(7)]);
}

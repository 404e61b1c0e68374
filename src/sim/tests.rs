//! The simulator against its own truth.

use super::*;
use crate::dialect::{Dialect, Kind, News, Options, Reading, Stability, Stream};
use crate::measure::{Displayed, Mass, Moment, Span, Unit};
use crate::settle::Manner;
use proptest::prelude::*;

fn readings(frames: &[Frame]) -> Vec<(Moment, Reading)> {
    let said = frames.iter().filter_map(|frame| match &frame.what {
        What::Sent { reading, .. } | What::Held { reading, .. } => Some((frame.at, *reading)),
        _ => None,
    });
    said.collect()
}

fn frames(setup: &Setup, script: &Script, seed: u64) -> Vec<Frame> {
    Scale::new(setup.clone(), script.clone(), seed).unwrap().collect()
}

fn deed(seconds: f64, act: Act) -> Deed {
    Deed { at: Moment((seconds * 1e9) as u64), act }
}

fn script(deeds: Vec<Deed>) -> Script {
    Script::new("test", Manner::Heap, deeds)
}

/// The last reading at or before a moment.
fn shown(said: &[(Moment, Reading)], seconds: f64) -> Reading {
    let at = Moment((seconds * 1e9) as u64);
    said.iter().rev().find(|(moment, _)| *moment <= at).expect("nothing was said so early").1
}

fn manners() -> impl Strategy<Value = Manner> {
    prop_oneof![Just(Manner::Heap), Just(Manner::Tray), Just(Manner::Pan), Just(Manner::Sort)]
}

fn acts() -> impl Strategy<Value = Act> {
    let mass = (1_i64..3000).prop_map(Mass::grams);
    prop_oneof![
        mass.clone().prop_map(Act::Drop),
        mass.clone().prop_map(Act::Place),
        Just(Act::Lift),
        Just(Act::SetBack),
        (mass, 100_u64..4000).prop_map(|(push, millis)| Act::Lean { push, lasting: Span::millis(millis) }),
        Just(Act::Unplug),
        Just(Act::Plug),
        (1_u32..4).prop_map(Act::Choose),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_same_seed_gives_the_same_bytes(seed in any::<u64>(), manner in manners()) {
        let other = seed.wrapping_add(1);
        let script = Script::session(seed, 3, manner);
        prop_assert_eq!(&script, &Script::session(seed, 3, manner));
        prop_assert_ne!(&script, &Script::session(other, 3, manner));
        let first = frames(&Setup::default(), &script, seed);
        prop_assert_eq!(&first, &frames(&Setup::default(), &script, seed));
        // A short session may show nothing but zeros unless the cell is noisy.
        let noisy = Setup { noise: 2.0, ..Setup::default() };
        prop_assert_ne!(&frames(&noisy, &script, seed), &frames(&noisy, &script, other));
    }

    #[test]
    fn time_never_runs_backwards(seed in any::<u64>(), rate in 1_u32..=80) {
        let setup = Setup { rate, ..Setup::default() };
        let all = frames(&setup, &Script::session(seed, 3, Manner::Heap), seed);
        prop_assert!(all.is_sorted_by_key(|frame| frame.at));
        let said = readings(&all).len() as u64;
        let seconds = Script::session(seed, 3, Manner::Heap).end().0 / 1_000_000_000;
        prop_assert!(said.abs_diff(seconds * u64::from(rate)) <= u64::from(rate) + 1, "{} in {} s at {} Hz", said, seconds, rate);
    }

    /// Whatever is done: each rest of the truth carries the sum of all changes before it, and no change falls into it.
    #[test]
    fn rests_are_the_sum_of_the_actions(steps in proptest::collection::vec((0_u64..5000, acts()), 1..40)) {
        let mut at = Moment(0);
        let deeds = steps.into_iter().map(|(gap, act)| { at = at.plus(Span::millis(gap)); Deed { at, act } }).collect();
        let script = script(deeds);
        let truth = Truth::of(&Setup::default(), &script, 0);
        for rest in &truth.rests {
            prop_assert!(rest.end.since(rest.start) >= Span::millis(1600));
            let before = truth.actions.iter().filter(|action| action.at <= rest.start);
            prop_assert_eq!(before.map(|action| action.grams).sum::<Mass>(), rest.grams);
            prop_assert!(!truth.actions.iter().any(|action| rest.start < action.at && action.at < rest.end));
            let leaning = script.deeds().iter().any(|deed| match deed.act {
                Act::Lean { lasting, .. } => deed.at < rest.end && rest.start < deed.at.plus(lasting),
                _ => false,
            });
            prop_assert!(!leaning);
        }
    }

    /// Without noise each rest is shown rounded to the division, whatever unit and division the scale has.
    #[test]
    fn an_ideal_scale_shows_each_rest(seed in any::<u64>(), manner in manners(), rate in 5_u32..=80, (unit, division) in prop_oneof![
        Just((Unit::Kilogram, Displayed { count: 1, exponent: -3 })),
        Just((Unit::Gram, Displayed { count: 5, exponent: 0 })),
        Just((Unit::Pound, Displayed { count: 5, exponent: -3 })),
        Just((Unit::Ounce, Displayed { count: 1, exponent: -1 })),
    ]) {
        let setup = Setup { unit, division, rate, ..Setup::default() }.ideal();
        let script = Script::session(seed, 4, manner);
        let said = readings(&frames(&setup, &script, seed));
        let step = setup.step().unwrap();
        for rest in Truth::of(&setup, &script, seed).rests {
            let (_, last) = said.iter().rev().find(|(at, _)| *at <= rest.end).unwrap();
            let off = last.mass(None).unwrap() - rest.grams;
            // Half a division by rounding, and a hundredth for the last trace of swinging.
            prop_assert!(off.abs() * 100 <= step * 51, "{} off at {:?}", off, rest);
            prop_assert_eq!(last.value.unwrap().count % division.count, 0);
        }
    }

    /// The bins and what has no bin together got what the manner says was dropped.
    #[test]
    fn bins_get_what_was_dropped(seed in any::<u64>(), manner in manners(), pieces in 1_u32..20) {
        let script = Script::session(seed, pieces, manner);
        let truth = Truth::of(&Setup::default(), &script, seed);
        let got = truth.bins.iter().map(|bin| bin.grams).sum::<Mass>() + truth.unassigned;
        let of = |act: &str| truth.actions.iter().filter(|action| action.act == act).map(|action| action.grams).sum::<Mass>();
        match manner {
            Manner::Heap | Manner::Pan => prop_assert_eq!(got, of("drop")),
            Manner::Sort => prop_assert_eq!(got, -of("take")),
            // What sticks to the tray is credited with the next load, but for the last.
            Manner::Tray => {
                let tray = truth.actions[0].grams;
                let last = truth.actions.last().unwrap().grams;
                prop_assert_eq!(got, of("drop") - (last - tray));
            }
        }
        prop_assert!(truth.unassigned.is_zero());
    }
}

fn dialects() -> impl Strategy<Value = Dialect> {
    proptest::sample::select(super::speech::fluent())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// What the line carries is read back as what was meant, in every dialect.
    #[test]
    fn every_dialect_is_understood(seed in any::<u64>(), dialect in dialects(), manner in manners()) {
        let usual = Setup { dialect, rate: 20, ..Setup::default() };
        // A family that sends no point counts whole grams.
        let grams = Setup { unit: Unit::Gram, division: Displayed { count: 1, exponent: 0 }, ..usual.clone() };
        let setup = if fluent().contains(&dialect) { usual } else { grams };
        let session = Script::session(seed, 3, manner);
        let mut deeds = session.deeds().to_vec();
        deeds.push(Deed { at: session.end(), act: Act::Place(Mass::grams(20_000)) });
        deeds.push(Deed { at: session.end().plus(Span::seconds(3)), act: Act::Lift });
        let all = frames(&setup, &Script::new("test", manner, deeds), seed);
        let mut stream = Stream::new(dialect, Options::default());
        let mut heard = Vec::new();
        for frame in &all {
            if let What::Sent { bytes, .. } = &frame.what {
                stream.push(bytes, &mut |reading| heard.push(reading));
            }
        }
        stream.silence(&mut |reading| heard.push(reading));
        let meant: Vec<Reading> = readings(&all).into_iter().map(|(_, reading)| reading).collect();
        prop_assert_eq!(heard.len(), meant.len());
        // A frame without a weight says why and, in most families, nothing else.
        let bare = |reading: Reading| if reading.value.is_none() { Reading { news: reading.news, ..Reading::without_weight(reading.flags) } } else { reading };
        for (heard, meant) in heard.into_iter().zip(meant) {
            prop_assert_eq!(bare(heard), bare(meant));
        }
        prop_assert_eq!(stream.tally().refused, 0);
    }
}

#[test]
fn only_a_dialect_with_words_for_it_tells_of_keys_and_switches() {
    let deeds = vec![
        deed(1.0, Act::Place(Mass::grams(500))),
        deed(4.0, Act::TareKey),
        deed(5.0, Act::PowerOff),
        deed(6.0, Act::PowerOn),
        deed(10.0, Act::ZeroKey),
    ];
    let news = |dialect| -> Vec<News> {
        let said = readings(&frames(&Setup { dialect, ..Setup::default() }, &script(deeds.clone()), 1));
        said.iter().filter_map(|(_, reading)| reading.news).collect()
    };
    assert_eq!(news(Dialect::LetterReply), [News::Tared, News::PoweredUp, News::Zeroed]);
    assert_eq!(news(Dialect::HeaderComma), []);
}

#[test]
fn an_endless_scale_goes_on_with_the_last_load() {
    let script = script(vec![deed(1.0, Act::Place(Mass::grams(700)))]);
    let setup = Setup::default().ideal();
    let whole = frames(&setup, &script, 2);
    let longer: Vec<_> = Scale::new(setup, script, 2).unwrap().endless().take(whole.len() + 200).collect();
    assert_eq!(longer[..whole.len()], whole);
    let last = readings(&longer).pop().unwrap();
    assert_eq!(last.1.mass(None), Some(Mass::grams(700)));
    assert!(last.0 > Moment(25_000_000_000));
}

#[test]
fn a_scale_that_its_dialect_cannot_show_is_refused() {
    let fault = |setup: Setup| Scale::new(setup, script(Vec::new()), 1).err().map(|fault| fault.key);
    assert_eq!(fault(Setup { dialect: Dialect::LfStatusChars, ..Setup::default() }), None);
    let large = Setup { capacity: Mass::grams(15_000_000), ..Setup::default() };
    assert_eq!(fault(Setup { dialect: Dialect::StxStatusWords, ..large }), Some("dialect"));
    assert_eq!(fault(Setup { division: Displayed { count: 0, exponent: 0 }, ..Setup::default() }), Some("division"));
}

#[test]
fn a_power_cycle_wakes_up_zeroed_under_a_standing_bin() {
    let script = script(vec![
        deed(1.0, Act::Place(Mass::grams(900))),
        deed(5.0, Act::PowerOff),
        deed(7.0, Act::PowerOn),
        deed(12.0, Act::Drop(Mass::grams(50))),
    ]);
    let said = readings(&frames(&Setup::default().ideal(), &script, 1));
    assert_eq!(shown(&said, 5.0).mass(None), Some(Mass::grams(900)));
    assert!(!said.iter().any(|(at, _)| (5_100..8_400).contains(&(at.0 / 1_000_000))), "a dark scale says nothing");
    assert_eq!(shown(&said, 11.9).mass(None), Some(Mass::ZERO));
    assert_eq!(shown(&said, 16.0).mass(None), Some(Mass::grams(50)));
    let rests = Truth::of(&Setup::default(), &script, 1).rests;
    assert!(!rests.iter().any(|rest| rest.start < Moment(7_000_000_000) && rest.end > Moment(5_000_000_000)));
}

#[test]
fn the_keys_do_what_keys_do() {
    let script = script(vec![
        deed(1.0, Act::Place(Mass::grams(900))),
        deed(5.0, Act::TareKey),
        deed(6.0, Act::Drop(Mass::grams(50))),
        deed(10.0, Act::Lift),
        deed(14.0, Act::TareKey),
        deed(15.0, Act::Place(Mass::grams(100))),
        deed(18.0, Act::ZeroKey),
    ]);
    let said = readings(&frames(&Setup::default().ideal(), &script, 1));
    assert_eq!(shown(&said, 5.9).kind, Kind::Net);
    assert_eq!(shown(&said, 9.9).mass(None), Some(Mass::grams(50)));
    assert_eq!(shown(&said, 13.9).mass(None), Some(Mass::grams(-900)));
    assert_eq!(shown(&said, 14.9).kind, Kind::Gross);
    assert_eq!(shown(&said, 17.9).mass(None), Some(Mass::grams(100)));
    assert_eq!(shown(&said, 20.0).mass(None), Some(Mass::ZERO));
}

#[test]
fn too_much_is_told_and_carries_no_weight() {
    let script = script(vec![deed(1.0, Act::Place(Mass::grams(15_020)))]);
    let said = readings(&frames(&Setup::default().ideal(), &script, 1));
    let last = shown(&said, 5.0);
    assert!(last.flags.overload);
    assert_eq!(last.value, None);
    let script = super::tests::script(vec![deed(1.0, Act::Place(Mass::grams(15_009)))]);
    let said = readings(&frames(&Setup::default().ideal(), &script, 1));
    assert_eq!(shown(&said, 5.0).mass(None), Some(Mass::grams(15_009)), "nine divisions above are still shown");
}

/// How long after the drop at 3 s the scale first says stable with the new load, and how often it says so too soon.
fn first_word(flag: Flag) -> (Option<u64>, usize) {
    let script = script(vec![deed(3.0, Act::Place(Mass::grams(800)))]);
    let setup = Setup { flag, rate: 40, noise: 0.1, ..Setup::default() };
    let said = readings(&frames(&setup, &script, 7));
    let after = said.iter().filter(|(at, _)| at.0 > 3_100_000_000);
    let near = |reading: &Reading| reading.mass(None).is_some_and(|mass| (mass - Mass::grams(800)).abs() <= Mass::grams(1));
    let stable = after.filter(|(_, reading)| reading.stability == Stability::Stable);
    let (good, early): (Vec<_>, Vec<_>) = stable.partition(|(_, reading)| near(reading));
    (good.first().map(|(at, _)| (at.0 - 3_000_000_000) / 1_000_000), early.len())
}

#[test]
fn flags_are_as_honest_as_asked() {
    let (honest, early) = first_word(Flag::Honest);
    assert_eq!(early, 0);
    assert!(first_word(Flag::Early).0 < honest);
    assert!(first_word(Flag::Late).0 > honest.map(|after| after + 800));
    assert!(first_word(Flag::Lying).1 > 0);
    assert_eq!(first_word(Flag::Absent), (None, 0));
}

#[test]
fn a_falling_piece_overshoots_and_a_gentle_hand_less() {
    let peak = |act| {
        let said = readings(&frames(
            &Setup { rate: 80, filter: Filter::None, ..Setup::default() }.ideal(),
            &script(vec![deed(1.0, act)]),
            3,
        ));
        said.iter().filter_map(|(_, reading)| reading.mass(None)).max().unwrap()
    };
    let mass = Mass::grams(500);
    assert!(peak(Act::Place(mass)) > mass + Mass::grams(100));
    assert!(peak(Act::Drop(mass)) > peak(Act::Place(mass)) + Mass::grams(50));
}

#[test]
fn noise_is_as_wide_as_asked() {
    let setup = Setup { noise: 5.0, filter: Filter::None, zero_tracking: 0.0, rate: 80, ..Setup::default() };
    let said = readings(&frames(&setup, &script(vec![deed(60.0, Act::Say("end".into()))]), 5));
    let counts: Vec<f64> = said.iter().filter_map(|(_, reading)| Some(reading.value?.count as f64)).collect();
    let mean = counts.iter().sum::<f64>() / counts.len() as f64;
    let deviation = (counts.iter().map(|count| (count - mean).powi(2)).sum::<f64>() / counts.len() as f64).sqrt();
    assert!((4.5..5.5).contains(&deviation), "{deviation}");
}

#[test]
fn a_slow_drift_at_zero_is_followed_and_a_load_is_not() {
    let creep = |grams: i64| {
        let deeds = (0..60)
            .map(|step| deed(1.0 + f64::from(step), Act::Place(Mass::from_femtograms(200_000_000_000_000))))
            .collect::<Vec<_>>();
        let mut deeds = deeds;
        if grams > 0 {
            deeds.insert(0, deed(0.5, Act::Place(Mass::grams(grams))));
        }
        let setup = Setup { noise: 0.0, ..Setup::default() };
        shown(&readings(&frames(&setup, &script(deeds), 1)), 64.0).mass(None).unwrap() - Mass::grams(grams)
    };
    assert_eq!(creep(0), Mass::ZERO);
    assert_eq!(creep(100), Mass::grams(12));
}

#[test]
fn a_printing_scale_says_each_load_once_and_never_the_return_to_zero() {
    let script = script(vec![
        deed(1.0, Act::Place(Mass::grams(300))),
        deed(6.0, Act::Lift),
        deed(10.0, Act::SetBack),
        deed(15.0, Act::Drop(Mass::grams(40))),
    ]);
    let setup = Setup { mode: Mode::OnStable, ..Setup::default() };
    let said: Vec<_> = readings(&frames(&setup, &script, 4)).iter().map(|(_, reading)| reading.mass(None).unwrap()).collect();
    let near = [300, 300, 340].map(Mass::grams);
    assert_eq!(said.len(), near.len(), "{said:?}");
    assert!(said.iter().zip(near).all(|(said, near)| (*said - near).abs() <= Mass::grams(1)), "{said:?}");
}

#[test]
fn scenarios_say_what_is_wrong() {
    let good = Scenario::parse(
        "manner = \"pan\"\n[scale]\ndialect = \"header-comma\"\ndivision = \"0.005 lb\"\nrate = 20\n[[do]]\nat = 1.5\nplace = \"1.25 lb\"\n[[do]]\nat = 1\nchoose = 3\n",
        1,
    )
    .unwrap();
    assert_eq!(good.setup.unit, Unit::Pound);
    assert_eq!(good.setup.division, Displayed { count: 5, exponent: -3 });
    assert_eq!(good.script.deeds()[0], deed(1.0, Act::Choose(3)));
    assert_eq!(good.script.deeds()[1], deed(1.5, Act::Place(Mass::parse("1.25", Unit::Pound).unwrap())));
    let made = Scenario::parse("manner = \"tray\"\n[session]\npieces = 5\n[[do]]\nat = 2\nact = \"unplug\"\n", 8).unwrap();
    let session = Script::session(8, 5, Manner::Tray);
    assert_eq!(made.script.deeds()[0], deed(2.0, Act::Unplug));
    assert_eq!(made.script.deeds().len(), session.deeds().len() + 1);
    assert_eq!(made.script.end(), session.end().plus(Span::seconds(2)), "it follows the entries");
    let wrong = |text: &str| Scenario::parse(text, 1).unwrap_err().to_string();
    assert!(wrong("[scale]\nspeed = 3\n").contains("speed"));
    assert!(wrong("[scale]\nrate = 900\n").starts_with("scale.rate"));
    assert!(wrong("[scale]\ndivision = \"1\"\n").starts_with("scale.division"));
    assert!(wrong("[[do]]\nat = 1\ndrop = \"12 stone\"\n").starts_with("entry 1 "));
    assert!(wrong("[[do]]\nat = 1\nact = \"lift\"\ndrop = \"1 g\"\n").contains("one thing"));
    assert!(wrong("[[do]]\nat = -1\nact = \"lift\"\n").starts_with("entry 1 "));
    assert!(wrong("[[do]]\nat = 1\n").contains("says 0"));
}

#[test]
fn the_truth_is_written_for_scorers() {
    let script = script(vec![deed(0.5, Act::Choose(2)), deed(3.0, Act::Drop(Mass::from_femtograms(62_365_000_000_000_000)))]);
    let json: serde_json::Value = serde_json::from_str(&Truth::of(&Setup::default(), &script, 9).to_json()).unwrap();
    assert_eq!(json["kind"], "test");
    assert_eq!(json["seed"], 9);
    assert_eq!(json["rate_hz"], 10);
    assert_eq!(json["division_g"], 1.0);
    assert_eq!(json["format"], Dialect::HeaderComma.name());
    assert_eq!(json["rests"][1], serde_json::json!({"start": 3.0, "end": 8.0, "grams": 62.365}));
    assert_eq!(json["actions"][0], serde_json::json!({"at": 3.0, "act": "drop", "grams": 62.365, "bin": 2}));
    assert_eq!(json["bins"][0], serde_json::json!({"bin": 2, "drops": 1, "grams": 62.365}));
}

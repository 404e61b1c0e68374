//! Benches made of a few lines: a load over time, shown by a scale.

mod arrivals;
mod hands;
mod swinging;
use super::{Act, EpochCause, Finding, Manner, Settle, Setup, Step};
use crate::dialect::{Flags, Kind, News, ReadUnit, Reading, Stability};
use crate::measure::{Displayed, Mass, Moment, Unit};
use proptest::prelude::*;

fn grams(count: i64) -> Reading {
    Reading {
        value: Some(Displayed { count, exponent: 0 }),
        unit: ReadUnit::Stated(Unit::Gram),
        kind: Kind::Gross,
        stability: Stability::Unknown,
        flags: Flags::default(),
        division: None,
        news: None,
    }
}

/// A bench with a scale of 1 g at ten readings a second.
struct Bench {
    settle: Settle,
    now: u64,
    findings: Vec<Finding>,
}

impl Bench {
    const EVERY: u64 = 100_000_000;

    fn new() -> Bench {
        let setup = Setup { division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap };
        Bench { settle: Settle::new(setup), now: 0, findings: Vec::new() }
    }

    fn take(&mut self, reading: Reading) {
        self.now += Bench::EVERY;
        self.settle.reading(Moment(self.now), &reading, &mut |finding| self.findings.push(finding));
    }

    fn show(&mut self, counts: &[i64]) -> &mut Bench {
        counts.iter().for_each(|count| self.take(grams(*count)));
        self
    }

    fn hold(&mut self, count: i64, seconds: u64) -> &mut Bench {
        (0..seconds * 10).for_each(|_| self.take(grams(count)));
        self
    }

    fn wait(&mut self, seconds: u64) -> &mut Bench {
        for _ in 0..seconds * 10 {
            self.now += Bench::EVERY;
            self.settle.tick(Moment(self.now), &mut |finding| self.findings.push(finding));
        }
        self
    }

    fn end(&mut self) -> &mut Bench {
        self.settle.flush_pending(Moment(self.now), &mut |finding| self.findings.push(finding));
        self.settle.cut(Moment(self.now), &mut |finding| self.findings.push(finding));
        self
    }

    fn steps(&self) -> Vec<Step> {
        let stepped = |finding: &Finding| if let Finding::Stepped(step) = finding { Some(*step) } else { None };
        self.findings.iter().filter_map(stepped).collect()
    }

    /// The steps that were not cancelled, in grams.
    fn kept(&self) -> Vec<String> {
        let gone =
            |step: &Step| self.findings.iter().any(|f| matches!(f, Finding::Cancelled { number, .. } if *number == step.number));
        self.steps().iter().filter(|step| !gone(step)).map(|step| step.delta.exact_grams()).collect()
    }

    fn repeated(&self) -> usize {
        self.findings.iter().filter(|finding| matches!(finding, Finding::Repeated { .. })).count()
    }

    fn advice(&self) -> usize {
        self.findings.iter().filter(|finding| matches!(finding, Finding::Advise { .. })).count()
    }

    fn causes(&self) -> Vec<EpochCause> {
        let opened = |finding: &Finding| if let Finding::EpochOpened { cause, .. } = finding { Some(*cause) } else { None };
        self.findings.iter().filter_map(opened).collect()
    }
}

#[test]
fn a_piece_is_one_step_that_owns_the_moment_it_landed() {
    let mut bench = Bench::new();
    bench.hold(0, 2);
    let landed = bench.now + Bench::EVERY;
    bench.show(&[40, 70, 59, 56]).hold(57, 2);
    let [step] = bench.steps()[..] else { panic!("{:?}", bench.findings) };
    assert_eq!((step.act, step.delta, step.landed), (Act::Added, Mass::grams(57), Moment(landed)));
    assert!(step.recognised.since(step.landed).as_millis() <= 1000);
    bench.wait(6);
    assert!(bench.findings.iter().any(|finding| matches!(finding, Finding::Confirmed { number: 1, .. })));
}

#[test]
fn flicker_between_two_values_is_a_rest_and_a_ramp_is_none() {
    let mut bench = Bench::new();
    bench.hold(100, 2);
    (0..10).for_each(|_| _ = bench.show(&[200, 201]));
    assert_eq!(bench.steps().len(), 1);
    let mut bench = Bench::new();
    bench.hold(100, 2);
    (100..160).for_each(|count| _ = bench.show(&[count]));
    assert_eq!(bench.kept(), [""; 0]);
}

#[test]
fn a_cleared_platform_is_one_step_of_minus_the_load() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(500, 3).hold(800, 3).show(&[300]).hold(1, 2);
    let acts: Vec<Act> = bench.steps().iter().map(|step| step.act).collect();
    assert_eq!(acts, [Act::Added, Act::Added, Act::Cleared]);
    assert_eq!(bench.kept(), ["500", "300", "-799"]);
}

#[test]
fn a_resting_hand_cancels_itself_and_a_quick_pan_does_not() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(900, 8).hold(1400, 3).hold(900, 3).end();
    assert_eq!(bench.kept(), ["900"]);
    let mut pan = Bench::new();
    pan.hold(0, 2).hold(500, 2).hold(0, 2).hold(500, 2).hold(0, 2).end();
    assert_eq!(pan.kept(), ["500", "-500", "500", "-500"]);
}

#[test]
fn a_division_or_two_back_at_once_is_the_rest_of_a_step() {
    let mut bench = Bench::new();
    bench.hold(900, 8).show(&[920, 935]).show(&[932; 5]).hold(929, 3).show(&[960, 1000]).hold(1029, 1).hold(1032, 3).end();
    assert_eq!(bench.kept(), ["29", "100", "3"]);
}

#[test]
fn crumbs_of_one_division_are_mass_and_creep_is_forgiven() {
    let mut crumbs = Bench::new();
    crumbs.hold(0, 2).hold(500, 8).hold(501, 6).hold(502, 6).hold(503, 6).end();
    assert_eq!(crumbs.kept(), ["500", "1", "1", "1"]);
    let mut creep = Bench::new();
    creep.hold(0, 2).hold(500, 20);
    // A code edge that is crossed in half a minute: ever more often the upper value.
    (0..300).for_each(|index| creep.take(grams(500 + i64::from(index * 113 % 300 < index))));
    creep.hold(501, 40).end();
    assert_eq!(creep.kept(), ["500"]);
    let closed = creep.findings.last();
    assert!(matches!(closed, Some(Finding::EpochClosed { forgiven, .. }) if *forgiven == Mass::grams(1)), "{closed:?}");
}

#[test]
fn missing_frames_end_no_epoch() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(500, 3).wait(5).hold(500, 2).wait(4).hold(650, 2).end();
    assert_eq!(bench.causes(), [EpochCause::Link]);
    assert_eq!(bench.kept(), ["500", "150"]);
}

#[test]
fn what_changes_the_meaning_of_the_display_ends_the_epoch() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(500, 3);
    bench.take(Reading { news: Some(News::Tared), ..grams(0) });
    bench.hold(0, 2);
    let net = Reading { kind: Kind::Net, ..grams(7) };
    (0..2).for_each(|_| bench.take(net));
    bench.hold(0, 2);
    (0..20).for_each(|_| bench.take(net));
    bench.end();
    assert_eq!(bench.causes(), [EpochCause::Link, EpochCause::Tared, EpochCause::Display], "two odd frames end none");
    assert_eq!(bench.kept(), ["500"]);
}

#[test]
fn overload_is_no_weight_and_a_knock_is_none() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(500, 3);
    let overload = Flags { overload: true, ..Flags::default() };
    (0..20).for_each(|_| bench.take(Reading { flags: overload, ..grams(9999) }));
    bench.hold(500, 2).show(&[560, 470, 515, 492, 503]).hold(500, 3).end();
    assert_eq!(bench.kept(), ["500"]);
}

#[test]
fn a_scale_that_prints_one_line_a_load_is_heard() {
    let mut bench = Bench::new();
    for count in [0, 57, 57, 120] {
        bench.show(&[count]).wait(8);
    }
    assert_eq!(bench.kept(), ["57", "63"]);
    let again = bench.findings.iter().filter(|finding| matches!(finding, Finding::Repeated { .. })).count();
    assert_eq!(again, 1, "the equal line is told: it may be a second piece of the same weight");
}

#[test]
fn a_print_key_pressed_twice_makes_no_step_and_hides_no_later_line() {
    let mut bench = Bench::new();
    bench.show(&[0]).wait(4).show(&[57, 57]).wait(9).show(&[120]).wait(5);
    assert_eq!(bench.kept(), ["57", "63"]);
    bench.show(&[120]).wait(3);
    assert_eq!(bench.repeated(), 1);
    bench.show(&[121]).wait(9);
    assert_eq!(bench.kept(), ["57", "63"], "another line of the same load may flicker");
    bench.show(&[180]).wait(9);
    assert_eq!(bench.kept(), ["57", "63", "60"]);
}

#[test]
fn a_slow_stream_repeats_nothing() {
    let mut bench = Bench::new();
    for count in [57; 12] {
        bench.show(&[count]).wait(3);
    }
    assert_eq!(bench.repeated(), 2, "two lines and three may be loads; a row at even distances is a stream");
}

#[test]
fn on_a_pan_lines_that_never_show_zero_are_loads() {
    let mut bench = Bench::new();
    bench.settle.set_manner(Manner::Pan);
    for (count, seconds) in [(57, 7), (120, 11), (80, 4)] {
        bench.show(&[count]).wait(seconds);
    }
    assert_eq!(bench.kept(), ["-57", "120", "-120", "80"]);
    let acts: Vec<Act> = bench.steps().iter().map(|step| step.act).collect();
    assert_eq!(acts, [Act::Cleared, Act::Added, Act::Cleared, Act::Added]);
    let mut zeros = Bench::new();
    zeros.settle.set_manner(Manner::Pan);
    for (count, seconds) in [(0, 7), (57, 11), (0, 5), (120, 4), (150, 9)] {
        zeros.show(&[count]).wait(seconds);
    }
    assert_eq!(zeros.kept(), ["57", "-57", "120", "30"], "a scale that tells of the empty pan tells of differences");
}

#[test]
fn a_scale_that_wakes_up_at_zero_under_a_load_ends_the_epoch() {
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(900, 8).wait(30).hold(0, 3).end();
    assert_eq!(bench.causes(), [EpochCause::Link, EpochCause::PowerUp]);
    assert_eq!(bench.kept(), ["900"]);
    let mut lifted = Bench::new();
    lifted.hold(0, 2).hold(900, 8).wait(6).hold(0, 3).end();
    assert_eq!((lifted.causes().len(), lifted.kept()), (1, vec!["900".into(), "-900".into()]), "frames missed for seconds");
    let mut near = Bench::new();
    near.hold(0, 2).hold(900, 8).wait(30).hold(4, 3).end();
    assert_eq!((near.causes().len(), near.kept()), (1, vec!["900".into(), "-896".into()]), "a scale wakes up at exactly zero");
}

#[test]
fn small_pieces_near_zero_bring_the_advice_once() {
    let mut bench = Bench::new();
    bench.hold(0, 4);
    for count in [2, 4, 5, 6, 7, 8] {
        bench.hold(count, 6);
    }
    assert_eq!(bench.advice(), 0, "the load has left the display's zero before three pieces came");
    let mut near = Bench::new();
    near.hold(0, 4);
    for count in [1, 2, 3, 4, 1, 2, 3, 4] {
        near.hold(count, 8);
    }
    assert_eq!(near.advice(), 1);
    let mut heap = Bench::new();
    heap.hold(0, 4).hold(500, 6);
    for count in 501..510 {
        heap.hold(count, 6);
    }
    assert_eq!(heap.advice(), 0);
}

#[test]
fn a_bench_that_never_stands_still_is_weighed_by_an_average() {
    let mut bench = Bench::new();
    let shaken = |bench: &mut Bench, count: i64, readings: u32| {
        for _ in 0..readings {
            let phase = bench.now as f64 / 1e9 * std::f64::consts::TAU;
            let shaking = 9.0 * (phase * 2.3).sin() + 3.0 * (phase * 0.7).cos();
            bench.take(grams(count + shaking.round() as i64));
        }
    };
    shaken(&mut bench, 0, 50);
    for count in [500, 560, 1400, 1420, 0] {
        shaken(&mut bench, count, 40);
    }
    let cancelled = |number: u32| {
        bench.findings.iter().any(|finding| matches!(finding, Finding::Cancelled { number: other, .. } if *other == number))
    };
    let steps: Vec<Step> = bench.steps().into_iter().filter(|step| !cancelled(step.number)).collect();
    let wanted = [500, 60, 840, 20, -1420];
    assert_eq!(steps.len(), wanted.len(), "{steps:?}");
    let mut sum = 0;
    for (step, wanted) in steps.iter().zip(wanted) {
        sum += wanted;
        assert!((step.to.load - Mass::grams(sum)).abs() <= Mass::grams(1), "{step:?}");
    }
    // The phase is known before the piece falls, so a second is enough.
    assert!(steps[1..].iter().all(|step| step.recognised.since(step.landed).as_millis() <= 1200), "{steps:?}");
    let averages = bench.findings.iter().filter(|finding| matches!(finding, Finding::Averaged { .. })).count();
    assert!(averages > steps.len(), "{averages}");
}

/// As a scale showed it: blows of a hammer, and six tenths of a second in which it looked settled a division higher.
#[test]
fn a_lull_of_the_hammering_is_no_step() {
    let blows = [889, 889, 890, 890, 889, 893, 892, 893, 896, 891, 891, 891, 892, 892, 892, 891, 893, 894, 891, 892, 893];
    let mut bench = Bench::new();
    bench.hold(0, 2).hold(779, 3).show(&[848, 895, 886, 892, 889]).hold(890, 7).show(&blows).hold(890, 3).hold(0, 2);
    assert_eq!(bench.end().kept(), ["779", "111", "-890"]);
}

/// One change in the first second of listening was once taken for a bench that shakes, and quick hands were missed.
#[test]
fn a_load_that_comes_as_we_begin_to_listen_is_no_shaking() {
    let mut bench = Bench::new();
    bench.show(&[0]);
    for load in [103, 106, 109, 112] {
        bench.show(&[load; 9]).show(&[0; 6]);
    }
    assert_eq!(bench.end().kept(), ["-103", "106", "-106", "109", "-109", "112", "-112"]);
}

#[test]
fn crumbs_below_the_division_wait_for_it_and_go_when_asked() {
    let mut bench = Bench::new();
    let tenths = |count| Reading { value: Some(Displayed { count, exponent: -1 }), ..grams(0) };
    (0..30).for_each(|_| bench.take(tenths(5000)));
    (0..30).for_each(|_| bench.take(tenths(5007)));
    assert_eq!(bench.kept(), [""; 0]);
    assert_eq!(bench.settle.balance().map(|balance| balance.pending), Mass::parse_grams("0.7"));
    bench.end();
    assert_eq!(bench.kept(), ["0.7"]);
}

#[derive(Debug, Clone)]
enum Event {
    /// So many readings of about this count, so far apart.
    Rest {
        count: i64,
        readings: u8,
        millis: u16,
        flicker: i64,
    },
    Odd(Reading),
    Tick(u32),
    Cut,
    Flush,
}

fn event() -> impl Strategy<Value = Event> {
    let count = prop_oneof![3 => 0_i64..6, 4 => -5_i64..300, 2 => 0_i64..20_000, 1 => any::<i64>()];
    let unit = proptest::sample::select(vec![
        ReadUnit::Stated(Unit::Gram),
        ReadUnit::Stated(Unit::Tonne),
        ReadUnit::PoundOunce,
        ReadUnit::Unstated,
        ReadUnit::Ambiguous,
        ReadUnit::Absent,
    ]);
    let news = proptest::option::weighted(0.3, proptest::sample::select(vec![News::Zeroed, News::Tared, News::PoweredUp]));
    let division = proptest::option::weighted(0.3, (any::<i64>(), any::<i8>()));
    let odd = (proptest::option::of(any::<i64>()), any::<i8>(), unit, any::<bool>(), news, division).prop_map(
        |(count, exponent, unit, overload, news, division)| Reading {
            value: count.map(|count| Displayed { count, exponent }),
            unit,
            kind: if overload { Kind::Tare } else { Kind::Net },
            stability: Stability::Stable,
            flags: Flags { overload, ..Flags::default() },
            division: division.map(|(count, exponent)| Displayed { count, exponent }),
            news,
        },
    );
    prop_oneof![
        12 => (count, 1_u8..60, 5_u16..3000, 0_i64..4)
            .prop_map(|(count, readings, millis, flicker)| Event::Rest { count, readings, millis, flicker }),
        1 => odd.prop_map(Event::Odd),
        2 => (0_u32..40_000).prop_map(Event::Tick),
        1 => Just(Event::Cut),
        1 => Just(Event::Flush),
    ]
}

/// Runs the events and hands over what was found.
fn run(events: &[Event], division: i64) -> Vec<Finding> {
    let setup = Setup { division: (division > 0).then(|| Mass::grams(division)), unit: None, manner: Manner::Heap };
    let mut settle = Settle::new(setup);
    let mut findings = Vec::new();
    let mut now = 0_u64;
    for event in events {
        let emit = &mut |finding| findings.push(finding);
        match event {
            Event::Rest { count, readings, millis, flicker } => {
                for index in 0..i64::from(*readings) {
                    now += u64::from(*millis) * 1_000_000;
                    let count = count.saturating_add(index * 7 % (flicker + 1));
                    settle.reading(Moment(now), &grams(count), emit);
                }
            }
            Event::Odd(reading) => settle.reading(Moment(now), reading, emit),
            Event::Tick(millis) => {
                now += u64::from(*millis) * 1_000_000;
                settle.tick(Moment(now), emit);
            }
            Event::Cut => settle.cut(Moment(now), emit),
            Event::Flush => settle.flush_pending(Moment(now), emit),
        }
        if let Some(balance) = settle.balance() {
            assert_eq!(balance.current - balance.first, balance.steps + balance.pending + balance.forgiven);
        }
    }
    settle.cut(Moment(now), &mut |finding| findings.push(finding));
    findings
}

proptest! {
    /// The law of conservation, from the findings alone, and that every step ends once: confirmed or cancelled.
    #[test]
    fn mass_is_conserved_within_every_epoch(events in proptest::collection::vec(event(), 1..40), division in 0_i64..3) {
        let (mut first, mut last, mut steps, mut open) = (None, Mass::ZERO, Mass::ZERO, Vec::<Step>::new());
        let (mut epochs, mut number, mut bound) = (0, 0, Mass::ZERO);
        for finding in run(&events, division) {
            match finding {
                Finding::EpochOpened { division, .. } => {
                    bound = division;
                    epochs += 1;
                    prop_assert_eq!(epochs, 1, "an epoch inside another");
                    (first, last, steps, number) = (None, Mass::ZERO, Mass::ZERO, 0);
                }
                Finding::Rested { rest, .. } => {
                    first = first.or(Some(rest.load));
                    last = rest.load;
                }
                Finding::Stepped(step) => {
                    prop_assert_eq!(step.delta, step.to.load - step.from.load);
                    prop_assert!(!step.delta.is_zero() && step.number == number + 1 && step.landed <= step.recognised);
                    prop_assert!(first.is_some());
                    number = step.number;
                    (last, steps) = (step.to.load, steps + step.delta);
                    open.push(step);
                }
                Finding::Confirmed { number, .. } => {
                    prop_assert!(open.first().is_some_and(|step| step.number == number));
                    open.remove(0);
                }
                Finding::Cancelled { number, .. } => {
                    prop_assert!(open.last().is_some_and(|step| step.number == number));
                    let step = open.pop().expect("just seen");
                    (last, steps) = (step.from.load, steps - step.delta);
                }
                Finding::EpochClosed { pending, forgiven, .. } => {
                    epochs -= 1;
                    prop_assert_eq!(last - first.unwrap_or(last), steps + pending + forgiven);
                    prop_assert!(open.is_empty());
                    prop_assert!(division == 0 || forgiven.abs() <= bound * 3);
                }
                Finding::Averaged { .. } | Finding::Repeated { .. } | Finding::Advise { .. } => {}
            }
        }
        prop_assert_eq!(epochs, 0);
    }

    /// The same readings give the same findings, however often time is told in between.
    #[test]
    fn a_repeated_reading_makes_no_second_step(loads in proptest::collection::vec(0_i64..5000, 1..12)) {
        let mut bench = Bench::new();
        bench.hold(0, 2);
        let mut now = 0;
        let mut expected = Vec::new();
        for load in loads {
            // Neighbours that a hand or a crumb could explain are other tests' matter.
            let load = if (load - now).abs() < 10 { now } else { load };
            bench.hold(load, 8).wait(3).hold(load, 2);
            if load != now {
                expected.push((load - now).to_string());
            }
            now = load;
        }
        bench.end();
        prop_assert_eq!(bench.kept(), expected);
    }
}

//! The scoreboard: steps found on labelled tapes against what was really put on, beside two floors.
//!
//! The tapes come from a simulator that is independent of this program. The rule: a rest of the true load that lasts
//! at least 1.6 s is missed when the sum of the steps does not agree with it within 1.5 divisions before it ends; a
//! step is spurious when no action since the step before accounts for it. `cargo test --test tapes -- --nocapture`
//! prints the table.

#[path = "support/counting.rs"]
mod counting;

use bismar::dialect::{Dialect, Options, Stability, Stream};
use bismar::link::tape::{Body, Tape};
use counting::allocations;
use serde::Deserialize;
use std::path::PathBuf;

#[derive(Deserialize)]
struct Truth {
    kind: String,
    rate_hz: f64,
    division_g: f64,
    rests: Vec<TrueRest>,
    actions: Vec<Action>,
}

#[derive(Deserialize)]
struct TrueRest {
    start: f64,
    end: f64,
    grams: f64,
}

#[derive(Deserialize)]
struct Action {
    at: f64,
    grams: f64,
}

/// A step as it is judged: second and signed grams.
type Found = (f64, f64);

const TAPES: [(&str, Dialect); 6] = [
    ("heap-1-header", Dialect::HeaderComma),
    ("pan-2-stx", Dialect::StxStatusWords),
    ("dribble-3-stx", Dialect::StxStatusWords),
    ("hand-4-letter", Dialect::LetterReply),
    ("fast-5-bare", Dialect::BareNumber),
    ("gaps-6-stx", Dialect::StxStatusWords),
];

fn path(name: &str, ending: &str) -> PathBuf {
    [env!("CARGO_MANIFEST_DIR"), "tests/fixtures/tapes", &format!("{name}.{ending}")].iter().collect()
}

fn truth(name: &str) -> Truth {
    let text = std::fs::read_to_string(path(name, "truth.json")).expect("the truth is beside its tape");
    serde_json::from_str(&text).expect("the truth is well formed")
}

fn replay(name: &str, dialect: Dialect, truth: &Truth) -> Vec<Found> {
    let manner = if truth.kind == "pan" { "pan" } else { "heap" };
    let division = format!("{}g", truth.division_g);
    let arguments = ["--division", &division, "--manner", manner, "--dialect", dialect.name(), "--json"];
    let run = assert_cmd::Command::cargo_bin("bismar")
        .expect("the binary is built")
        .arg("replay")
        .arg(path(name, "tape"))
        .args(arguments)
        .assert()
        .success();
    let line = |line: &str| {
        let step: serde_json::Value = serde_json::from_str(line).expect("one JSON object a line");
        let grams = step["grams"].as_str().and_then(|grams| grams.parse().ok());
        (step["at"].as_f64().expect("a second"), grams.expect("exact grams in a string"))
    };
    String::from_utf8_lossy(&run.get_output().stdout).lines().map(line).collect()
}

struct Score {
    rests: usize,
    missed: usize,
    spurious: usize,
    /// In divisions.
    worst: f64,
    /// Seconds from the landing of the piece, in order.
    delays: Vec<f64>,
}

impl Score {
    const TOLERANCE: f64 = 1.5;

    fn of(truth: &Truth, found: &[Found]) -> Score {
        let mut score = Score { rests: 0, missed: 0, spurious: 0, worst: 0.0, delays: Vec::new() };
        let tolerance = Score::TOLERANCE * truth.division_g;
        let empty = truth.rests[0].grams;
        for rest in &truth.rests[1..] {
            score.rests += 1;
            let wanted = rest.grams - empty;
            let (mut sum, mut first) = (0.0, None);
            for (at, grams) in found.iter().take_while(|(at, _)| *at <= rest.end + 1e-6) {
                sum += grams;
                if *at >= rest.start - 0.01 && (sum - wanted).abs() <= tolerance {
                    first = first.or(Some(at - rest.start));
                }
            }
            let error = (sum - wanted).abs();
            score.worst = score.worst.max(error / truth.division_g);
            if error > tolerance {
                score.missed += 1;
            } else {
                score.delays.extend(first);
            }
        }
        score.spurious = spurious(truth, found);
        score.delays.sort_by(f64::total_cmp);
        score
    }

    fn delay(&self, part: f64) -> f64 {
        let index = (self.delays.len() as f64 * part) as usize;
        self.delays.get(index).copied().unwrap_or(f64::NAN)
    }

    fn print(&self, tape: &str, who: &str) {
        println!(
            "{tape:14} {who:12} {:5} rests {:4} missed {:4} spurious  worst {:7.2} d  delay {:5.2} s, 95 % {:5.2} s",
            self.rests,
            self.missed,
            self.spurious,
            self.worst,
            self.delay(0.5),
            self.delay(0.95)
        );
    }
}

/// Each step accounts for the oldest open actions before it whose sum comes nearest to it: for one at least.
fn spurious(truth: &Truth, found: &[Found]) -> usize {
    let (mut next, mut count) = (0, 0);
    for (at, grams) in found {
        let before = truth.actions[next..].iter().take_while(|action| action.at < at - 1e-6);
        let sums = before.scan(0.0, |sum, action| {
            *sum += action.grams;
            Some(*sum)
        });
        match sums.enumerate().min_by(|one, two| (one.1 - grams).abs().total_cmp(&(two.1 - grams).abs())) {
            Some((index, _)) => next += index + 1,
            None => count += 1,
        }
    }
    count
}

/// Second, grams and the scale's own word of one reading.
type Seen = (f64, f64, Stability);

fn readings(name: &str, dialect: Dialect) -> Vec<Seen> {
    let text = std::fs::read_to_string(path(name, "tape")).expect("the tape is there");
    let tape = Tape::parse(&text).expect("the tape is well formed");
    let mut stream = Stream::new(dialect, Options { joined: true, ..Options::default() });
    let mut seen = Vec::new();
    for chunk in &tape.chunks {
        if let Body::Bytes(bytes) = &chunk.body {
            stream.push(bytes, &mut |reading| {
                if let Some(mass) = reading.mass(None) {
                    let grams = mass.exact_grams().parse().expect("grams are a number");
                    seen.push((chunk.at.0 as f64 / 1e9, grams, reading.stability));
                }
            });
        }
    }
    seen
}

/// The first floor: believe the scale's flag, and take what differs by more than a division.
fn by_flag(seen: &[Seen], division: f64) -> Vec<Found> {
    let mut base = None;
    let mut found = Vec::new();
    for (at, grams, stability) in seen {
        if *stability != Stability::Motion {
            let from = *base.get_or_insert(*grams);
            if (grams - from).abs() > division {
                found.push((*at, grams - from));
                base = Some(*grams);
            }
        }
    }
    found
}

/// The second floor: one second within a division.
fn by_window(seen: &[Seen], division: f64) -> Vec<Found> {
    let mut base = None;
    let mut found = Vec::new();
    for (index, (at, grams, _)) in seen.iter().enumerate() {
        let window: Vec<f64> = seen[..=index].iter().rev().take_while(|(then, ..)| at - then <= 1.0).map(|one| one.1).collect();
        let (low, high) = window.iter().fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(*one), high.max(*one)));
        let full = index > 0 && at - seen[0].0 >= 1.0 && window.len() >= 3;
        if full && high - low <= division {
            let from = *base.get_or_insert(*grams);
            if (grams - from).abs() > division {
                found.push((*at, grams - from));
                base = Some(*grams);
            }
        }
    }
    found
}

#[test]
fn nothing_is_missed_and_nothing_invented() {
    for (name, dialect) in TAPES {
        let truth = truth(name);
        let score = Score::of(&truth, &replay(name, dialect, &truth));
        println!("{name}: {} readings a second, division {} g", truth.rate_hz, truth.division_g);
        score.print(name, "bismar");
        let seen = readings(name, dialect);
        let floors =
            [by_flag(&seen, truth.division_g), by_window(&seen, truth.division_g)].map(|found| Score::of(&truth, &found));
        floors[0].print(name, "scale's flag");
        floors[1].print(name, "one second");
        assert_eq!((score.missed, score.spurious), (0, 0), "{name}");
        assert!(score.worst <= Score::TOLERANCE, "{name}: {} divisions", score.worst);
        let faults = |score: &Score| score.missed + score.spurious;
        assert!(floors.iter().all(|floor| faults(&score) <= faults(floor)), "{name}: a floor does better");
    }
}

#[test]
fn settling_allocates_only_where_an_epoch_opens() {
    use bismar::dialect::{Flags, Kind, ReadUnit, Reading};
    use bismar::measure::{Displayed, Mass, Moment, Unit};
    use bismar::settle::{Finding, Manner, Settle, Setup};
    for shaking in [0.0, 9.0] {
        let mut settle = Settle::new(Setup { division: Some(Mass::grams(1)), unit: None, manner: Manner::Heap });
        let (mut steps, mut before) = (0, 0);
        for index in 0..6000_u64 {
            let shaken = shaking * (index as f64 * 1.7).sin();
            let reading = Reading {
                value: Some(Displayed { count: (index / 70 * 40) as i64 + shaken.round() as i64, exponent: 0 }),
                unit: ReadUnit::Stated(Unit::Gram),
                kind: Kind::Gross,
                stability: Stability::Unknown,
                flags: Flags::default(),
                division: None,
                news: None,
            };
            settle.reading(Moment(index * 100_000_000), &reading, &mut |finding| {
                steps += u32::from(matches!(finding, Finding::Stepped(_)));
            });
            // The first rest and the first steps are behind.
            if index == 100 {
                before = allocations();
            }
        }
        assert_eq!(allocations(), before, "shaken by {shaking}");
        assert!(steps > 60, "{steps} steps are too few for this to mean anything");
    }
}

#[test]
fn a_scorer_that_sees_nothing_or_too_much_is_told() {
    let truth = truth("heap-1-header");
    let nothing = Score::of(&truth, &[]);
    assert_eq!(nothing.missed, nothing.rests - 1, "only the cleared platform at the end agrees with nothing");
    let early = [(truth.actions[0].at - 1.0, 5.0)];
    assert_eq!(Score::of(&truth, &early).spurious, 1);
}

#[test]
fn faults_are_told_and_fail() {
    let directory = tempfile::tempdir().expect("a temporary directory");
    let tape = directory.path().join("a.tape");
    let fails = |text: &str, more: &[&str], told: &str| {
        std::fs::write(&tape, text).expect("the tape is written");
        let run = assert_cmd::Command::cargo_bin("bismar")
            .expect("the binary is built")
            .arg("replay")
            .arg(&tape)
            .args(more)
            .assert()
            .failure();
        let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        assert!(said.contains(told), "{said}");
    };
    let named = ["--dialect", "bare-number", "--json"];
    fails("0.1\t1\\x0d\\x0a\n0.05\t1\\x0d\\x0a\n", &named, "line 2");
    fails("0.1\t  0.057\\x0d\\x0a\n0.2\t  0.057\\x0d\\x0a\n", &named, "--unit");
    fails("# division: 1 apple\n0.1\t0.057 kg\\x0d\\x0a\n", &named, "division");
    fails("0.1\t0.057 kg\\x0d\\x0a\n", &["--json"], "--dialect");
    fails("", &named, "no weight");
    fails("", &["--dialect", "bare-number", "--division", "0g"], "division");
}

#[test]
fn a_header_stands_in_for_flags() {
    let directory = tempfile::tempdir().expect("a temporary directory");
    let tape = directory.path().join("a.tape");
    let mut text = "# dialect: bare-number\n# division: 0.5oz\n# unit: oz\n".to_owned();
    for tick in 0..80 {
        let shown = if tick < 30 { "  0.0" } else { "  2.5" };
        text.push_str(&format!("{}.{}\t{shown}\\x0d\\x0a\n", tick / 10, tick % 10));
    }
    std::fs::write(&tape, text).expect("the tape is written");
    let run =
        assert_cmd::Command::cargo_bin("bismar").expect("the binary is built").arg("replay").arg(&tape).arg("--json").assert();
    let said = String::from_utf8_lossy(&run.success().get_output().stdout).into_owned();
    let step: serde_json::Value = serde_json::from_str(said.trim()).expect("one step");
    assert_eq!((step["act"].as_str(), step["grams"].as_str()), (Some("added"), Some("70.8738078125")));
}

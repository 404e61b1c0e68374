use super::*;
use crate::dialect::{Census, Parity, ReadUnit, Stream};
use crate::measure::{Displayed, Unit};
use proptest::prelude::*;

fn pattern(frame: &str) -> Pattern {
    Pattern::new(frame, Pattern::ENDS).unwrap()
}

fn read_with(frame: &str, options: Options, bytes: &[u8]) -> Vec<Reading> {
    let options = Options { census: Census::Settled(Parity::Clear), ..options };
    let (mut stream, mut found) = (Stream::by_pattern(pattern(frame), options), Vec::new());
    stream.push(bytes, &mut |reading| found.push(reading));
    stream.silence(&mut |reading| found.push(reading));
    found
}

fn one(frame: &str, line: &str) -> Option<Reading> {
    let found = read_with(frame, Options::default(), format!("{line}\r\n").as_bytes());
    assert!(found.len() < 2);
    found.into_iter().next()
}

fn value(frame: &str, line: &str) -> Option<String> {
    one(frame, line).and_then(|reading| reading.value).map(|value| value.to_string())
}

const FULL: &str = r"W(?<moving>\?)?(?<sign>[-+ ])(?<value>[ 0-9.]{8}) ?(?<unit>[a-zA-Z%]*) ?(?<kind>[GNT])?(?:(?<over>\^)|(?<under>_)|(?<zero>Z))?";

#[test]
fn the_parts_say_what_they_are_named_for() {
    let reading = one(FULL, "W?-   12.50 kg NZ").unwrap();
    let expected = Reading {
        value: Some(Displayed { count: -1250, exponent: -2 }),
        unit: ReadUnit::Stated(Unit::Kilogram),
        kind: Kind::Net,
        stability: Stability::Motion,
        flags: Flags { zero: true, ..Flags::default() },
        ..Reading::without_weight(Flags::default())
    };
    assert_eq!(reading, expected);
    let still = one(FULL, "W+00012.50lb").unwrap();
    assert_eq!((still.stability, still.kind, still.unit), (Stability::Stable, Kind::Unknown, ReadUnit::Stated(Unit::Pound)));
    assert_eq!(one("(?<value>[0-9.]+)(?<stable>S)?", "1.5").unwrap().stability, Stability::Motion);
    assert_eq!(one("(?<value>[0-9.]+)(?<stable>S)?(?<moving>M)?", "1.5").unwrap().stability, Stability::Unknown);
    assert_eq!(one("(?<value>[0-9.]+)", "1.5").unwrap().stability, Stability::Unknown);
    assert_eq!(one("(?<value>[0-9.]+)(?<tare>pre)?", "1.5pre").unwrap().kind, Kind::Tare);
}

#[test]
fn what_is_no_weight_never_becomes_one() {
    for (line, flags) in [
        ("W+00012.50kg^", vec!["overload"]),
        ("W+00012.50kg_", vec!["underload"]),
        ("W+99999.99kg", vec!["overload"]),
        ("W  999999 kg", vec!["overload"]),
    ] {
        let reading = one(FULL, line).unwrap();
        assert_eq!((reading.value, reading.flags.names()), (None, flags), "{line}");
    }
    let free = "(?<value>[^ ]+)(?: (?<unit>.*))?";
    for line in ["------", "OL", "^^^^^", "Err3"] {
        assert_eq!(one(free, line).unwrap().value, None, "{line}");
    }
    assert_eq!(one(free, "12 pcs").unwrap().value, None, "pieces are no mass");
    for line in ["12 stones", "1e5", "1_000", "12.3.4", "0x12", "1,5", ".", "--", "inf"] {
        assert_eq!(one(free, line).and_then(|reading| reading.value), None, "{line}");
    }
    let comma = Options { comma: true, ..Options::default() };
    assert_eq!(read_with(free, comma, b"1,5\n")[0].value, Some(Displayed { count: 15, exponent: -1 }));
    let places = Options { decimals: Some(2), ..Options::default() };
    assert_eq!(read_with(free, places, b"125\n")[0].value, Some(Displayed { count: 125, exponent: -2 }));
}

/// An expression that takes only a piece of the number would weigh a tenth of the load, or lose its sign.
#[test]
fn a_piece_of_a_number_is_no_number() {
    let greedy = r".*(?<value>\d+\.\d+) kg";
    assert_eq!(value(greedy, "WEIGHT 12.34 kg"), None);
    assert_eq!(value(greedy, "WEIGHT 2.34 kg").as_deref(), Some("2.34"));
    assert_eq!(value(r".*?(?<value>\d+\.\d+) kg", "WEIGHT 12.34 kg").as_deref(), Some("12.34"));
    assert_eq!(value(r"(?<value>\d+).*", "12.34"), None);
    assert_eq!(value(r"(?<value>\d+),.*", "12,34"), None);
    assert_eq!(value(r"\d\d,(?<value>[\d.]+),kg", "01,12.5,kg"), None, "a comma between digits may be a decimal one");
    assert_eq!(value(r"(?<before>\d\d,)(?<value>[\d.]+),kg", "01,12.5,kg").as_deref(), Some("12.5"));
    assert_eq!(value(r"ST,(?<value>[\d.]+),kg", "ST,12.5,kg").as_deref(), Some("12.5"));
    for line in ["-  12.5", "-12.5", "12.5-", "12.5 -"] {
        assert_eq!(value(r"[- ]*(?<value>[\d.]+)[- ]*", line), None, "{line}");
    }
    assert_eq!(value(r"(?<value>[-+ \d.]+)", "-  12.5").as_deref(), Some("-12.5"));
    assert_eq!(value(r"(?<sign>-?) *(?<value>[\d.]+)", "-  12.5").as_deref(), Some("-12.5"));
    assert_eq!(value(r"(?<value>[\d.]+)(?<sign>[-+])?", "12.5-").as_deref(), Some("-12.5"));
    assert_eq!(value(r"(?<sign>-)(?<value>[-\d.]+)", "--12.5"), None);
    assert_eq!(
        value(r"(?<before>\d\d)(?<value>[\d.]{7})(?<after>\d)", "010012.345").as_deref(),
        Some("0012.34").map(|_| "12.34")
    );
}

#[test]
fn the_whole_frame_must_fit_and_the_first_of_a_stream_is_dropped() {
    let frame = r"(?<value>[\d.]+)kg";
    assert_eq!(one(frame, "12.5kg "), None);
    assert_eq!(one("(?<value>\\d+)|x", "12y"), None, "both branches must fit the whole");
    assert_eq!(read_with(frame, Options { joined: true, ..Options::default() }, b"2.5kg\r\n12.5kg\r\n").len(), 1);
    assert_eq!(read_with(frame, Options::default(), b"12.5kg"), [], "an end is missing");
    let mut stream = Stream::by_pattern(Pattern::new(frame, b"\x03").unwrap(), Options::default());
    let mut found = 0;
    stream.push(b"12.5kg\x03\x0312.5kg\r\n\x0312.5kg\x03", &mut |_| found += 1);
    assert_eq!(found, 2);
    assert_eq!(stream.tally().refused, 1);
}

#[test]
fn faults_say_what_to_do() {
    let fault = |frame: &str| Pattern::new(frame, Pattern::ENDS).unwrap_err();
    assert_eq!(fault(""), BadPattern::Empty);
    assert_eq!(fault(" (?<value>.)"), BadPattern::EdgeBlank);
    assert_eq!(fault("\t"), BadPattern::Control);
    assert_eq!(fault("kg"), BadPattern::NoValue);
    assert_eq!(fault("(?<value>.)(?<weight>.)"), BadPattern::Part("weight".into()));
    assert_eq!(fault("(?<value>."), BadPattern::Regex("unclosed group".into()));
    assert!(matches!(fault("(?<value>.))|(.*"), BadPattern::Regex(_)), "brackets that close the ones put around");
    assert!(matches!(fault("(?<value>.)(?<value>.)"), BadPattern::Regex(_)));
    assert!(matches!(fault(r"(?<value>(?:.{100}){100}{100})"), BadPattern::Regex(_)));
    assert_eq!(fault(&format!("(?<value>.){}", "x".repeat(600))), BadPattern::TooLong);
    assert_eq!(Pattern::new("(?<value>.)", b"").unwrap_err(), BadPattern::Ends);
    assert!(fault("(?<weight>.)").to_string().contains("value, sign"));
}

proptest! {
    /// What a scale shows in this form is read as shown, exactly, however the stream is cut.
    #[test]
    fn what_is_shown_is_read(shown in proptest::collection::vec((-99_998_i64..=99_998, 0_i8..4), 1..8), size in 1_usize..9) {
        let mut bytes = Vec::new();
        for &(count, places) in &shown {
            let value = Displayed { count, exponent: -places };
            let sign = if count < 0 { '-' } else { '+' };
            let digits = Displayed { count: count.abs(), exponent: -places }.to_string();
            bytes.extend(format!("W{sign}{digits:>8} kg G\r\n").bytes());
            prop_assert!(digits.len() <= 8, "{}", value);
        }
        let mut stream = Stream::by_pattern(pattern(FULL), Options { census: Census::Settled(Parity::Clear), ..Options::default() });
        let mut found = Vec::new();
        bytes.chunks(size).for_each(|chunk| stream.push(chunk, &mut |reading| found.push(reading)));
        let nines = |count: i64| count.unsigned_abs() % 100_000 == 99_999;
        let expected: Vec<_> = shown.iter().map(|&(count, places)| (!nines(count)).then_some(Displayed { count, exponent: -places })).collect();
        prop_assert_eq!(found.iter().map(|reading| reading.value).collect::<Vec<_>>(), expected);
    }

    /// A frame that was cut at its front or its end gives nothing, or nothing but the same weight.
    #[test]
    fn a_cut_frame_gives_no_other_weight(count in 0_i64..99_998, from in 0_usize..17, to in 0_usize..17) {
        let whole = format!("W+{:>8} kg G", Displayed { count, exponent: -2 }.to_string());
        let cut = whole.get(from..whole.len() - to.min(whole.len() - from.min(whole.len()))).unwrap_or("");
        if let Some(found) = value(FULL, cut) {
            prop_assert_eq!(Some(found), value(FULL, &whole));
        }
    }

    /// Even an expression that takes anything as its value never gives a weight that is not in the frame as a whole number.
    #[test]
    fn a_loose_expression_invents_nothing(line in "[-+ 0-9.,a-z]{1,20}") {
        for loose in [r".*(?<value>\d+).*", r".*?(?<value>[-\d.]+).*", r"(?<value>.*?)[a-z ]*", r"[^\d]*(?<value>\d[\d.]*)[^\d]*"] {
            let Some(found) = value(loose, &line) else { continue };
            let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
            let runs = line.split(|letter: char| !letter.is_ascii_digit() && letter != '.');
            let known: Vec<String> = runs.map(|run| digits(run).trim_start_matches('0').to_owned()).collect();
            let shown = digits(&found).trim_start_matches('0').to_owned();
            prop_assert!(known.contains(&shown), "{} in {} by {}", found, line, loose);
            // With one number in the line its sign can be told without doubt.
            let minus = line.split(|letter: char| letter.is_ascii_digit()).next().unwrap().trim_end().ends_with('-');
            let numbers = line.split(|letter: char| !letter.is_ascii_digit() && letter != '.').filter(|run| !digits(run).is_empty());
            if numbers.count() == 1 && !shown.is_empty() && minus {
                prop_assert!(found.starts_with('-'), "{} lost its sign in {} by {}", found, line, loose);
            }
        }
    }

    #[test]
    fn any_expression_and_any_bytes_do_no_harm(frame in r"(\(\?<value>[-0-9. ]\{0,9\}\))?[\\\(\)\[\]a-z?*+.{}0-9<>|]{0,20}", soup in proptest::collection::vec(any::<u8>(), 0..400)) {
        if let Ok(pattern) = Pattern::new(&frame, Pattern::ENDS) {
            let mut stream = Stream::by_pattern(pattern, Options::default());
            let mut given = 0;
            stream.push(&soup, &mut |_| given += 1);
            stream.silence(&mut |_| given += 1);
            prop_assert_eq!(stream.tally().frames, given);
        }
    }
}

/// The minus stands before another number than the one that was taken.
#[test]
fn a_sign_belongs_to_its_own_number() {
    assert_eq!(value(r".*(?<value>\d+).*", "-0a1").as_deref(), Some("1"));
}

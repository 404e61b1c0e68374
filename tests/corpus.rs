//! Every row of the labelled corpus, fed whole and in pieces.

#[path = "support/counting.rs"]
mod counting;
#[path = "support/rows.rs"]
mod rows;

use bismar::dialect::{Census, Dialect, Doubt, Options, Parity, Pattern, ReadUnit, Reading, Stream, encode, recognise};
use bismar::measure::Displayed;
use counting::allocations;
use proptest::prelude::*;
use rows::{Row, check, rows, whole};

#[test]
fn every_family_has_rows_of_its_own() {
    let rows = rows();
    for dialect in Dialect::ALL {
        assert!(rows.iter().any(|row| row.dialects == [*dialect]), "{}", dialect.name());
    }
}

#[test]
fn every_row_fed_whole() {
    let rows = rows();
    assert!(rows.len() >= 200);
    for row in &rows {
        check(row, whole(row), || Box::new(std::iter::once(&row.bytes[..])));
    }
}

#[test]
fn every_row_fed_byte_by_byte() {
    for row in &rows() {
        check(row, whole(row), || Box::new(row.bytes.chunks(1)));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn every_row_fed_in_any_pieces(sizes in proptest::collection::vec(1_usize..9, 1..20)) {
        for row in &rows() {
            let bytes = &row.bytes;
            check(row, whole(row), || {
                let mut at = 0;
                let sizes = sizes.clone().into_iter().cycle();
                Box::new(sizes.map_while(move |size| {
                    let start = at;
                    at = (at + size).min(bytes.len());
                    (start < at).then(|| &bytes[start..at])
                }))
            });
        }
    }

    /// On a port the parity is not known beforehand. A row sent again and again must come out each time, whole.
    #[test]
    fn every_good_row_repeated_on_a_port(again in 4_usize..8) {
        for row in rows().iter().filter(|row| row.expected.len() == 1 && !row.or_nothing && is_countable(&row.bytes)) {
            let bytes = row.bytes.repeat(again);
            let repeated = Row { expected: vec![row.expected[0].clone(); again], dialects: row.dialects.clone(), bytes, line: row.line.clone(), ..*row };
            check(&repeated, Options::default(), || Box::new(repeated.bytes.chunks(5)));
        }
    }
}

/// Whether a port can find out the parity: a scale that repeats one frame of few different bytes tells too little.
fn is_countable(bytes: &[u8]) -> bool {
    let different: std::collections::BTreeSet<u8> = bytes.iter().copied().collect();
    bytes.is_ascii() || different.len() > 8
}

#[test]
fn no_row_that_must_stay_undecided_is_recognised() {
    for row in rows().iter().filter(|row| row.undecided) {
        for times in [1, 20] {
            let found = recognise(&row.bytes.repeat(times), &whole(row));
            assert!(found.is_err(), "line {}: {found:?}", row.line);
        }
    }
}

#[test]
fn a_family_is_recognised_by_enough_frames_that_agree() {
    let options = Options { census: Census::Settled(Parity::Clear), ..Options::default() };
    let line = b"ST,GS,+0012.34kg\r\n";
    assert_eq!(recognise(&line.repeat(5), &options), Ok(Dialect::HeaderComma));
    let few = Doubt::TooFew { dialect: Dialect::HeaderComma, run: 4, needed: 5 };
    assert_eq!(recognise(&line.repeat(4), &options), Err(few));

    let checked = b"\x02,0 001234000000\r+";
    assert_eq!(recognise(&checked.repeat(3), &options), Ok(Dialect::StxStatusWords));
    assert_eq!(recognise(&b"S S     100.00 g\r\n".repeat(5), &options), Ok(Dialect::LetterReply));
    assert_eq!(recognise(&b"\n12.340KG\r\nS00\r\x03".repeat(5), &options), Ok(Dialect::LfStatusChars));

    let number = b"   12.34\r\n".repeat(50);
    assert_eq!(recognise(&number, &options), Err(Doubt::MustBeNamed));
    let mut both = line.repeat(5);
    both.extend(b"S S     100.00 g\r\n".repeat(5));
    assert_eq!(recognise(&both, &options), Err(Doubt::TwoFit(Dialect::HeaderComma, Dialect::LetterReply)));
    let mixed = [&line.repeat(4)[..], b"ST,GS,+012.340kg\r\n", &line.repeat(4)[..]].concat();
    assert!(recognise(&mixed, &options).is_err());
    let broken = [&line.repeat(4)[..], b"ST,GS,+0012.34xx\r\n", &line.repeat(4)[..]].concat();
    assert!(recognise(&broken, &options).is_err());
}

/// Whatever comes in, nothing is allocated: so no buffer can grow.
#[test]
fn decoding_allocates_nothing() {
    let mut soup: Vec<u8> = rows().iter().flat_map(|row| row.bytes.clone()).collect();
    soup.extend((0..100_000_u32).map(|index| (index.wrapping_mul(2_654_435_761) >> 13) as u8));
    soup.extend(std::iter::repeat_n(b'7', 10_000));
    for dialect in Dialect::ALL.iter().copied() {
        let says = dialect.facts().says;
        let value = Displayed { count: 1234, exponent: -says.decimals.1.min(2) };
        let reading = Reading {
            value: Some(value),
            unit: says.units.first().map_or(ReadUnit::Unstated, |unit| ReadUnit::Stated(*unit)),
            kind: says.kinds[0],
            stability: says.stability[0],
            division: says.division.then_some(Displayed { count: 1, ..value }),
            ..Reading::without_weight(Default::default())
        };
        let mut frames = Vec::new();
        for _ in 0..100 {
            encode(dialect, &reading, &Options::default(), &mut frames).unwrap();
        }
        for options in [Options::default(), Options { census: Census::Settled(Parity::Clear), ..Options::default() }] {
            let mut stream = Stream::new(dialect, options);
            let mut count = 0;
            let before = allocations();
            stream.push(&frames, &mut |_| count += 1);
            stream.push(&soup, &mut |_| count += 1);
            stream.silence(&mut |_| count += 1);
            assert_eq!(allocations(), before, "{dialect:?}");
            assert!(count >= 99, "{dialect:?}: {count}");
        }
    }
}

fn command(arguments: &[&str], input: &[u8]) -> (Option<i32>, String, String) {
    let output =
        assert_cmd::Command::cargo_bin("bismar").unwrap().arg("decode").args(arguments).write_stdin(input).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_command_prints_a_line_for_each_reading() {
    let line = b"US,NT,-0012.340kg\r\nOL,GS,-       \r\nST,GS,+0012.34xx\r\n";
    let expected = concat!(
        r#"{"value":"-12.340","unit":"kg","kind":"net","stability":"motion","flags":[]}"#,
        "\n",
        r#"{"value":null,"unit":"-","kind":"gross","stability":"unknown","flags":["underload"]}"#,
        "\n",
    );
    assert_eq!(command(&["--dialect", "header-comma"], line), (Some(0), expected.to_owned(), String::new()));
    let joined = command(&["--dialect", "header-comma", "--joined"], line).1;
    assert_eq!(joined, expected.lines().nth(1).unwrap().to_owned() + "\n");

    let unit = |arguments: &[&str]| {
        let all = [&["--dialect", "bare-number", "--hex", "30 30 31 2c 32 35 0D 0a"], arguments].concat();
        command(&all, b"").1
    };
    assert_eq!(unit(&[]), "");
    assert!(unit(&["--comma"]).starts_with(r#"{"value":"1.25","unit":"unstated","#));
    assert!(unit(&["--comma", "--unit", "lb"]).starts_with(r#"{"value":"1.25","unit":"lb","#));
    assert!(command(&["--dialect", "bare-number", "--decimals", "2"], b"125\r").1.starts_with(r#"{"value":"1.25","#));
}

#[test]
fn the_command_tells_an_event_apart_from_a_reading() {
    let (code, readings, told) = command(&["--dialect", "letter-reply"], b"Z A\r\nS S     100.00 g\r\n");
    assert_eq!((code, readings.lines().count()), (Some(0), 1));
    assert!(told.contains("zeroed"), "{told}");
}

#[test]
fn the_command_fails_as_agreed() {
    let (code, readings, why) = command(&["--dialect", "auto"], b"ST,GS,+0012.34kg\r\n");
    assert_eq!((code, readings.as_str()), (Some(1), ""));
    assert!(why.contains("header-comma") && why.contains("--dialect"), "{why}");
    assert_eq!(command(&["--dialect", "auto"], &b"ST,GS,+0012.34kg\r\n".repeat(5)).0, Some(0));
    for wrong in [&["--dialect", "morse"][..], &[], &["--dialect", "auto", "--hex", "0"], &["--dialect", "auto", "--hex", "zz"]] {
        assert_eq!(command(wrong, b"").0, Some(2), "{wrong:?}");
    }
}

/// The library fills its tables with the first frames; from then on nothing grows.
#[test]
fn a_pattern_of_ones_own_allocates_nothing_once_it_is_warm() {
    let frame =
        r"W(?<moving>\?)?(?<sign>[-+ ])(?<value>[ 0-9.]{8}) ?(?<unit>[a-zA-Z%]*) ?(?<kind>[GNT])?(?:(?<over>\^)|(?<zero>Z))?";
    let pattern = Pattern::new(frame, Pattern::ENDS).unwrap();
    let options = Options { census: Census::Settled(Parity::Clear), ..Options::default() };
    let mut stream = Stream::by_pattern(pattern, options);
    let lines = b"W?-   12.50 kg NZ\r\nW+00012.50lb\r\nW  999999 kg\r\nhello\r\nW+   12.50 kg G^\r\n".repeat(20);
    let mut count = 0;
    stream.push(&lines, &mut |_| count += 1);
    let before = allocations();
    stream.push(&lines.repeat(50), &mut |_| count += 1);
    assert_eq!(allocations() - before, 1, "the one allocation is that of the test's own bytes");
    assert_eq!(count, 20 * 51 * 4);
}

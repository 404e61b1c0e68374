//! The labelled corpus of frames, and what must come out for each row.
//!
//! `fixtures/frames/` has one file a family, with the columns format, hex, value, unit, kind, stability, flags, origin, note. The value is
//! an exact number, `none` (well-formed, but no usable weight), `reject` (nothing may come out), or `resync` and
//! `multi`: exactly the readings that the note lists behind `recover=`, each `value|unit|kind|stability|flags`. Rows
//! of the format `any` hold for every decoder. The origin is the address of the published example or layout.
//!
//! A row of the format `ambiguous` fits two families, and nothing in the frame tells which: its note names each and what
//! it reads, as `NAME gives VALUE, NAME gives VALUE -- …`. Each must read that when it is named, and no number of such
//! frames may decide between them. The unit `ambiguous` is a letter that two makers use differently. The origin `own` marks odd but legal forms, and near misses, put together by ourselves.

use bismar::dialect::{Census, Dialect, Options, Parity, ReadUnit, Reading, Stream};

pub struct Row {
    pub line: String,
    pub dialects: Vec<Dialect>,
    pub bytes: Vec<u8>,
    pub expected: Vec<String>,
    /// A row whose one reading tells nothing may also give none.
    pub or_nothing: bool,
    /// No number of such frames may decide on a family.
    #[allow(dead_code, reason = "several test programs share this file, and only one of them asks")]
    pub undecided: bool,
}

pub fn rows() -> Vec<Row> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/frames");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let mut rows = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let name = file.file_stem().unwrap().to_str().unwrap();
        rows.extend(text.lines().enumerate().skip(1).flat_map(|(index, line)| row(format!("{name}:{}", index + 1), line)));
    }
    rows
}

fn row(line: String, text: &str) -> Vec<Row> {
    let columns: Vec<&str> = text.split('\t').collect();
    let &[format, hex, value, unit, kind, stability, flags, _, note] = &columns[..] else { panic!("line {line}: columns") };
    let named = |name: &str| Dialect::from_name(name).unwrap_or_else(|| panic!("line {line}: {name}"));
    let digits = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap();
    let bytes: Vec<u8> = hex.as_bytes().chunks(2).map(digits).collect();
    if format == "ambiguous" {
        let of = |dialects, expected, undecided| Row {
            line: line.clone(),
            dialects,
            bytes: bytes.clone(),
            expected,
            or_nothing: false,
            undecided,
        };
        let parts = note.split(" -- ").next().unwrap().split([',', ';']);
        let each = parts
            .filter_map(|part| part.trim().split_once(" gives "))
            .map(|(name, value)| of(vec![named(name)], vec![format!("{value}|{unit}|{kind}|{stability}|{flags}")], false));
        return std::iter::once(of(vec![], vec![], true)).chain(each).collect();
    }
    let dialects = if format == "any" { Dialect::ALL.to_vec() } else { vec![named(format)] };
    let one = format!("{value}|{unit}|{kind}|{stability}|{flags}");
    let or_nothing = one == "none|-|unknown|unknown|";
    let expected = match value {
        "reject" => vec![],
        "resync" | "multi" => {
            let list = note.split(" -- ").next().unwrap().strip_prefix("recover=").unwrap();
            list.split(';').filter(|reading| !reading.is_empty()).map(str::to_owned).collect()
        }
        _ => vec![one],
    };
    vec![Row { line, dialects, bytes, expected, or_nothing, undecided: format == "any" }]
}

fn tell(reading: &Reading) -> String {
    let word = |value: serde_json::Value| value.as_str().unwrap().to_owned();
    let unit = match reading.unit {
        ReadUnit::Stated(unit) => unit.symbol(),
        ReadUnit::PoundOunce => "lb:oz",
        ReadUnit::Unstated => "unstated",
        ReadUnit::Ambiguous => "ambiguous",
        ReadUnit::Absent => "-",
    };
    let value = reading.value.map_or("none".to_owned(), |value| value.to_string());
    let kind = word(serde_json::to_value(reading.kind).unwrap());
    let stability = word(serde_json::to_value(reading.stability).unwrap());
    format!("{value}|{unit}|{kind}|{stability}|{}", reading.flags.names().join(","))
}

/// Holds a row against what comes out of a stream that is fed in these chunks.
pub fn check<'a>(row: &Row, options: Options, chunks: impl Fn() -> Box<dyn Iterator<Item = &'a [u8]> + 'a>) {
    for &dialect in &row.dialects {
        let mut found = Vec::new();
        let mut stream = Stream::new(dialect, options);
        for chunk in chunks() {
            stream.push(chunk, &mut |reading| found.push(reading));
        }
        stream.silence(&mut |reading| found.push(reading));
        // An event at the scale without a weight is no reading.
        let is_reading = |reading: &&Reading| reading.news.is_none() || reading.value.is_some();
        let told: Vec<String> = found.iter().filter(is_reading).map(tell).collect();
        let nothing = row.or_nothing && told.is_empty();
        assert!(
            nothing || told == row.expected,
            "line {} ({}), {dialect:?}: {told:?} for {:?}",
            row.line,
            row.bytes.escape_ascii(),
            row.expected
        );
    }
}

/// As `decode` takes a row: its bytes are the whole window of the parity census.
pub fn whole(row: &Row) -> Options {
    Options { census: Census::Settled(Parity::of(&row.bytes)), ..Options::default() }
}

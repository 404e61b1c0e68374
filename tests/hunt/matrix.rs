//! Every family against every other, on the bytes alone.

use crate::counting::allocations;
use crate::rows::rows;
use crate::speaker::{frames, weighing};
use bismar::dialect::hunt::{Char, Judgement, Scorer};
use bismar::dialect::{Dialect, Options, ReadUnit, Stream};
use bismar::measure::Displayed;
use proptest::prelude::*;

fn scorer(bytes: &[u8]) -> Scorer {
    let mut scorer = Scorer::new(Options { joined: true, ..Options::default() });
    bytes.iter().for_each(|&byte| scorer.push(Char::sound(byte)));
    scorer
}

fn concluded(bytes: &[u8]) -> Judgement {
    let mut scorer = scorer(bytes);
    scorer.silence();
    scorer.conclude()
}

/// Whether a person would be led to `dialect`: by itself, by a family that reads the same weights out of the same
/// bytes, or by a choice in which it stands.
fn leads_to(verdict: &Judgement, dialect: Dialect, stream: &[u8]) -> bool {
    match verdict {
        Judgement::Locked(found) => *found == dialect || weights(*found, stream) == weights(dialect, stream),
        Judgement::Ambiguous(all) | Judgement::Confirm(all) => all.contains(&dialect),
        Judgement::Silent | Judgement::Open => false,
    }
}

fn weights(dialect: Dialect, bytes: &[u8]) -> Vec<(Option<Displayed>, ReadUnit)> {
    let mut stream = Stream::new(dialect, Options { joined: true, ..Options::default() });
    let mut weights = Vec::new();
    stream.push(bytes, &mut |reading| weights.push((reading.value, reading.unit)));
    stream.silence(&mut |reading| weights.push((reading.value, reading.unit)));
    weights
}

#[test]
fn every_stream_leads_to_its_family() {
    let mut missed = Vec::new();
    for &dialect in Dialect::ALL {
        let stream = weighing(dialect).concat();
        for noise in [&b""[..], b"\x00\xff\x00", b"12.", b"kg\r\n", b"\x7e\x11Z"] {
            let verdict = concluded(&[noise, &stream].concat());
            if !leads_to(&verdict, dialect, &stream) {
                missed.push((dialect.name(), noise.escape_ascii().to_string(), verdict));
            }
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}

/// What is proved on the way is what is proved in the end: no lock that later bytes would have forbidden.
#[test]
fn a_lock_on_the_way_is_the_right_one() {
    let mut wrong = Vec::new();
    for &dialect in Dialect::ALL {
        let mut scorer = scorer(b"");
        let stream = weighing(dialect).concat();
        let found = stream.iter().find_map(|&byte| {
            scorer.push(Char::sound(byte));
            Some(scorer.judge()).filter(|verdict| !matches!(verdict, Judgement::Silent | Judgement::Open))
        });
        if let Some(verdict) = found
            && !leads_to(&verdict, dialect, &stream)
        {
            wrong.push((dialect.name(), verdict));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_family_that_proves_nothing_is_never_locked() {
    for &dialect in Dialect::ALL.iter().filter(|dialect| dialect.facts().lock_after.is_none()) {
        let stream = frames(dialect, (0..60).map(|index| 1000 + index * 7)).concat();
        let verdict = concluded(&stream);
        // A stronger family may lie in the same bytes, if it reads the same.
        let other = matches!(verdict, Judgement::Locked(found) if found != dialect) && leads_to(&verdict, dialect, &stream);
        assert!(other || !matches!(verdict, Judgement::Locked(_)), "{}: {verdict:?}", dialect.name());
    }
}

#[test]
fn no_row_for_any_is_locked() {
    for row in rows().iter().filter(|row| row.dialects.len() > 1) {
        for times in [1, 20] {
            let verdict = concluded(&row.bytes.repeat(times));
            assert!(!matches!(verdict, Judgement::Locked(_) | Judgement::Ambiguous(_)), "{}: {verdict:?}", row.line);
        }
    }
}

#[test]
fn a_candidate_gives_its_reasons() {
    let scorer = scorer(b"xx\r\nST,GS,+0012.34kg\r\nST,GS,+0012.36kg\r\nST,GS,+0012.38kg\r\n");
    let candidates = scorer.candidates();
    let first = &candidates[0];
    assert_eq!((first.dialect, first.frames, first.decimals), (Dialect::HeaderComma, 3, Some(2)));
    assert_eq!(first.last.unwrap().value.unwrap().to_string(), "12.38");
    assert!(first.reasons.contains(&bismar::dialect::hunt::Reason::Needs(2)), "{:?}", first.reasons);
    assert_eq!(scorer.judge(), Judgement::Open);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn noise_locks_nothing(soup in proptest::collection::vec(any::<u8>(), 0..2000)) {
        let verdict = concluded(&soup);
        prop_assert!(!matches!(verdict, Judgement::Locked(_) | Judgement::Ambiguous(_)), "{:?}", verdict);
    }

    #[test]
    fn text_without_frames_locks_nothing(soup in "[ -~\r\n]{0,1500}") {
        let verdict = concluded(soup.as_bytes());
        prop_assert!(!matches!(verdict, Judgement::Locked(_) | Judgement::Ambiguous(_)), "{:?}", verdict);
    }
}

/// Nothing is allocated for a byte, so no buffer can grow, however long the line talks.
#[test]
fn scoring_allocates_nothing() {
    let mut soup: Vec<u8> = Dialect::ALL.iter().flat_map(|&dialect| weighing(dialect).concat()).collect();
    soup.extend((0..20_000_u32).map(|index| (index.wrapping_mul(2_654_435_761) >> 13) as u8));
    let mut scorer = scorer(b"");
    let before = allocations();
    soup.iter().for_each(|&byte| scorer.push(Char::sound(byte)));
    scorer.silence();
    assert_eq!(allocations(), before);
}

//! Blocks between two marks: what the bytes since a start mark are.

use super::block_framer::Fit;
use std::ops::RangeInclusive;

pub(super) const STX: u8 = 0x02;
pub(super) const ETX: u8 = 0x03;

/// A frame that begins with `start`, which stands nowhere else in it, and has its only `end` at one of these lengths.
///
/// It looks at the first and the last byte alone: the framer asks at every byte, and the decoder checks what lies between.
pub(super) fn marked(seen: &[u8], start: u8, lengths: RangeInclusive<usize>, end: impl Fn(u8) -> bool) -> Fit {
    let (Some(&first), Some(&last)) = (seen.first(), seen.last()) else { return Fit::Open };
    if first != start {
        return Fit::Never;
    }
    match seen.len() {
        1 => Fit::Open,
        length if end(last) => {
            if lengths.contains(&length) {
                Fit::Whole(length)
            } else {
                Fit::Never
            }
        }
        length if last == start || length >= *lengths.end() => Fit::Never,
        _ => Fit::Open,
    }
}

pub(super) const fn ends_line(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

/// The bytes that may stand in one place, a bit for each.
pub(super) type Place = u128;

/// Everything that can be read, blanks too.
pub(super) const TEXT: Place = ((1 << 0x7f) - 1) & !((1 << 0x20) - 1);

pub(super) const fn any_of(bytes: &[u8]) -> Place {
    let (mut place, mut index) = (0, 0);
    while index < bytes.len() {
        place |= 1 << bytes[index].to_ascii_uppercase() | 1 << bytes[index].to_ascii_lowercase();
        index += 1;
    }
    place
}

/// STX, readable text with `special` places in it, ETX.
pub(super) const fn framed<const N: usize>(special: &[(usize, Place)]) -> [Place; N] {
    let mut places = [TEXT; N];
    (places[0], places[N - 1]) = (1 << STX, 1 << ETX);
    let mut index = 0;
    while index < special.len() {
        places[special[index].0] = special[index].1;
        index += 1;
    }
    places
}

/// A frame that has `places` and nothing else.
///
/// It looks at the first and the last byte alone: the framer asks at every byte, and STX stands nowhere else in a frame.
pub(super) fn placed(bytes: &[u8], places: &[Place]) -> Fit {
    let stands = |index: usize| {
        let (Some(&byte), Some(place)) = (bytes.get(index), places.get(index)) else { return false };
        byte < 0x80 && place >> byte & 1 == 1
    };
    if !stands(0) || !stands(bytes.len() - 1) {
        return Fit::Never;
    }
    if bytes.len() < places.len() { Fit::Open } else { Fit::Whole(places.len()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_is_found_by_its_marks_and_its_length() {
        let fit = |seen: &[u8]| marked(seen, b'$', 4..=5, ends_line);
        assert_eq!(fit(b"$"), Fit::Open);
        assert_eq!(fit(b"$12"), Fit::Open);
        assert_eq!(fit(b"$12\r"), Fit::Whole(4));
        assert_eq!(fit(b"$123\n"), Fit::Whole(5));
        for never in [&b"1"[..], b"$1\r", b"$1$", b"$1234", b"\r"] {
            assert_eq!(fit(never), Fit::Never, "{never:?}");
        }
    }

    const GROSS_OR_NET: Place = any_of(b"GN");

    #[test]
    fn a_frame_is_known_by_its_places() {
        const PLACES: [Place; 5] = framed(&[(3, GROSS_OR_NET)]);
        assert_eq!(placed(b"\x02 1", &PLACES), Fit::Open);
        assert_eq!(placed(b"\x02 1g\x03", &PLACES), Fit::Whole(5));
        for wrong in [&b"\x02 1X"[..], b"\x03", b"\x02\x7f", b"\x02 \xb1", b"\x02 1G "] {
            assert_eq!(placed(wrong, &PLACES), Fit::Never, "{wrong:?}");
        }
    }
}

//! Two-letter headers before a comma.

/// The last header of `line` that is one of `known`, in upper case, and what follows its comma.
///
/// The last one, so that garbage or a cut line before it does no harm. Inside a word it is none, unless an earlier field
/// shows that a line was cut in its unit, or a request that an adapter echoes stands alone before it.
pub(super) fn last_header<'a>(line: &'a [u8], known: &[[u8; 2]], requests: &[u8]) -> Option<([u8; 2], &'a [u8])> {
    let mut end = line.len();
    while let Some(comma) = line[..end].iter().rposition(|&byte| byte == b',') {
        end = comma;
        let [before @ .., first, second] = line[..comma].trim_ascii_end() else { continue };
        let code = [first.to_ascii_uppercase(), second.to_ascii_uppercase()];
        let alone = match before {
            [.., letter] if letter.is_ascii_alphabetic() => {
                before.contains(&b',') || (before.len() == 1 && requests.contains(letter))
            }
            _ => true,
        };
        if alone && known.contains(&code) {
            return Some((code, &line[comma + 1..]));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::last_header;

    #[test]
    fn the_last_header_counts() {
        let find = |line: &'static str| last_header(line.as_bytes(), &[*b"ST", *b"US"], b"Q");
        assert_eq!(find("ST,+1 g"), Some((*b"ST", &b"+1 g"[..])));
        assert_eq!(find("\x06 st,+0ST,+0001 kUS,+2,5"), Some((*b"US", &b"+2,5"[..])));
        assert_eq!(find("QST,1"), Some((*b"ST", &b"1"[..])));
        for none in ["TEST,1", "ST", ",1", "T,1", "", "XX,1"] {
            assert_eq!(find(none), None, "{none}");
        }
    }
}

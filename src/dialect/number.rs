//! Numbers and fillers in a weight column.

use super::{Flags, Options, Unsayable};
use crate::measure::Displayed;

/// The widest weight column met; a longer run of digits is not a weight.
const COLUMNS_MAX: usize = 10;

/// Reads a signed number from the start of `text` and gives what follows it.
///
/// Blanks may stand before and after the sign. The sign may also follow the number (`12.34-`), then none may lead
/// it. A comma counts as the decimal mark only where `options` say so.
pub(super) fn number<'a>(text: &'a [u8], options: &Options) -> Option<(Displayed, &'a [u8])> {
    let text = text.trim_ascii_start();
    let (sign, text) = sign(text);
    let text = text.trim_ascii_start();

    let (mut count, mut length, mut digits, mut point) = (0_i64, 0, 0, None);
    for (index, &byte) in text.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {
                count = count * 10 + i64::from(byte - b'0');
                digits += 1;
            }
            b'.' | b',' if byte == b'.' || (options.comma && text.get(index + 1).is_some_and(u8::is_ascii_digit)) => {
                if point.replace(digits).is_some() {
                    return None;
                }
            }
            _ => break,
        }
        length = index + 1;
        if length > COLUMNS_MAX {
            return None;
        }
    }
    if digits == 0 {
        return None;
    }
    let decimals = match (point, options.decimals) {
        (Some(before), _) => digits - before,
        (None, Some(decimals)) => i8::try_from(decimals).ok()?,
        (None, None) => 0,
    };
    let value = Displayed { count, exponent: -decimals };

    let mut rest = &text[length..];
    let mut negative = sign == Some(b'-');
    if sign.is_none()
        && let (Some(trailing), after) = self::sign(rest.trim_ascii_start())
    {
        negative = trailing == b'-';
        rest = after;
    }
    Some((if negative { value.negated() } else { value }, rest))
}

fn sign(text: &[u8]) -> (Option<u8>, &[u8]) {
    match text {
        [sign @ (b'+' | b'-'), rest @ ..] => (Some(*sign), rest),
        _ => (None, text),
    }
}

/// Pounds and ounces as a total in ounces, with the decimals of the ounces. `pounds` carries the sign of its text,
/// which `negative` repeats because a zero has none. Sixteen ounces or a fraction of a pound are refused.
pub(super) fn pounds_and_ounces(pounds: Displayed, ounces: Displayed, negative: bool) -> Option<Displayed> {
    if pounds.exponent != 0 || ounces.count < 0 {
        return None;
    }
    let pound = 10_i64.checked_pow(u32::from(ounces.exponent.unsigned_abs()))?.checked_mul(16)?;
    if ounces.count >= pound {
        return None;
    }
    let size = pounds.count.abs().checked_mul(pound)?.checked_add(ounces.count)?;
    Some(Displayed { count: if negative { -size } else { size }, exponent: ounces.exponent })
}

/// What a weight column that holds no number says: a run of one filler sign, or a word.
pub(super) fn filler(field: &[u8]) -> Option<Flags> {
    const OVER: Flags = Flags { overload: true, underload: false, zero: false, error: false };
    const UNDER: Flags = Flags { overload: false, underload: true, zero: false, error: false };
    const ERROR: Flags = Flags { overload: false, underload: false, zero: false, error: true };

    let field = field.trim_ascii();
    let run = field.strip_prefix(b"+").unwrap_or(field);
    let run_of = |sign: u8| run.len() >= 2 && run.iter().all(|&byte| byte == sign);
    let dashes = field.iter().filter(|&&byte| byte == b'-').count();
    if dashes >= 2 && field.iter().all(|byte| matches!(byte, b'-' | b'.')) {
        return Some(ERROR);
    }
    if run_of(b'^') || run_of(b'~') || (run.len() >= 4 && run_of(b'F')) {
        return Some(OVER);
    }
    if run_of(b'_') {
        return Some(UNDER);
    }

    let minus = field.first() == Some(&b'-') && field.get(1) != Some(&b'-');
    let is_frill = |byte: &u8| matches!(byte, b'-' | b' ' | b'.');
    let start = run.iter().position(|byte| !is_frill(byte))?;
    let end = run.iter().rposition(|byte| !is_frill(byte))? + 1;
    let core = &run[start..end];
    let is = |word: &str| core.eq_ignore_ascii_case(word.as_bytes());
    if is("ol") || is("over") || is("ovl") || is("overload") {
        return Some(if minus { UNDER } else { OVER });
    }
    if is("ul") || is("under") || is("underload") {
        return Some(UNDER);
    }
    let error_word = core.len() >= 3 && core[..3].eq_ignore_ascii_case(b"err");
    let error_letters = core.len() >= 2 && core.iter().all(|byte| byte.eq_ignore_ascii_case(&b'e'));
    (error_word || error_letters).then_some(ERROR)
}

/// Appends the digits of `value` without its sign, padded to `width` with `padding` on the left.
///
/// A fixed number of decimals in `options` that fits the value means that no point is sent.
pub(super) fn write_digits(
    value: Displayed,
    width: usize,
    padding: u8,
    options: &Options,
    out: &mut Vec<u8>,
) -> Result<(), Unsayable> {
    if value.exponent > 0 {
        return Err(Unsayable::Point);
    }
    let size = Displayed { count: value.count.checked_abs().ok_or(Unsayable::TooWide)?, exponent: value.exponent };
    let text = match options.decimals {
        Some(decimals) if i16::from(value.exponent) == -i16::from(decimals) => size.count.to_string(),
        Some(_) if value.exponent == 0 => return Err(Unsayable::Point),
        _ => size.to_string(),
    };
    if text.len() > COLUMNS_MAX {
        return Err(Unsayable::TooWide);
    }
    out.resize(out.len() + width.saturating_sub(text.len()), padding);
    out.extend(text.bytes().map(|byte| if byte == b'.' && options.comma { b',' } else { byte }));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sign_may_stand_in_many_places() {
        for text in ["-   12.34kg", "   -12.34kg", "-00012.34kg", "12.34-kg", "  12.34 -kg"] {
            let (value, rest) = number(text.as_bytes(), &Options::default()).unwrap();
            assert_eq!((value.to_string().as_str(), rest), ("-12.34", &b"kg"[..]), "{text}");
        }
        assert_eq!(number(b"- 0.00", &Options::default()).unwrap().0.to_string(), "0.00");
        assert_eq!(number(b"+12.34-", &Options::default()).unwrap().1, b"-");
    }

    #[test]
    fn a_comma_is_a_decimal_mark_only_on_request() {
        let configured = Options { comma: true, ..Options::default() };
        assert_eq!(number(b"0012,34,kg", &configured).unwrap(), (Displayed { count: 1234, exponent: -2 }, &b",kg"[..]));
        assert_eq!(number(b"0012,34,kg", &Options::default()).unwrap().1, b",34,kg");
        assert_eq!(number(b"1,234,5", &configured), None);
    }

    #[test]
    fn decimals_are_taken_only_where_no_point_is_sent() {
        let configured = Options { decimals: Some(3), ..Options::default() };
        assert_eq!(number(b"001234", &configured).unwrap().0.to_string(), "1.234");
        assert_eq!(number(b"00012.", &configured).unwrap().0.to_string(), "12");
        assert_eq!(number(b"12.34", &configured).unwrap().0.to_string(), "12.34");
    }

    #[test]
    fn fillers_tell_why_there_is_no_weight() {
        let flags = |text: &str| filler(text.as_bytes()).map(Flags::names);
        assert_eq!(flags("-------"), Some(vec!["error"]));
        assert_eq!(flags("  ^^^^^^ "), Some(vec!["overload"]));
        assert_eq!(flags("______"), Some(vec!["underload"]));
        assert_eq!(flags("+~~~~~~"), Some(vec!["overload"]));
        assert_eq!(flags("--oL--"), Some(vec!["overload"]));
        assert_eq!(flags("--uL--"), Some(vec!["underload"]));
        assert_eq!(flags("-OL"), Some(vec!["underload"]));
        assert_eq!(flags("---.--"), Some(vec!["error"]));
        assert_eq!(flags("FFFFFF"), Some(vec!["overload"]));
        assert_eq!(flags("EEEE"), Some(vec!["error"]));
        assert_eq!(flags("Err 03"), Some(vec!["error"]));
        assert_eq!(flags("inf"), None);
        assert_eq!(flags("-"), None);
        assert_eq!(flags("12.34"), None);
    }
}

//! Finding a frame of counted columns in a line.

use std::ops::RangeInclusive;

/// What follows the last byte that no text has. Only for lines whose columns are counted: elsewhere the damaged
/// byte may have been a sign.
pub(super) fn after_noise(line: &[u8]) -> &[u8] {
    let start = line.iter().rposition(|byte| !matches!(byte, 0x20..=0x7e)).map_or(0, |last| last + 1);
    &line[start..]
}

/// What follows the echo of a request made of control characters, if the rest is text. A sign that lost one bit
/// never looks like one of them.
pub(super) fn after_echo(line: &[u8]) -> Option<&[u8]> {
    let start = line.iter().position(|byte| !matches!(byte, 0x05 | 0x06 | 0x11 | 0x13 | 0x1b)).unwrap_or(line.len());
    let text = &line[start..];
    text.iter().all(|byte| matches!(byte, 0x20..=0x7e)).then_some(text)
}

/// The frame in a line: all of it where its width is one of those met, else the last `usual` columns, behind a cut
/// frame or noise. Nothing is taken from a line that is longer by little: a byte of the frame itself was doubled.
pub(super) fn counted(line: &[u8], met: RangeInclusive<usize>, usual: usize) -> Option<&[u8]> {
    let text = after_noise(line);
    if met.contains(&text.len()) {
        return Some(text);
    }
    let before = text.len().checked_sub(usual).filter(|_| text.len() > met.end() + 1)?;
    text[..before].iter().any(|byte| *byte != b' ').then_some(&text[before..])
}

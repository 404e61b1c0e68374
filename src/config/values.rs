//! Values that are written as texts.

use crate::dialect::Dialect;
use crate::measure::{Mass, Unit};
use crate::settle::Manner;

pub fn dialect(text: &str) -> Result<Dialect, String> {
    Dialect::from_name(text).ok_or_else(|| format!("must be one of {}", Dialect::names()))
}

pub fn manner(text: &str) -> Result<Manner, String> {
    Manner::from_name(text).ok_or_else(|| format!("must be one of {}", Manner::ALL.map(Manner::name).join(", ")))
}

pub fn line(text: &str) -> Result<String, String> {
    // The link reads it in full; what it would refuse is refused here, with the line of the file.
    let (speed, frame) = text.split_once([' ', '-']).unwrap_or((text, "8N1"));
    let frame_ok = matches!(frame.as_bytes(), [b'7' | b'8', b'N' | b'E' | b'O' | b'n' | b'e' | b'o', b'1' | b'2']);
    let speed_ok = speed.parse::<u32>().is_ok_and(|speed| speed > 0);
    if frame_ok && speed_ok { Ok(text.to_owned()) } else { Err("must be like \"9600 8N1\"".into()) }
}

/// A mass with its unit, as in `1 g`.
pub fn mass(text: &str) -> Result<Mass, String> {
    let usage = "must be a weight with its unit, as in \"1 g\" or \"0.005 lb\"";
    let at = text.find(|c: char| c.is_ascii_alphabetic()).ok_or(usage)?;
    let unit = Unit::from_symbol(&text[at..]).ok_or(usage)?;
    Mass::parse(text[..at].trim(), unit).ok().filter(|mass| *mass > Mass::ZERO).ok_or_else(|| usage.to_owned())
}

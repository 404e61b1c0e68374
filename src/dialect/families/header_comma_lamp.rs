//! `header-comma-lamp`: two headers, a byte of lamps and a number, 22 bytes.
//!
//! ```text
//! H1 , H2 , id lamp , data(8) SP unit(2) CR LF
//! ERR code CR LF
//! ```
//!
//! H1 is `ST` stable, `US` moving, `OL` out of range; H2 is `GS` gross or `NT` net. `id` is any byte.
//!
//! | bit of `lamp` | 7 | 6 | 5 | 4 | 3 | 2 | 1 | 0 |
//! | --- | --- | --- | --- | --- | --- | --- | --- | --- |
//! | means | 1 | stable | 0 | hold | printing | gross | tare | zero |
//!
//! `id` and `lamp` may be a comma or a control code, so a frame is found by its length. The lamps must agree with the
//! headers. A line of seven bits loses bit 7 of the lamps, which says nothing. What is held is not what lies on the scale,
//! so such a frame gives no weight. `UL` for under range is taken too (common practice).
//!
//! Layout: <https://www.easymanua.ls/cas/pdi-series/manual?p=37>,
//! <https://www.easymanua.ls/cas/ci-6000a-series/manual?p=63>.

use crate::dialect::asked::sayable;
use crate::dialect::block_fit::ends_line;
use crate::dialect::block_framer::Fit;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, Says, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::{write_unit, write_weight};
use crate::dialect::tell::weigh_column;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family =
    Family { name: "header-comma-lamp", facts: FACTS, framing: Framing::Binary(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 19200],
    rate: (1, 20),
    poll: None,
    says: Says {
        units: &[Unit::Gram, Unit::Kilogram, Unit::Tonne, Unit::Pound, Unit::Ounce],
        unstated: true,
        pound_ounce: false,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: MARKS,
        zero: true,
        news: &[],
        division: false,
        most: 999_999,
        decimals: (0, 5),
    },
    start_mark: true,
    lock_after: Some(5),
};

const MARKS: &[Flags] = &[OVER, UNDER, ERROR];

/// Without its line end, of which one byte is enough.
const LENGTH: usize = 20;
/// The longest error text met, with room for a code.
const ERROR_MAX: usize = 16;

const STABLE: u8 = 1 << 6;
const HOLD: u8 = 1 << 4;
const GROSS: u8 = 1 << 2;
const TARE: u8 = 1 << 1;
const ZERO: u8 = 1;

fn fit(bytes: &[u8]) -> Fit {
    let (Some(&first), Some(&last)) = (bytes.first(), bytes.last()) else { return Fit::Open };
    if first == b'E' {
        return fit_error(bytes);
    }
    let sound = match bytes.len() - 1 {
        0 => matches!(last, b'S' | b'U' | b'O'),
        1 => matches!(last, b'T' | b'S' | b'L'),
        2 | 5 | 8 => last == b',',
        3 => matches!(last, b'G' | b'N'),
        4 => matches!(last, b'S' | b'T'),
        6 => true,
        7 => last & 0x20 == 0,
        9..LENGTH => matches!(last, 0x20..=0x7e),
        _ => ends_line(last),
    };
    match bytes.len() {
        _ if !sound => Fit::Never,
        ..=LENGTH => Fit::Open,
        _ => Fit::Whole(LENGTH + 1),
    }
}

fn fit_error(bytes: &[u8]) -> Fit {
    let length = bytes.iter().position(|byte| matches!(byte, b'\r' | b'\n')).unwrap_or(bytes.len());
    let text = &bytes[..length];
    let begun = text.iter().zip(b"ERR").all(|(byte, letter)| byte == letter);
    match length {
        _ if !begun || text.len() > ERROR_MAX || !text.iter().all(|byte| matches!(byte, 0x20..=0x7e)) => Fit::Never,
        _ if length == bytes.len() => Fit::Open,
        4.. => Fit::Whole(length + 1),
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    if frame.starts_with(b"ERR") {
        return Verdict::Reading(Reading::without_weight(ERROR));
    }
    let &[h1, h2, _, k1, k2, _, _, lamp, _, ref rest @ .., _] = frame else { return Verdict::Refused };
    let kind = match [k1, k2] {
        [b'G', b'S'] => Kind::Gross,
        [b'N', b'T'] => Kind::Net,
        _ => return Verdict::Refused,
    };
    // Neither of both can be lit only where the byte was damaged.
    if (lamp & GROSS != 0) != (kind == Kind::Gross) || lamp & (GROSS | TARE) == 0 {
        return Verdict::Refused;
    }
    let (column, unit) = rest.split_at(8);
    let without = |flags| Verdict::Reading(Reading { kind, ..Reading::without_weight(flags) });
    let minus = column.trim_ascii_start().first() == Some(&b'-');
    let stability = match [h1, h2] {
        [b'O', b'L'] if !minus => return without(OVER),
        [b'O' | b'U', b'L'] => return without(UNDER),
        [b'S', b'T'] if lamp & STABLE != 0 => Stability::Stable,
        [b'U', b'S'] if lamp & STABLE == 0 => Stability::Motion,
        _ => return Verdict::Refused,
    };
    if lamp & HOLD != 0 {
        return Verdict::Reading(Reading { kind, stability, ..Reading::without_weight(Flags::default()) });
    }
    let flags = Flags { zero: lamp & ZERO != 0, ..Flags::default() };
    weigh_column(column, unit, Reading { kind, stability, ..Reading::without_weight(flags) }, options)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    sayable(reading, MARKS)?;
    if reading.flags.error {
        out.extend_from_slice(b"ERR 00 \r\n");
        return Ok(());
    }
    let (first, stable) = match (reading.value, reading.stability) {
        (None, _) => ("OL", 0),
        (_, Stability::Stable) => ("ST", STABLE),
        (_, Stability::Motion) => ("US", 0),
        (_, Stability::Unknown) => return Err(Unsayable::Stability),
    };
    let (second, shown) = match (reading.value, reading.kind) {
        (_, Kind::Gross) | (None, _) => ("GS", GROSS),
        (_, Kind::Net) => ("NT", TARE),
        (_, Kind::Tare | Kind::Unknown) => return Err(Unsayable::Kind),
    };
    let zero = if reading.flags.zero { ZERO } else { 0 };
    out.extend_from_slice(format!("{first},{second},0").as_bytes());
    out.extend_from_slice(&[0x80 | stable | shown | zero, b',']);
    let sign = out.len();
    write_weight(reading.value, 7, b'0', options, out)?;
    if reading.flags.underload {
        out[sign] = b'-';
    }
    out.push(b' ');
    write_unit(reading.unit, 2, out)?;
    out.extend_from_slice(b"\r\n");
    Ok(())
}

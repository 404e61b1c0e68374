//! `stx-unit-mode-status`: a weight and three letters between STX and a line end.
//!
//! ```text
//! STX polarity weight(7) unit mode status CR LF        14 bytes
//! ```
//!
//! | letter | values |
//! | --- | --- |
//! | unit | `L` lb, `K` kg, `G` g, `O` oz, blank; `T` is the tonne with one maker and the short ton with another |
//! | mode | `G` gross, `N` net |
//! | status | blank stable, `M` motion, `O` out of range (the polarity tells the direction), `I` not valid |
//!
//! With `T` the unit is unstated: it must be configured. So `GG` is gross grams, and `KG` kilograms, gross.
//!
//! Layout: <https://www.easymanua.ls/cardinal/225/manual/112006?p=127>; the letter `O`:
//! <https://manualshive.com/en/manual/transcell-technology/ti-500-plus/1150672?page=42>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::{ends_line, marked};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::{beyond, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::letters::{gross_or_net, letter_for_unit, live_letter, unit_letter};
use crate::dialect::put::write_weight;
use crate::dialect::tell::{nothing, tell};
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::{Displayed, Unit};

pub(super) const FAMILY: Family =
    Family { name: "stx-unit-mode-status", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200, 19200],
    rate: (5, 20),
    poll: None,
    says: Says {
        units: &[Unit::Pound, Unit::Kilogram, Unit::Gram, Unit::Ounce],
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const STX: u8 = 0x02;
/// With the first byte of the line end.
const LENGTH: usize = 13;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, STX, LENGTH..=LENGTH, ends_line)
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, ref weight @ .., unit, mode, status, _] = frame else { return Verdict::Refused };
    let Some(kind) = gross_or_net(mode) else { return Verdict::Refused };
    let stability = match status.to_ascii_uppercase() {
        b' ' => Stability::Stable,
        b'M' => Stability::Motion,
        b'O' => return nothing(kind, beyond(weight)),
        b'I' => return nothing(kind, ERROR),
        _ => return Verdict::Refused,
    };
    tell(field(weight, options), unit_letter(unit, options), kind, stability)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let (unit, mode) = (letter_for_unit(reading.unit)?, live_letter(reading.kind)?);
    let moving = moving(reading)?;
    let (value, status) = match said(reading, FACTS.says.marks)? {
        Said::Weight(value) => (value, if moving { b'M' } else { b' ' }),
        Said::Mark(flags) => {
            let count = if flags.underload { -99_999 } else { 99_999 };
            (Displayed { count, exponent: -2 }, if flags.error { b'I' } else { b'O' })
        }
    };
    out.push(STX);
    write_weight(Some(value), 7, b' ', options, out)?;
    out.extend_from_slice(&[unit, mode, status, b'\r', b'\n']);
    Ok(())
}

//! `status-letter`: a letter and six digits, ended by CR.
//!
//! ```text
//! A|B|C|D|E weight(6) CR        8 bytes
//! ```
//!
//! `A` stable, `B` stable with a tare, `C` moving, `D` moving with a tare, `E` out of range. No point and no unit: both
//! must be configured. Too weak to be recognised by itself.
//!
//! Layout: <https://www.easymanua.ls/erte/b2/manual?p=16>. A minus straight before the digits is common practice.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_framer::Fit;
use crate::dialect::column::{beyond, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::put_number;
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::UnitWord;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};

pub(super) const FAMILY: Family = Family { name: "status-letter", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200],
    rate: (5, 20),
    poll: None,
    says: Says {
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER],
        most: 99_999,
        decimals: (0, 0),
        ..PLAIN
    },
    start_mark: true,
    lock_after: None,
};

const LENGTH: usize = 8;

fn fit(seen: &[u8]) -> Fit {
    let last = seen[seen.len() - 1];
    match seen.len() {
        _ if !matches!(seen[0], b'A'..=b'E') => Fit::Never,
        1 => Fit::Open,
        LENGTH if last == b'\r' => Fit::Whole(LENGTH),
        ..LENGTH if last.is_ascii_digit() || matches!(last, b' ' | b'-') => Fit::Open,
        _ => Fit::Never,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[letter, ref digits @ .., _] = frame else { return Verdict::Refused };
    let (kind, stability) = match letter {
        b'A' => (Kind::Gross, Stability::Stable),
        b'B' => (Kind::Net, Stability::Stable),
        b'C' => (Kind::Gross, Stability::Motion),
        b'D' => (Kind::Net, Stability::Motion),
        b'E' => return nothing(Kind::Unknown, beyond(digits)),
        _ => return Verdict::Refused,
    };
    if digits.ends_with(b" ") {
        return Verdict::Refused;
    }
    tell(field(digits, options), UnitWord::Mass(ReadUnit::Unstated), kind, stability)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let value = match said(reading, FACTS.says.marks)? {
        Said::Weight(_) if reading.unit != ReadUnit::Unstated => return Err(Unsayable::Unit),
        Said::Weight(value) => value,
        Said::Mark(flags) => {
            out.extend_from_slice(if flags.underload { b"E-99999\r" } else { b"E999999\r" });
            return Ok(());
        }
    };
    out.push(match (reading.kind, moving(reading)?) {
        (Kind::Gross, false) => b'A',
        (Kind::Net, false) => b'B',
        (Kind::Gross, true) => b'C',
        (Kind::Net, true) => b'D',
        (Kind::Tare | Kind::Unknown, _) => return Err(Unsayable::Kind),
    });
    put_number(value, 6, options, out)?;
    out.push(b'\r');
    Ok(())
}

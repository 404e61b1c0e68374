//! `dollar-short`: a status digit and five digits between a dollar sign and CR.
//!
//! ```text
//! $ status net(5) CR        8 bytes
//! ```
//!
//! The status is `0` stable, `1` moving, `3` not valid: below zero or over range. No point and no unit: both must be
//! configured. Of a weight with more digits the excess is cut off by the scale, so a light division on a large platform
//! cannot be read at all.
//!
//! Layout: <https://manualshive.com/en/manual/bilancial/btek-dd-700/2750967?page=7>.

use crate::dialect::asked::{Said, moving, said};
use crate::dialect::block_fit::marked;
use crate::dialect::block_framer::Fit;
use crate::dialect::column::field;
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, ERROR, STILL_OR_NOT};
use crate::dialect::family::{Family, Framing};
use crate::dialect::put::write_zero_padded;
use crate::dialect::tell::{nothing, tell};
use crate::dialect::unit_word::UnitWord;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Kind, Options, ReadUnit, Reading, Says, Stability, Unsayable};

pub(super) const FAMILY: Family = Family { name: "dollar-short", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 4800, 2400, 1200],
    rate: (5, 20),
    poll: None,
    says: Says {
        unstated: true,
        kinds: &[Kind::Net],
        stability: STILL_OR_NOT,
        marks: &[ERROR],
        most: 99_999,
        decimals: (0, 0),
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(5),
};

const LENGTH: usize = 8;

fn fit(seen: &[u8]) -> Fit {
    marked(seen, b'$', LENGTH..=LENGTH, |byte| byte == b'\r')
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let &[_, status, ref digits @ .., _] = frame else { return Verdict::Refused };
    let stability = match status {
        b'0' => Stability::Stable,
        b'1' => Stability::Motion,
        b'3' => return nothing(Kind::Unknown, ERROR),
        _ => return Verdict::Refused,
    };
    if !digits.iter().all(|byte| byte.is_ascii_digit() || *byte == b' ') || digits.ends_with(b" ") {
        return Verdict::Refused;
    }
    tell(field(digits, options), UnitWord::Mass(ReadUnit::Unstated), Kind::Net, stability)
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let Said::Weight(value) = said(reading, FACTS.says.marks)? else {
        out.extend_from_slice(b"$300000\r");
        return Ok(());
    };
    if value.count < 0 {
        return Err(Unsayable::Sign);
    }
    if reading.kind != Kind::Net {
        return Err(Unsayable::Kind);
    }
    if reading.unit != ReadUnit::Unstated {
        return Err(Unsayable::Unit);
    }
    out.extend_from_slice(if moving(reading)? { b"$1" } else { b"$0" });
    write_zero_padded(value, 5, options, out)?;
    out.push(b'\r');
    Ok(())
}

//! `dollar-sum`: a sentence with a checksum, our own convention for scales of one's own making.
//!
//! ```text
//! $WT,value,unit,kind,motion*HH CR LF
//! ```
//!
//! The kind is `G` gross, `N` net, `T` tare or nothing; the motion `S` stable, `M` moving or nothing. HH is the exclusive
//! or of what stands between `$` and `*`, in hexadecimal of either case. An empty value is no reading; `OL`, `UL` and
//! `ERR` say why there is none. The envelope is that of GPS receivers (common practice), so the first word must be `WT`.
//! A frame counts when its line end has come, or the next frame in its place.

use crate::dialect::asked::{Said, said};
use crate::dialect::block_fit::ends_line;
use crate::dialect::block_framer::Fit;
use crate::dialect::checksum::{hex_pair, xor};
use crate::dialect::column::{Field, field};
use crate::dialect::facts::PLAIN;
use crate::dialect::facts::{EIGHT_NONE, ERROR, OVER, STILL_OR_NOT, UNDER};
use crate::dialect::family::{Family, Framing};
use crate::dialect::number::write_digits;
use crate::dialect::put::word_of;
use crate::dialect::tell::tell;
use crate::dialect::unit_word::unit_word;
use crate::dialect::verdict::Verdict;
use crate::dialect::{Facts, Flags, Kind, Options, Reading, Says, Stability, Unsayable};
use crate::measure::Unit;

pub(super) const FAMILY: Family = Family { name: "dollar-sum", facts: FACTS, framing: Framing::Block(fit), decode, encode };

const FACTS: Facts = Facts {
    usual: EIGHT_NONE,
    speeds: &[9600, 115_200, 19200, 38400, 57600, 4800],
    rate: (1, 80),
    poll: None,
    says: Says {
        units: &Unit::ALL,
        unstated: true,
        kinds: &[Kind::Gross, Kind::Net, Kind::Tare],
        stability: STILL_OR_NOT,
        marks: &[OVER, UNDER, ERROR],
        most: 999_999_999,
        ..PLAIN
    },
    start_mark: true,
    lock_after: Some(3),
};

const LONGEST: usize = 48;

fn fit(seen: &[u8]) -> Fit {
    let (last, length) = (seen[seen.len() - 1], seen.len());
    let starred = || length > 4 && seen[length - 4] == b'*';
    match last {
        _ if seen[0] != b'$' => Fit::Never,
        _ if length == 1 => Fit::Open,
        _ if ends_line(last) && starred() => Fit::Whole(length),
        // The line end was lost, and this is the next frame.
        b'$' if starred() => Fit::Whole(length - 1),
        b'$' | b'\r' | b'\n' => Fit::Never,
        _ if length >= LONGEST => Fit::Never,
        _ => Fit::Open,
    }
}

fn decode(frame: &[u8], options: &Options) -> Verdict {
    let frame = frame.trim_ascii_end();
    let &[b'$', ref body @ .., b'*', x1, x2] = frame else { return Verdict::Refused };
    if hex_pair(x1, x2) != Some(xor(body)) {
        return Verdict::Refused;
    }
    read(body, options).checked()
}

/// What stands between the mark and the checksum.
fn read(body: &[u8], options: &Options) -> Verdict {
    let Some(body) = body.strip_prefix(b"WT,") else { return Verdict::Refused };
    // From the right, since a value may have a decimal comma.
    let mut fields = body.rsplitn(4, |byte| *byte == b',').map(<[u8]>::trim_ascii);
    let (Some(motion), Some(kind), Some(unit), Some(value)) = (fields.next(), fields.next(), fields.next(), fields.next()) else {
        return Verdict::Refused;
    };
    let kind = match kind {
        b"G" | b"g" => Kind::Gross,
        b"N" | b"n" => Kind::Net,
        b"T" | b"t" => Kind::Tare,
        [] => Kind::Unknown,
        _ => return Verdict::Refused,
    };
    let stability = match motion {
        b"S" | b"s" => Stability::Stable,
        b"M" | b"m" => Stability::Motion,
        [] => Stability::Unknown,
        _ => return Verdict::Refused,
    };
    if value.is_empty() {
        return Verdict::Reading(Reading::without_weight(Flags::default()));
    }
    match field(value, options) {
        // Nothing is weighed, so the unit does not matter.
        Some(Field::Filled(flags)) => tell(Some(Field::Filled(flags)), unit_word(b"", options), kind, stability),
        value => tell(value, unit_word(unit, options), kind, stability),
    }
}

fn encode(reading: &Reading, options: &Options, out: &mut Vec<u8>) -> Result<(), Unsayable> {
    let start = out.len() + 1;
    out.extend_from_slice(b"$WT,");
    match said(reading, FACTS.says.marks)? {
        Said::Weight(value) => {
            out.extend((value.count < 0).then_some(b'-'));
            write_digits(value, 0, b' ', options, out)?;
        }
        Said::Mark(flags) if flags.overload => out.extend_from_slice(b"OL"),
        Said::Mark(flags) if flags.underload => out.extend_from_slice(b"UL"),
        Said::Mark(_) => out.extend_from_slice(b"ERR"),
    }
    let kind = match reading.kind {
        Kind::Gross => "G",
        Kind::Net => "N",
        Kind::Tare => "T",
        Kind::Unknown => "",
    };
    let motion = match reading.stability {
        Stability::Stable => "S",
        Stability::Motion => "M",
        Stability::Unknown => "",
    };
    out.extend_from_slice(format!(",{},{kind},{motion}", word_of(reading.unit, 5)?).as_bytes());
    let sum = xor(&out[start..]);
    out.extend_from_slice(format!("*{sum:02X}\r\n").as_bytes());
    Ok(())
}

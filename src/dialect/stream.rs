//! Bytes of one scale in, readings out.

use super::block_framer::BlockFramer;
use super::census::Gate;
use super::family::Framing;
use super::lf_framer::LfFramer;
use super::line_framer::LineFramer;
use super::pattern::{Pattern, PatternFramer};
use super::report_framer::ReportFramer;
use super::stx_framer::StxFramer;
use super::verdict::Outlet;
use super::{Dialect, Options, Reading};

/// What became of the bytes so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Frames that gave a reading, with or without a weight.
    pub frames: u64,
    /// Those of them whose checksum was verified.
    pub checked: u64,
    /// Frames that were cut, damaged or of another family.
    pub refused: u64,
    /// Bytes that no frame explains. Line ends between frames are not counted.
    pub skipped: u64,
}

/// Incremental framing and decoding of one dialect, in buffers of fixed size.
#[derive(Debug, Clone)]
pub struct Stream {
    options: Options,
    gate: Gate,
    framer: Framer,
    tally: Tally,
}

#[derive(Debug, Clone)]
enum Framer {
    Line(LineFramer),
    Stx(StxFramer),
    Lf(LfFramer),
    Block(BlockFramer),
    Reports(ReportFramer),
    Own(Box<PatternFramer>),
}

impl Framer {
    fn push(&mut self, bytes: &[u8], options: &Options, outlet: &mut Outlet) {
        match self {
            Framer::Line(line) => line.push(bytes, options, outlet),
            Framer::Stx(stx) => stx.push(bytes, options, outlet),
            Framer::Lf(lf) => lf.push(bytes, options, outlet),
            Framer::Block(block) => block.push(bytes, options, outlet),
            Framer::Reports(reports) => reports.push(bytes, options, outlet),
            Framer::Own(own) => bytes.iter().for_each(|&byte| own.take(byte, options, outlet)),
        }
    }
}

impl Stream {
    /// A stream whose first byte is a frame boundary, unless `options.joined` says otherwise.
    pub fn new(dialect: Dialect, options: Options) -> Stream {
        let joined = options.joined;
        let family = dialect.family();
        let framer = match family.framing {
            Framing::Line { headed } => Framer::Line(LineFramer::new(family.decode, headed, joined)),
            Framing::StatusWords(shape) => Framer::Stx(StxFramer::new(shape, family.decode)),
            Framing::LfToEtx => Framer::Lf(LfFramer::new(family.decode, joined)),
            Framing::Block(fit) | Framing::Binary(fit) => Framer::Block(BlockFramer::new(fit, family.decode)),
            Framing::Reports { length, makes_sense } => {
                Framer::Reports(ReportFramer::new(length, makes_sense, family.decode, joined))
            }
        };
        let gate = match family.framing {
            Framing::Binary(_) => Gate::open(),
            _ => Gate::new(options.census),
        };
        Stream { options, gate, framer, tally: Tally::default() }
    }

    /// The same for a scale that no family fits.
    pub fn by_pattern(pattern: Pattern, options: Options) -> Stream {
        let framer = Framer::Own(Box::new(PatternFramer::new(pattern, options.joined)));
        Stream { options, gate: Gate::new(options.census), framer, tally: Tally::default() }
    }

    /// Takes the next bytes, in chunks of any size; `emit` gets each reading as soon as its frame is complete.
    pub fn push(&mut self, bytes: &[u8], emit: &mut dyn FnMut(Reading)) {
        let Stream { options, gate, framer, tally } = self;
        let mut outlet = Outlet { emit, tally };
        // All eight bits of a report are its own.
        if matches!(framer, Framer::Reports(_)) || gate.lets_pass(bytes) {
            return framer.push(bytes, options, &mut outlet);
        }
        for &byte in bytes {
            gate.pass(byte, &mut |clean| framer.push(&[clean], options, &mut outlet));
        }
    }

    /// No byte has come for longer than the frame timeout: what is pending is complete as it stands, or dropped.
    pub fn silence(&mut self, emit: &mut dyn FnMut(Reading)) {
        let Stream { options, gate, framer, tally } = self;
        let mut outlet = Outlet { emit, tally };
        outlet.skip(gate.silence());
        match framer {
            Framer::Line(line) => line.silence(&mut outlet),
            Framer::Stx(stx) => stx.silence(options, &mut outlet),
            Framer::Lf(lf) => lf.silence(&mut outlet),
            Framer::Block(block) => block.silence(&mut outlet),
            Framer::Reports(reports) => reports.silence(options, &mut outlet),
            Framer::Own(own) => own.silence(&mut outlet),
        }
    }

    /// The port was opened again or bytes were lost: nothing before joins to what follows, and the next frame
    /// may be cut.
    pub fn restart(&mut self) {
        self.gate.restart();
        self.tally.skipped += match &mut self.framer {
            Framer::Line(line) => line.restart(),
            Framer::Stx(stx) => stx.restart(),
            Framer::Lf(lf) => lf.restart(),
            Framer::Block(block) => block.restart(),
            Framer::Reports(reports) => reports.restart(),
            Framer::Own(own) => own.restart(),
        } as u64;
    }

    pub const fn tally(&self) -> Tally {
        self.tally
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dialect::{Census, Flags, Parity, ReadUnit, encode};
    use crate::measure::Displayed;

    fn clean() -> Options {
        Options { census: Census::Settled(Parity::Clear), ..Options::default() }
    }

    #[test]
    fn a_number_that_pauses_in_the_middle_is_dropped() {
        let mut stream = Stream::new(Dialect::BareNumber, clean());
        let mut values = Vec::new();
        let mut emit = |reading: Reading| values.push(reading.value.unwrap().to_string());
        stream.push(b"1", &mut emit);
        stream.silence(&mut emit);
        stream.push(b"2.34\r\n5.00\r\n", &mut emit);
        assert_eq!(values, ["5.00"]);
    }

    #[test]
    fn every_verified_checksum_is_counted() {
        let proven = [
            Dialect::StxStatusWords,
            Dialect::StxSignXor,
            Dialect::AmpNetGross,
            Dialect::DollarSum,
            Dialect::TwoLetterXor,
            Dialect::EnqBlock,
        ];
        for &dialect in Dialect::ALL {
            let says = dialect.facts().says;
            let exponent = -says.decimals.1.min(2);
            let reading = Reading {
                value: Some(Displayed { count: 123, exponent }),
                unit: says.units.first().map_or(ReadUnit::Unstated, |unit| ReadUnit::Stated(*unit)),
                kind: says.kinds[0],
                stability: says.stability[0],
                division: says.division.then_some(Displayed { count: 1, exponent }),
                ..Reading::without_weight(Flags::default())
            };
            let mut bytes = Vec::new();
            encode(dialect, &reading, &clean(), &mut bytes).unwrap();
            let mut stream = Stream::new(dialect, clean());
            stream.push(&bytes.repeat(5), &mut |_| ());
            let checked = if proven.iter().any(|family| dialect.name().starts_with(family.name())) { 5 } else { 0 };
            assert_eq!((stream.tally().frames, stream.tally().checked), (5, checked), "{dialect:?}");
        }
    }

    fn with_even_parity(text: &[u8]) -> Vec<u8> {
        text.iter().map(|&byte| byte | ((byte.count_ones() as u8 & 1) << 7)).collect()
    }

    /// Until the parity is known bytes wait, but not over a silence: by then they are old.
    #[test]
    fn what_waited_for_the_parity_is_not_given_out_late() {
        let mut stream = Stream::new(Dialect::HeaderComma, Options::default());
        let mut values = Vec::new();
        let mut emit = |reading: Reading| values.push(reading.value.unwrap().to_string());
        stream.push(&with_even_parity(b"ST,GS,+0001.00kg\r\nST,GS,+0001.00kg\r\n"), &mut emit);
        stream.silence(&mut emit);
        stream.push(&with_even_parity(b"ST,GS,+0002.00kg\r\nST,GS,+0003.00kg\r\n"), &mut emit);
        assert_eq!(values, ["2.00", "3.00"]);
        assert!(stream.tally().skipped > 0);
    }

    #[test]
    fn the_parity_is_counted_anew_after_a_restart() {
        let mut stream = Stream::new(Dialect::HeaderComma, Options::default());
        let mut given = 0;
        stream.push(&with_even_parity(b"ST,GS,+0012.34kg\r\n").repeat(5), &mut |_| given += 1);
        assert_eq!(given, 5);
        stream.restart();
        stream.push(&b"ST,GS,+0012.34kg\r\n".repeat(2), &mut |_| given += 1);
        assert_eq!(given, 6);
    }
}

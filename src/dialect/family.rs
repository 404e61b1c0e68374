//! What makes a frame family: its name, its facts, how its frames are found, its decoder and its encoder.

use super::block_framer::Fit;
use super::stx_framer::WordsShape;
use super::verdict::Verdict;
use super::{Facts, Options, Reading, Unsayable};

/// One frame in, without what ends a line; bytes above 0x7f are damaged ones unless the framing is binary.
pub(super) type Decode = fn(&[u8], &Options) -> Verdict;

/// Appends one frame, all of it; what it left in the buffer on an error is taken back by the caller.
pub(super) type Encode = fn(&Reading, &Options, &mut Vec<u8>) -> Result<(), Unsayable>;

#[derive(Debug)]
pub(super) struct Family {
    pub name: &'static str,
    pub facts: Facts,
    pub framing: Framing,
    pub decode: Decode,
    pub encode: Encode,
}

/// How frames are found in the stream.
#[derive(Debug, Clone, Copy)]
pub(super) enum Framing {
    /// Any mix of CR and LF ends a line. `headed`: a line opens with a header, so that a remainder of one cannot pass
    /// for a whole one.
    Line { headed: bool },
    /// Status words behind STX, with or without a checksum that may look like anything.
    StatusWords(&'static WordsShape),
    /// A weight line and a status line between LF and ETX.
    LfToEtx,
    /// A start mark, a length or an end, and known places between: `Fit` tells what the bytes since a possible start
    /// are. Found by content, never by the next start mark alone.
    Block(fn(&[u8]) -> Fit),
    /// The same over bytes of eight bits as they came, none of which is a parity bit.
    Binary(fn(&[u8]) -> Fit),
    /// Binary reports of one length, eight bits to the byte, that follow each other without a mark.
    Reports { length: usize, makes_sense: fn(&[u8]) -> bool },
}

//! Taking the remarks of a telnet bridge out of a scale's bytes.
//!
//! Only where the stream begins with one: on a raw bridge FF and NUL are the scale's own. The remarks are dropped and
//! never answered, since an answer would be sent towards the scale (RFC 854; COM-PORT control is RFC 2217).

const IAC: u8 = 0xff;
const SE: u8 = 0xf0;
const SB: u8 = 0xfa;
/// WILL, WONT, DO and DONT, each with one byte behind it.
const OPTIONS: std::ops::RangeInclusive<u8> = 0xfb..=0xfe;
/// A longer subnegotiation never ends: what follows is data again.
const SUB_MAX: usize = 256;

/// One connection's filter.
#[derive(Debug, Clone, Default)]
pub struct Telnet {
    state: State,
}

#[derive(Debug, Clone, Copy, Default)]
enum State {
    /// Nothing has come yet.
    #[default]
    Fresh,
    /// The first byte was IAC; the second tells.
    Maybe,
    Raw,
    Data,
    AfterReturn,
    Command,
    Option,
    Sub(usize),
    SubCommand(usize),
}

impl Telnet {
    /// Appends what of `bytes` the scale sent to `out`.
    pub fn pass(&mut self, bytes: &[u8], out: &mut Vec<u8>) {
        for &byte in bytes {
            self.state = self.state.next(byte, out);
        }
    }
}

impl State {
    fn next(self, byte: u8, out: &mut Vec<u8>) -> State {
        match (self, byte) {
            (State::Fresh, IAC) => State::Maybe,
            (State::Maybe, SB) => State::Sub(0),
            (State::Maybe, _) if OPTIONS.contains(&byte) => State::Option,
            (State::Maybe, _) => {
                out.extend([IAC, byte]);
                State::Raw
            }
            (State::Fresh | State::Raw, _) => {
                out.push(byte);
                State::Raw
            }
            (State::Data | State::AfterReturn, IAC) => State::Command,
            (State::AfterReturn, 0) => State::Data,
            (State::Data | State::AfterReturn, _) => {
                out.push(byte);
                if byte == b'\r' { State::AfterReturn } else { State::Data }
            }
            (State::Command, IAC) => {
                out.push(IAC);
                State::Data
            }
            (State::Command, SB) => State::Sub(0),
            (State::Command, _) if OPTIONS.contains(&byte) => State::Option,
            (State::Command | State::Option, _) => State::Data,
            (State::Sub(length), IAC) => State::SubCommand(length),
            (State::SubCommand(_), SE) => State::Data,
            (State::Sub(SUB_MAX..) | State::SubCommand(SUB_MAX..), _) => State::Data,
            (State::Sub(length) | State::SubCommand(length), _) => State::Sub(length + 1),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn passed(chunks: &[&[u8]]) -> Vec<u8> {
        let (mut telnet, mut out) = (Telnet::default(), Vec::new());
        chunks.iter().for_each(|chunk| telnet.pass(chunk, &mut out));
        out
    }

    const GREETING: &[u8] = b"\xff\xfd\x2c\xff\xfb\x01\xff\xfa\x2c\x65\xff\xff\x01\xff\xf0";

    proptest! {
        /// A stream that does not begin with a negotiation passes untouched.
        #[test]
        fn raw_bytes_pass(bytes in proptest::collection::vec(any::<u8>(), 0..60), cut in 0_usize..60) {
            prop_assume!(!(bytes.first() == Some(&IAC) && bytes.get(1).is_none_or(|second| (SB..=0xfe).contains(second))));
            let cut = cut.min(bytes.len());
            prop_assert_eq!(passed(&[&bytes[..cut], &bytes[cut..]]), bytes);
        }

        /// Behind a greeting every byte comes out as the scale sent it, with remarks between, however it is cut.
        #[test]
        fn what_a_bridge_wraps_comes_out(parts in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 0..20), 1..6), size in 1_usize..7) {
            let mut wire = Vec::new();
            for part in &parts {
                wire.extend(GREETING);
                for &byte in part {
                    wire.push(byte);
                    match byte {
                        IAC => wire.push(IAC),
                        b'\r' => wire.push(0),
                        _ => {}
                    }
                }
                wire.extend(b"\xff\xf1");
            }
            let chunks: Vec<&[u8]> = wire.chunks(size).collect();
            prop_assert_eq!(passed(&chunks), parts.concat());
        }
    }

    #[test]
    fn a_subnegotiation_that_never_ends_does_not_swallow_the_scale() {
        let mut wire = b"\xff\xfa".to_vec();
        wire.extend([b'x'; SUB_MAX + 1]);
        wire.extend(b"12.34\r\n");
        assert_eq!(passed(&[&wire]), b"12.34\r\n");
    }

    #[test]
    fn a_return_keeps_its_line_feed() {
        assert_eq!(passed(&[b"\xff\xfb\x01", b"1\r\n2\r\x003"]), b"1\r\n2\r3");
    }
}

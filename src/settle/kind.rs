//! Which of the weights that a scale tells is followed.
//!
//! Some frames tell gross, tare and net at once, and some hide the kind while the load moves. Neither is a change of the
//! display: where gross and net come together gross is followed, a weight of unknown kind is of the kind before it, and
//! a tare is no load. The readings of one frame come at one moment.

use crate::dialect::{Kind, Reading};
use crate::measure::Moment;

#[derive(Debug, Default)]
pub struct Follow {
    followed: Option<Kind>,
    /// When the last gross weight came.
    gross_at: Option<Moment>,
    /// A net weight while no net is followed: it waits until its moment has passed, since the gross one of the same
    /// frame may come behind it.
    held: Option<(Moment, Reading)>,
}

impl Follow {
    /// What is to be weighed now that `reading` has come, in order. [`Follow::due`] has been asked for this moment.
    pub fn take(&mut self, at: Moment, reading: &Reading) -> [Option<Reading>; 2] {
        let reading = *reading;
        match reading.kind {
            _ if reading.value.is_none() => [None, Some(reading)],
            Kind::Tare => [None, None],
            Kind::Unknown => {
                let before = self.release();
                [before, Some(Reading { kind: self.followed.unwrap_or(Kind::Unknown), ..reading })]
            }
            Kind::Gross => {
                (self.followed, self.gross_at, self.held) = (Some(Kind::Gross), Some(at), None);
                [None, Some(reading)]
            }
            Kind::Net if self.followed == Some(Kind::Net) => [None, Some(reading)],
            Kind::Net if self.gross_at == Some(at) => [None, None],
            // No frame tells two net weights, so the first one had no gross beside it.
            Kind::Net if self.held.is_some() => [self.release(), Some(reading)],
            Kind::Net => {
                self.held = Some((at, reading));
                [None, None]
            }
        }
    }

    /// A net weight whose moment has passed by `now`: its frame told nothing else.
    pub fn due(&mut self, now: Moment) -> Option<(Moment, Reading)> {
        let (at, _) = self.held?;
        if at < now { self.release().map(|reading| (at, reading)) } else { None }
    }

    fn release(&mut self) -> Option<Reading> {
        let (_, reading) = self.held.take()?;
        self.followed = Some(Kind::Net);
        Some(reading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dialect::{Census, Dialect, Flags, Options, Parity, ReadUnit, Stream};
    use crate::measure::{Displayed, Mass, Unit};
    use crate::settle::{Finding, Manner, Settle, Setup};
    use proptest::prelude::*;

    const EVERY: u64 = 100_000_000;

    /// One frame of a scale that shows `gross` over a tare.
    type Frame = fn(gross: i64, tare: i64, moving: bool) -> Vec<u8>;

    fn three_weights(gross: i64, tare: i64, moving: bool) -> Vec<u8> {
        let rest = if moving { 'M' } else { 'S' };
        format!("\x02{gross:8}{tare:8}{:8}N{rest}I   \x03", gross - tare).into_bytes()
    }

    fn amp(gross: i64, tare: i64, _: bool) -> Vec<u8> {
        let body = format!("N{:6}L{gross:6}", gross - tare);
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        format!("&{body}\\{sum:02X}\r").into_bytes()
    }

    fn comma_tare(gross: i64, tare: i64, moving: bool) -> Vec<u8> {
        let rest = if moving { "US" } else { "ST" };
        format!("011{rest},{:10},PT{tare:10},         0,g\r\n", gross - tare).into_bytes()
    }

    fn hidden(gross: i64, _: i64, moving: bool) -> Vec<u8> {
        let sign = if gross < 0 { '-' } else { ' ' };
        format!("\x02{sign}{:7}{}\x03", gross.abs(), if moving { 'M' } else { 'G' }).into_bytes()
    }

    const SCALES: [(Dialect, Frame); 4] = [
        (Dialect::StxThreeWeights, three_weights),
        (Dialect::AmpNetGross, amp),
        (Dialect::HeaderCommaTare, comma_tare),
        (Dialect::StxSignStatusEtx, hidden),
    ];

    /// Epochs and steps of a scale on which pieces are laid, its frames read so many at a time.
    fn settled((dialect, frame): (Dialect, Frame), pieces: &[i64], tare: i64, at_once: usize) -> (usize, Vec<Mass>) {
        let mut stream = Stream::new(
            dialect,
            Options { census: Census::Settled(Parity::Clear), unit: Some(Unit::Gram), ..Options::default() },
        );
        let mut settle = Settle::new(Setup { division: Some(Mass::grams(1)), unit: Some(Unit::Gram), manner: Manner::Heap });
        let mut load = 500;
        let mut frames: Vec<Vec<u8>> = vec![frame(load, tare, false); 40];
        for piece in pieces {
            frames.extend([1, 3, 4, 2].map(|part| frame(load + piece * part / 4, tare, true)));
            load += piece;
            frames.extend(vec![frame(load, tare, false); 40]);
        }
        let (mut epochs, mut steps, mut now) = (0, Vec::new(), 0);
        for chunk in frames.chunks(at_once) {
            now += EVERY * at_once as u64;
            stream.push(&chunk.concat(), &mut |reading| {
                settle.reading(Moment(now), &reading, &mut |finding| match finding {
                    Finding::EpochOpened { .. } => epochs += 1,
                    Finding::Stepped(step) => steps.push(step.delta),
                    _ => {}
                });
            });
        }
        (epochs, steps)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn weights_told_together_or_hidden_are_one_epoch(
            scale in prop::sample::select(&SCALES[..]),
            pieces in proptest::collection::vec(20_i64..400, 1..6),
            tare in 1_i64..400,
            at_once in 1_usize..3,
        ) {
            let (epochs, steps) = settled(scale, &pieces, tare, at_once);
            prop_assert_eq!(epochs, 1);
            prop_assert_eq!(steps, pieces.iter().map(|piece| Mass::grams(*piece)).collect::<Vec<_>>());
        }
    }

    #[test]
    fn another_kind_alone_is_followed_from_its_first_reading_on() {
        let net = Reading { kind: Kind::Net, value: Some(Displayed { count: 7, exponent: 0 }), ..blank() };
        let gross = Reading { kind: Kind::Gross, ..net };
        let mut follow = Follow::default();
        assert_eq!(follow.take(Moment(1), &gross), [None, Some(gross)]);
        assert_eq!(follow.take(Moment(1), &net), [None, None], "it came with a gross weight");
        assert_eq!(follow.due(Moment(2)), None);
        assert_eq!(follow.take(Moment(2), &net), [None, None]);
        assert_eq!(follow.due(Moment(2)), None);
        assert_eq!(follow.due(Moment(3)), Some((Moment(2), net)));
        assert_eq!(follow.take(Moment(3), &net), [None, Some(net)]);
        let hidden = Reading { kind: Kind::Unknown, ..net };
        assert_eq!(follow.take(Moment(4), &hidden), [None, Some(net)]);
    }

    #[test]
    fn two_lines_of_net_read_at_once_both_count() {
        let net = Reading { kind: Kind::Net, value: Some(Displayed { count: 7, exponent: 0 }), ..blank() };
        let mut follow = Follow::default();
        assert_eq!(follow.take(Moment(1), &net), [None, None]);
        assert_eq!(follow.take(Moment(1), &net), [Some(net), Some(net)]);
    }

    /// A scale that prints one line a load has nothing more to say: its line counts without another.
    #[test]
    fn a_line_of_net_alone_opens_its_epoch_when_time_passes_or_the_link_is_cut() {
        let value = Some(Displayed { count: 7, exponent: 0 });
        let net = Reading { kind: Kind::Net, value, unit: ReadUnit::Stated(Unit::Gram), ..blank() };
        for cut in [true, false] {
            let mut settle = Settle::new(Setup::default());
            let mut opened = Vec::new();
            let mut emit = |finding| opened.extend(matches!(finding, Finding::EpochOpened { at: Moment(5), .. }).then_some(()));
            settle.reading(Moment(5), &net, &mut emit);
            if cut {
                settle.cut(Moment(5), &mut emit);
            } else {
                settle.tick(Moment(6), &mut emit);
            }
            assert_eq!(opened.len(), 1, "cut: {cut}");
            assert_eq!(settle.glance().map(|glance| glance.reading), Some(net));
        }
    }

    fn blank() -> Reading {
        Reading::without_weight(Flags::default())
    }
}

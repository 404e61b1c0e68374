//! Which family a whole input belongs to.

use super::{Dialect, Options, ReadUnit, Reading, Stream};

/// Why no family was chosen.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Doubt {
    #[error("no frame family fits these bytes")]
    NoneFits,
    #[error("{} fits, but only {run} frames in a row agree and {needed} are needed", dialect.name())]
    TooFew { dialect: Dialect, run: u32, needed: u32 },
    #[error("{} and {} both fit", .0.name(), .1.name())]
    TwoFit(Dialect, Dialect),
    #[error("lines with numbers fit {}, which is never taken without being named", Dialect::BareNumber.name())]
    MustBeNamed,
}

/// Checksummed frames prove more than others.
const CHECKED_ENOUGH: u32 = 3;

/// The one family of which enough frames in a row agree in decimals, unit and kind, with nothing refused between.
pub fn recognise(bytes: &[u8], options: &Options) -> Result<Dialect, Doubt> {
    let mut found = None;
    let mut nearest = None;
    for &dialect in Dialect::ALL {
        let Some(needed) = dialect.facts().lock_after else { continue };
        let best = longest_run(dialect, bytes, options);
        if best.frames >= needed || best.checked >= CHECKED_ENOUGH {
            match found {
                None => found = Some(dialect),
                Some(other) => return Err(Doubt::TwoFit(other, dialect)),
            }
        } else if best.frames > 0 {
            nearest = nearest.or(Some(Doubt::TooFew { dialect, run: best.frames, needed }));
        }
    }
    let number = || longest_run(Dialect::BareNumber, bytes, options).frames > 0;
    found.ok_or_else(|| nearest.unwrap_or_else(|| if number() { Doubt::MustBeNamed } else { Doubt::NoneFits }))
}

#[derive(Debug, Clone, Copy, Default)]
struct Run {
    frames: u32,
    checked: u32,
    /// Decimals, unit and kind of the last weight.
    shape: Option<(i8, ReadUnit, super::Kind)>,
}

fn longest_run(dialect: Dialect, bytes: &[u8], options: &Options) -> Run {
    let mut stream = Stream::new(dialect, *options);
    let (mut run, mut best) = (Run::default(), Run::default());
    let mut before = stream.tally();
    // One byte more than there is: the end is a silence.
    for index in 0..=bytes.len() {
        let mut step = Run::default();
        let mut broken = false;
        let mut emit = |reading: Reading| {
            let shape = reading.value.map(|value| (value.exponent, reading.unit, reading.kind));
            broken |= matches!((run.shape, shape), (Some(old), Some(new)) if old != new);
            step.frames += 1;
            step.shape = shape.or(step.shape);
        };
        match bytes.get(index) {
            Some(byte) => stream.push(std::slice::from_ref(byte), &mut emit),
            None => stream.silence(&mut emit),
        }
        let now = stream.tally();
        step.checked = (now.checked - before.checked) as u32;
        if broken || now.refused > before.refused {
            run = Run::default();
        }
        before = now;
        run.frames += step.frames;
        run.checked += step.checked;
        run.shape = step.shape.or(run.shape);
        best.frames = best.frames.max(run.frames);
        best.checked = best.checked.max(run.checked);
    }
    best
}

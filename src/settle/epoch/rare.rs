//! What is rare in an epoch: a change under one division, and a line that comes alone.

use super::*;

impl Epoch {
    /// The rest is about where it was.
    pub(super) fn small(&mut self, at: Moment, verdict: &Verdict, emit: &mut dyn FnMut(Finding)) {
        let rest = self.rest(verdict);
        let ruler = self.ruler();
        let mean = self.window.mean_of(Span::seconds(1), ruler.origin);
        let small = self.crumb.see(at, verdict, mean, ruler.milli);
        let Some(account) = &mut self.account else { return };
        let change = rest.load - account.anchor().load;
        // Nothing can be taken off a bare platform: what comes back there is the load cell that recovers, and a scale that
        // follows its zero makes the last of it sudden.
        let small = match small {
            Small::Sudden(landed) if change.is_negative() && account.lies_bare() => Small::Slow(landed),
            small => small,
        };
        match small {
            Small::Under => {
                self.crumb_rest = None;
                let moved = (rest.load - account.current().load).abs();
                if moved * 2 >= self.division && change.abs() < self.division {
                    account.pend(rest, at, emit);
                }
            }
            Small::Open => self.crumb_rest = Some(rest),
            Small::Sudden(landed) => self.step(at, verdict, landed, emit),
            Small::Slow(landed) => {
                let total = (account.forgiven() + change).abs();
                // What crept up under a load and goes back when the load has gone is no more drift.
                let back = total < account.forgiven().abs();
                let due = back || self.forgiven_at.is_none_or(|when| at.since(when) >= HALF_HOUR);
                if due && change.abs() <= self.division && total <= self.division * FORGIVEN_MAX {
                    self.forgiven_at = Some(at);
                    account.forgive(rest, at, emit);
                    self.arrive(at, verdict);
                } else {
                    self.step(at, verdict, landed, emit);
                }
            }
        }
    }

    /// A scale that prints one line a load: a line and then silence is a rest.
    pub(super) fn silence(&mut self, at: Moment, manner: Manner, emit: &mut dyn FnMut(Finding)) {
        let (Some(last), Some((count, stability))) = (self.last, self.last_sample) else { return };
        let streams = self.streamed.is_some_and(|when| last.since(when) < FORGET_STREAM);
        if self.silence_told || streams || stability == Stability::Motion || at.since(last) < SILENCE {
            return;
        }
        self.silence_told = true;
        let ruler = self.ruler();
        let mean = (count - ruler.origin).saturating_mul(1000);
        let (span, calm) = (SILENCE, SILENCE);
        let verdict = Verdict { mean, count, since: last, span, calm, noisy: false, unsure: 0 };
        self.stood = true;
        let nothing =
            Rest { load: Mass::ZERO, shown: Displayed { count: 0, ..self.rest(&verdict).shown }, ..self.rest(&verdict) };
        let zero = verdict.count.saturating_abs().saturating_mul(1000) <= 2 * ruler.milli;
        self.prints_zero |= zero && !ruler.first;
        let loads = manner == Manner::Pan && !self.prints_zero && !ruler.first && !self.near_zero(ruler.origin);
        let changed = mean.abs() >= ruler.milli / 10 * 9;
        if loads
            && changed
            && let Some(account) = &mut self.account
        {
            // One load at a time, and this scale tells of none that is taken off: between two lines the pan was empty.
            account.step(nothing, last, at, emit);
        }
        // One load printed twice may flicker by a division: the next line carries that, or shows that it was none.
        if ruler.first || mean.abs() >= ruler.milli / 5 * 6 {
            let verdict = Verdict { mean: (count - self.ruler().origin).saturating_mul(1000), ..verdict };
            self.decide(at, verdict, emit);
        } else if !changed && !self.near_zero(count) && self.even < 2 {
            let rest = self.rest(&verdict);
            emit(Finding::Repeated { at, rest });
        }
    }
}
